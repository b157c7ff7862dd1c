//! What is on every page: at its head the title and the standing, at its foot what ties the paper to what it shows,
//! and the page's number.

use super::flow::{FINE, Flowed, GUTTER, HAIR, RUNNING, STANDING};
use super::fonts::Fonts;
use super::lines::{Line, Manner, lines};
use super::slab::{Ink, Sheet};
use super::tags::Tag;
use crate::{Paper, Run, Weight};

/// What is on every page.
pub struct Furniture {
    head: Vec<Ink>,
    /// At the head of every page but the first, which has it as its heading.
    title: Ink,
    foot: Vec<Ink>,
    head_height: f32,
    foot_height: f32,
    room: f32,
}

/// Between the head and what is below it, and between what is above the foot and the foot.
const APART: f32 = 14.0;
/// For `page 999 of 999`.
const NUMBER: f32 = 76.0;

impl Furniture {
    /// Of a paper.
    pub fn of(paper: &Paper, fonts: &Fonts, sheet: &Sheet, flowed: &Flowed) -> Self {
        let room = sheet.room();
        let (head, title, head_height) = head(paper, fonts, room, flowed.running[0]);
        let (foot, foot_height) = foot(paper, fonts, room, flowed.running[1]);
        Self { head, title, foot, head_height, foot_height, room }
    }

    /// What is left on a page between head and foot.
    pub fn room(&self, sheet: &Sheet) -> f32 {
        sheet.height - self.top() - self.bottom()
    }

    /// Where what is below the head begins.
    pub fn top(&self) -> f32 {
        Sheet::END + self.head_height + APART
    }

    fn bottom(&self) -> f32 {
        Sheet::END + self.foot_height + APART
    }

    /// What is drawn on one page: places are counted from the left side and the page's top. On the first page the
    /// standing is a part of what is read, on the last the footer; everywhere else they only repeat.
    pub fn on(&self, page: usize, of: usize, fonts: &Fonts, sheet: &Sheet) -> [Vec<Ink>; 2] {
        let placed = |inks: &[Ink], down: f32, is_read: bool| inks.iter().map(|ink| moved(ink, down, is_read)).collect::<Vec<Ink>>();
        let foot_top = sheet.height - Sheet::END - self.foot_height;
        let mut head = placed(&self.head, Sheet::END, page == 1);
        if page > 1 {
            head.push(moved(&self.title, Sheet::END, false));
        }
        let mut foot = placed(&self.foot, foot_top, page == of);
        let number = lines(fonts, &[Run::Plain(format!("page {page} of {of}"))], &RUNNING, self.room).remove(0);
        foot.push(Ink::words(self.room - number.width(RUNNING.size), foot_top + 5.0, number, &RUNNING, None));
        [head, foot]
    }
}

fn moved(ink: &Ink, down: f32, is_read: bool) -> Ink {
    match ink.clone() {
        Ink::Words { x, y, line, size, grey, tag } => Ink::Words { x, y: y + down, line, size, grey, tag: tag.filter(|_| is_read) },
        Ink::Rule { ends, width, grey } => Ink::Rule { ends: ends.map(|(x, y)| (x, y + down)), width, grey },
        Ink::Fill { at: [x, y, width, height], grey } => Ink::Fill { at: [x, y + down, width, height], grey },
        other @ Ink::Picture { .. } => other,
    }
}

fn head(paper: &Paper, fonts: &Fonts, room: f32, tag: Tag) -> (Vec<Ink>, Ink, f32) {
    let mut inks = Vec::new();
    let says = &paper.standing.says;
    let (padding, rim) = match paper.standing.weight {
        Weight::Calm => (0.0, 0.0),
        Weight::Mind => (7.0, 1.3),
        Weight::Stop => (7.0, 0.0),
    };
    let manner = Manner { grey: if paper.standing.weight == Weight::Stop { 255 } else { 0 }, ..STANDING };
    let says = if says.is_empty() { Vec::new() } else { lines(fonts, &[Run::Plain(says.clone())], &manner, room * 0.62 - 2.0 * padding) };
    let wide = says.iter().map(|line| line.width(manner.size)).fold(0.0, f32::max) + 2.0 * padding;
    let high = says.len() as f32 * manner.leading + if padding > 0.0 { 6.0 } else { 0.0 };
    let left = room - wide;
    if !says.is_empty() && paper.standing.weight == Weight::Stop {
        inks.push(Ink::Fill { at: [left, 0.0, wide, high], grey: 0 });
    }
    if !says.is_empty() && rim > 0.0 {
        let (l, t, r, b) = (left + rim / 2.0, rim / 2.0, room - rim / 2.0, high - rim / 2.0);
        for ends in [[(left, t), (room, t)], [(left, b), (room, b)], [(l, 0.0), (l, high)], [(r, 0.0), (r, high)]] {
            inks.push(Ink::Rule { ends, width: rim, grey: 0 });
        }
    }
    let top = if padding > 0.0 { 3.0 } else { 0.0 };
    for (n, line) in says.into_iter().enumerate() {
        inks.push(Ink::words(left + padding, top + n as f32 * manner.leading, line, &manner, Some(tag)));
    }
    let title = shortened(fonts, &paper.title, left - GUTTER);
    let height = high.max(RUNNING.leading);
    let title = Ink::words(0.0, height - RUNNING.leading - if padding > 0.0 { 3.0 } else { 0.0 }, title, &RUNNING, None);
    inks.push(Ink::across(0.0, room, height + 4.0, HAIR, FINE));
    (inks, title, height + 4.0)
}

/// The title in a line: it stands whole on the first page.
fn shortened(fonts: &Fonts, title: &str, room: f32) -> Line {
    let mut ends = title.char_indices().map(|(end, _)| end).collect::<Vec<_>>();
    let whole = |text: String| lines(fonts, &[Run::Plain(text)], &RUNNING, f32::MAX).remove(0);
    let mut line = whole(title.to_owned());
    while line.width(RUNNING.size) > room {
        let Some(end) = ends.pop() else { return Line::default() };
        line = whole(format!("{}\u{2026}", title[..end].trim_end()));
    }
    line
}

fn foot(paper: &Paper, fonts: &Fonts, room: f32, tag: Tag) -> (Vec<Ink>, f32) {
    let mut inks = vec![Ink::across(0.0, room, 0.0, HAIR, FINE)];
    let footer = lines(fonts, &[Run::Plain(paper.footer.clone())], &RUNNING, room - NUMBER);
    let height = 5.0 + footer.len() as f32 * RUNNING.leading;
    for (n, line) in footer.into_iter().enumerate() {
        inks.push(Ink::words(0.0, 5.0 + n as f32 * RUNNING.leading, line, &RUNNING, Some(tag)));
    }
    (inks, height)
}
