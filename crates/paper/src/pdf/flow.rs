//! A paper into slabs, with the tree of what is what.

mod frame;
mod manners;
mod table;

use super::NoPdf;
use super::fonts::Fonts;
use super::lines::{Manner, lines};
use super::slab::{Ink, Sheet, Slab, height};
use super::tags::{Tag, Tags};
use crate::picture::drawing::Drawing;
use crate::{Block, Paper, Part, Picture, Run, Text, Weight};
use frame::framed;
use krilla::tagging::{ListNumbering, Tag as Kind, TagKind};
pub use manners::*;
use std::num::NonZeroU16;
use std::rc::Rc;

/// A paper, laid out but for its pages.
pub struct Flowed {
    /// Its slabs in order.
    pub slabs: Vec<Slab>,
    /// What is what.
    pub tags: Tags,
    /// What the head of the first page is, and the foot of the last.
    pub running: [Tag; 2],
}

/// Lays a paper out.
pub fn flowed(paper: &Paper, fonts: &Fonts, sheet: &Sheet) -> Result<Flowed, NoPdf> {
    let mut tags = Tags::default();
    let head = tags.add(None, Kind::P);
    let mut flow = Flow { fonts, room: sheet.room(), tags, slabs: Vec::new() };
    flow.heading(None, 1, &paper.title, &TITLE, 4.0);
    for part in &paper.parts {
        flow.part(part, sheet)?;
    }
    let foot = flow.tags.add(None, Kind::P);
    Ok(Flowed { slabs: flow.slabs, tags: flow.tags, running: [head, foot] })
}

/// What is laid out so far.
struct Flow<'f> {
    fonts: &'f Fonts,
    /// From side to side.
    room: f32,
    tags: Tags,
    slabs: Vec<Slab>,
}

