//! Tables: rows that stay whole, a head that is said again on each page, and with it what a group has in common.

use super::frame::{around, pad};
use super::{CELL, COLUMN, FINE, Flow, HAIR, HEADING, SOFT, beside, under};
use crate::pdf::lines::{self, Manner};
use crate::pdf::slab::{Slab, height};
use crate::pdf::tags::Tag;
use crate::{Row, Run, Table, Text};
use krilla::tagging::{TableHeaderScope, Tag as Kind, TagKind};
use std::num::NonZeroU32;
use std::rc::Rc;

/// Between a column's words and the next column.
const BETWEEN: f32 = 8.0;
/// Above and below the words of a row.
const ROW: [f32; 2] = [2.4, 2.6];

/// How wide columns are: by their shares, but wide enough for their longest words as long as others have room to give.
fn widths(table: &Table, room: f32, least: impl Fn(usize) -> f32) -> Vec<f32> {
    let all: f32 = table.columns.iter().map(|column| f32::from(column.share.max(1))).sum();
    let wished: Vec<f32> = table.columns.iter().map(|column| room * f32::from(column.share.max(1)) / all).collect();
    let least: Vec<f32> = (0..wished.len()).map(least).collect();
    let asked: f32 = wished.iter().zip(&least).map(|(wished, least)| (least - wished).max(0.0)).sum();
    let spare: f32 = wished.iter().zip(&least).map(|(wished, least)| (wished - least).max(0.0)).sum();
    // each that has room to spare gives the same part of it; if all of it is not enough, each that asks gets a part
    let (given, got) = if asked <= 0.0 { (0.0, 0.0) } else { ((asked / spare).min(1.0), (spare / asked).min(1.0)) };
    let width =
        |(wished, least): (&f32, &f32)| if least > wished { wished + (least - wished) * got } else { wished - (wished - least) * given };
    wished.iter().zip(&least).map(width).collect()
}

fn all_columns(table: &Table) -> Option<NonZeroU32> {
    u32::try_from(table.columns.len()).ok().and_then(NonZeroU32::new)
}

impl Flow<'_> {
    pub fn table(&mut self, table: &Table, parent: Tag) {
        let tag = self.tags.add(parent, Kind::Table.with_summary(Some(table.caption.clone())));
        let places = self.places(table);
        let mut head = self.head(table, &places, tag);
        let columns: Rc<Vec<Slab>> = Rc::new(head.iter().map(Slab::untagged).collect());
        // a head that leaves no room is not said again
        let is_short = height(&head) < 150.0;
        head.iter_mut().for_each(|slab| slab.keeps = true);
        self.put(head, 7.0);
        let mut body = None;
        let mut again = is_short.then(|| columns.clone());
        if table.rows.is_empty() {
            let body = self.tags.add(tag, Kind::TBody);
            let slabs = self.nothing(table, body);
            self.put(slabs, 0.0);
        }
        for row in &table.rows {
            // each group has a body of its own
            let own = body.filter(|_| !matches!(row, Row::Group(_))).unwrap_or_else(|| self.tags.add(tag, Kind::TBody));
            body = Some(own);
            let tag = self.tags.add(own, Kind::TR);
            let mut slabs = match row {
                Row::Group(words) => self.group(words, table, tag),
                Row::Cells(cells) => self.cells(cells, &places, tag, false),
                Row::Marked(cells) => self.cells(cells, &places, tag, true),
            };
            let is_group = matches!(row, Row::Group(_));
            let above = if is_group { is_short.then(|| columns.clone()) } else { again.clone() };
            slabs.iter_mut().for_each(|slab| slab.again = above.clone());
            if is_group {
                let both = || columns.iter().cloned().chain(slabs.iter().map(Slab::untagged)).collect();
                again = is_short.then(|| Rc::new(both()));
            }
            self.put(slabs, 0.0);
        }
        // what is kept with nothing further is not kept
        if let Some(last) = self.slabs.last_mut() {
            last.keeps = false;
        }
    }

    /// From where to where each column reaches.
    fn places(&self, table: &Table) -> Vec<[f32; 2]> {
        let mut from = 0.0;
        let place = |width: f32| {
            let start = from;
            from += width;
            // the last reaches to the side, the others leave room before the next
            [start, if from > self.room - 1.0 { self.room } else { (from - BETWEEN).max(start + 1.0) }]
        };
        widths(table, self.room, |n| self.longest_word(table, n) + BETWEEN).into_iter().map(place).collect()
    }

    /// How wide the longest word of a column is, none counting for more than a part of the page.
    fn longest_word(&self, table: &Table, column: usize) -> f32 {
        let title = lines::longest_word(self.fonts, &[Run::Plain(table.columns[column].title.clone())], &COLUMN);
        let cells = table.rows.iter().filter_map(|row| match row {
            Row::Group(_) => None,
            Row::Cells(cells) => Some((cells.get(column)?, CELL)),
            Row::Marked(cells) => Some((cells.get(column)?, Manner { is_bold: true, ..CELL })),
        });
        let longest = cells.map(|(cell, manner)| lines::longest_word(self.fonts, cell, &manner)).fold(title, f32::max);
        longest.min(self.room * 0.3)
    }

    fn head(&mut self, table: &Table, places: &[[f32; 2]], tag: Tag) -> Vec<Slab> {
        let head = self.tags.add(tag, Kind::THead);
        let row = self.tags.add(head, Kind::TR);
        let mut columns = Vec::new();
        for (column, place) in table.columns.iter().zip(places) {
            let tag = self.tags.add(row, Kind::TH(TableHeaderScope::Column));
            columns.push(self.paragraph(&[Run::Plain(column.title.clone())], &COLUMN, *place, tag));
        }
        // titles stand on the line below them
        let count = columns.iter().map(Vec::len).max().unwrap_or(0);
        for column in &mut columns {
            let missing = count - column.len();
            column.splice(0..0, (0..missing).map(|_| Slab::of(COLUMN.leading)));
        }
        let mut slabs = beside(columns, COLUMN.leading, [0.0, 3.0]);
        under(&mut slabs, self.room, 1.0, 0);
        slabs
    }

    /// What stands for rows where there are none.
    fn nothing(&mut self, table: &Table, body: Tag) -> Vec<Slab> {
        let row = self.tags.add(body, Kind::TR);
        let tag = self.tags.add(row, Kind::TD.with_col_span(all_columns(table)));
        let manner = Manner { grey: SOFT, ..CELL };
        let words = self.paragraph(&[Run::Plain("None".to_owned())], &manner, [0.0, self.room], tag);
        let mut slabs = beside(vec![words], CELL.leading, ROW);
        under(&mut slabs, self.room, HAIR, FINE);
        slabs
    }

    fn group(&mut self, words: &str, table: &Table, row: Tag) -> Vec<Slab> {
        let tag = self.tags.add(row, Kind::TH(TableHeaderScope::Column).with_col_span(all_columns(table)));
        let manner = Manner { size: CELL.size + 0.4, ..CELL };
        let mut slabs = self.paragraph(&[Run::Strong(words.to_owned())], &manner, [0.0, self.room], tag);
        pad(&mut slabs, HEADING.leading - CELL.leading + 4.0, 2.5);
        under(&mut slabs, self.room, HAIR, 0x77);
        slabs.iter_mut().for_each(|slab| slab.keeps = true);
        slabs
    }

    fn cells(&mut self, cells: &[Text], places: &[[f32; 2]], row: Tag, is_marked: bool) -> Vec<Slab> {
        let manner = Manner { is_bold: is_marked, ..CELL };
        let mut columns = Vec::new();
        for (n, place) in places.iter().enumerate() {
            let kind: TagKind = if n == 0 { Kind::TH(TableHeaderScope::Row).into() } else { Kind::TD.into() };
            let tag = self.tags.add(row, kind);
            let [from, to] = *place;
            // inside a frame
            let from = if is_marked && n == 0 { from + 4.0 } else { from };
            let to = if is_marked && n + 1 == places.len() { to - 4.0 } else { to };
            columns.push(self.paragraph(cells.get(n).map_or(&[], Vec::as_slice), &manner, [from, to.max(from + 1.0)], tag));
        }
        let mut slabs = beside(columns, CELL.leading, ROW);
        if is_marked {
            around(&mut slabs, self.room, 1.2, 0);
        } else {
            under(&mut slabs, self.room, HAIR, FINE);
        }
        slabs
    }
}