impl Flow<'_> {
    fn part(&mut self, part: &Part, sheet: &Sheet) -> Result<(), NoPdf> {
        let tag = self.tags.add(None, Kind::Section);
        let mut rule = Slab::of(6.0);
        rule.inks.push(Ink::across(0.0, self.room, 0.6, 1.2, 0));
        (rule.space, rule.keeps, rule.is_between, rule.starts_page) = (20.0, true, true, part.starts_page);
        self.slabs.push(rule);
        let first = self.slabs.len();
        self.heading(tag, 2, &part.title, &PART, 0.0);
        if let Some(first) = self.slabs.get_mut(first) {
            first.outline = Some(part.title.clone());
        }
        for block in &part.blocks {
            self.block(tag, block, sheet)?;
        }
        Ok(())
    }

    fn block(&mut self, tag: Tag, block: &Block, sheet: &Sheet) -> Result<(), NoPdf> {
        match block {
            Block::Heading(words) => self.heading(tag, 3, words, &HEADING, 12.0),
            Block::Words(words) => {
                let tag = self.tags.add(tag, Kind::P);
                let slabs = self.paragraph(words, &BODY, [0.0, self.room.min(READABLE)], tag);
                self.put(slabs, 6.0);
            }
            Block::List(points) => {
                let slabs = self.list(points, [0.0, self.room.min(READABLE)], tag);
                self.put(slabs, 6.0);
            }
            Block::Facts(facts) => self.facts(facts, tag),
            Block::Table(table) => self.table(table, tag),
            Block::Notice(weight, title, points) => self.notice(*weight, title, points, tag),
            Block::Picture(picture) => self.picture(picture, tag, sheet)?,
            Block::ToSign(lines) => self.signatures(lines, tag),
        }
        Ok(())
    }

    /// Adds slabs below.
    fn put(&mut self, mut slabs: Vec<Slab>, space: f32) {
        if let Some(first) = slabs.first_mut() {
            first.space = space;
        }
        self.slabs.extend(slabs);
    }

    fn heading(&mut self, parent: impl Into<Option<Tag>>, level: u16, words: &str, manner: &Manner, space: f32) {
        let mut slabs = self.headed(parent.into(), level, words, manner, [0.0, self.room]);
        slabs.iter_mut().for_each(|slab| slab.keeps = true);
        self.put(slabs, space);
    }

    /// The lines of a heading; none for one that says nothing.
    fn headed(&mut self, parent: Option<Tag>, level: u16, words: &str, manner: &Manner, places: [f32; 2]) -> Vec<Slab> {
        if words.trim().is_empty() {
            return Vec::new();
        }
        let level = NonZeroU16::new(level).expect("headings are counted from one");
        let tag = self.tags.add(parent, Kind::Hn(level, Some(words.to_owned())));
        self.paragraph(&[Run::Plain(words.to_owned())], manner, places, tag)
    }

    /// Words in lines from one place to another across the page. Neither the first line nor the last stands alone.
    fn paragraph(&self, words: &[Run], manner: &Manner, [from, to]: [f32; 2], tag: Tag) -> Vec<Slab> {
        let lines = lines(self.fonts, words, manner, to - from);
        let count = lines.len();
        let slab = |(n, line)| Slab {
            keeps: n + 1 < count && (n == 0 || n + 2 == count),
            inks: vec![Ink::words(from, 0.0, line, manner, Some(tag))],
            ..Slab::of(manner.leading)
        };
        lines.into_iter().enumerate().map(slab).collect()
    }

    fn list(&mut self, points: &[Text], [from, to]: [f32; 2], parent: Tag) -> Vec<Slab> {
        let list = self.tags.add(parent, Kind::L(ListNumbering::Disc));
        let mut all = Vec::new();
        for point in points {
            let item = self.tags.add(list, Kind::LI);
            let (label, body) = (self.tags.add(item, Kind::Lbl), self.tags.add(item, Kind::LBody));
            let mut slabs = self.paragraph(point, &BODY, [from + INDENT, to], body);
            let bullet = lines(self.fonts, &[Run::Plain("\u{2022}".to_owned())], &BODY, INDENT).remove(0);
            slabs[0].inks.insert(0, Ink::words(from + 2.0, 0.0, bullet, &BODY, Some(label)));
            slabs[0].space = if all.is_empty() { 0.0 } else { 2.0 };
            all.extend(slabs);
        }
        all
    }

    /// Names and what they are, side by side.
    fn facts(&mut self, facts: &[(String, Text)], parent: Tag) {
        let list = self.tags.add(parent, Kind::L(ListNumbering::None));
        let middle = (self.room * 0.3).min(150.0);
        for (n, (name, what)) in facts.iter().enumerate() {
            let item = self.tags.add(list, Kind::LI);
            let (label, body) = (self.tags.add(item, Kind::Lbl), self.tags.add(item, Kind::LBody));
            let name = self.paragraph(&[Run::Plain(name.clone())], &NAME, [0.0, middle - 10.0], label);
            let what = self.paragraph(what, &BODY, [middle, self.room], body);
            let mut row = beside(vec![name, what], BODY.leading, [2.0, 2.0]);
            if n == 0 {
                row[0].inks.insert(0, Ink::across(0.0, self.room, 0.0, HAIR, FINE));
            }
            under(&mut row, self.room, HAIR, FINE);
            self.put(row, if n == 0 { 6.0 } else { 0.0 });
        }
    }

    fn notice(&mut self, weight: Weight, title: &str, points: &[Text], parent: Tag) {
        let tag = self.tags.add(parent, Kind::Div);
        let inner = [PADDING, self.room - PADDING];
        let manner = Manner { grey: if weight == Weight::Stop { 255 } else { 0 }, ..HEADING };
        let head = self.headed(Some(tag), 3, title, &manner, inner);
        let body = match points {
            [point] => {
                let tag = self.tags.add(tag, Kind::P);
                self.paragraph(point, &BODY, inner, tag)
            }
            [] => Vec::new(),
            points => self.list(points, inner, tag),
        };
        self.put(framed(weight, head, body, self.room), 9.0);
    }

    fn picture(&mut self, picture: &Picture, parent: Tag, sheet: &Sheet) -> Result<(), NoPdf> {
        let refused = |why| NoPdf::Picture { title: picture.title.clone(), why };
        let drawing = Drawing::read(&picture.svg).map_err(refused)?;
        let words = [&picture.title, &picture.description].into_iter().find(|words| !words.trim().is_empty());
        let figure: TagKind = Kind::Figure(Some(words.map_or("Picture", String::as_str).to_owned())).into();
        let tag = self.tags.add(parent, figure);
        let caption = self.tags.add(parent, Kind::Caption);
        let words = [Run::Plain(picture.description.clone())];
        let mut caption = self.paragraph(&words, &SMALL, [0.0, self.room.min(READABLE)], caption);
        caption.iter_mut().rev().skip(1).for_each(|slab| slab.keeps = true);
        // with its heading and its caption it has a page for itself at most
        let most = (sheet.height - 2.0 * Sheet::END - 110.0 - height(&caption)).max(sheet.height / 2.0);
        let scale = (self.room / drawing.width).min(most / drawing.height).min(LARGEST);
        let mut slab = Slab::of(drawing.height * scale);
        slab.keeps = true;
        let at = ((self.room - drawing.width * scale) / 2.0, 0.0);
        slab.inks.push(Ink::Picture { at, scale, drawing: Rc::new(drawing), tag });
        self.put(vec![slab], 10.0);
        self.put(caption, 3.0);
        Ok(())
    }

    /// Lines to write on, two beside each other, and below each what belongs there.
    fn signatures(&mut self, lines: &[String], parent: Tag) {
        let list = self.tags.add(parent, Kind::L(ListNumbering::None));
        let wide = (self.room - GUTTER) / 2.0;
        for two in lines.chunks(2) {
            let mut columns = Vec::new();
            let mut rules = Vec::new();
            for (n, words) in two.iter().enumerate() {
                let item = self.tags.add(list, Kind::LI);
                let tag = self.tags.add(item, Kind::LBody);
                let from = n as f32 * (wide + GUTTER);
                columns.push(self.paragraph(&[Run::Plain(words.clone())], &SMALL, [from, from + wide], tag));
                rules.push(Ink::across(from, from + wide, TO_WRITE, 0.6, 0));
            }
            let mut row = beside(columns, SMALL.leading, [TO_WRITE + 2.0, 0.0]);
            row[0].inks.extend(rules);
            self.put(row, 4.0);
        }
    }
}

/// Columns of slabs as one row of them, each line beside the others, with room above the first and below the last.
/// The row stays on one page if it can.
fn beside(columns: Vec<Vec<Slab>>, leading: f32, [above, below]: [f32; 2]) -> Vec<Slab> {
    let count = columns.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let mut row: Vec<Slab> = (0..count).map(|n| Slab { keeps: n + 1 < count, ..Slab::of(leading) }).collect();
    for (n, slab) in columns.into_iter().flat_map(|column| column.into_iter().enumerate()) {
        row[n].inks.extend(slab.inks);
    }
    frame::pad(&mut row, above, below);
    row
}

/// A line below a row.
fn under(row: &mut [Slab], room: f32, width: f32, grey: u8) {
    if let Some(last) = row.last_mut() {
        last.inks.push(Ink::across(0.0, room, last.height, width, grey));
    }
}
