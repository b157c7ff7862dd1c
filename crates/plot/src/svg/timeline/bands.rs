//! What each device did, under the panels: its states, and numbered marks above them.

use super::{LEFT, LINE, MARGIN, SIZE, SMALL, Sheet, folded, ink, n, narrow, text_width, write_line, write_text};
use crate::timeline::{DeviceTimeline, Doing, Mark, Row, Spell};
use std::fmt::Write as _;

/// Of a row of states.
const ROW: f64 = 24.0;
/// Of a row of marks.
const LANE: f64 = 24.0;
const RADIUS: f64 = 10.0;

impl Sheet<'_> {
    pub fn bands(&mut self) {
        for device in &self.timeline.devices {
            self.device(device);
        }
    }

    fn device(&mut self, device: &DeviceTimeline) {
        self.y += 14.0 + SIZE;
        for text in folded(&device.title, self.frame.until - MARGIN, 2, |text| text_width(text, SIZE)) {
            write_text(&mut self.out, "strong", (MARGIN, self.y), "start", &text);
            self.y += LINE;
        }
        self.y -= 2.0;
        for line in folded(&device.says, self.frame.until - MARGIN, 4, narrow) {
            write_text(&mut self.out, "small", (MARGIN, self.y), "start", &line);
            self.y += LINE - 2.0;
        }
        self.marks(&device.marks);
        for row in &device.rows {
            self.row(row, device);
        }
    }

    /// Marks in lanes, so that none covers another, each with a stem down to its moment.
    fn marks(&mut self, marks: &[Mark]) {
        let (placed, lanes) = lanes(marks, self.frame.until, |seconds| self.x(seconds));
        let bottom = self.y + LANE * lanes as f64 + 4.0;
        for (mark, (x, lane)) in marks.iter().zip(&placed) {
            let (at, y) = (self.x(mark.between[0]), self.y + LANE * (*lane as f64 + 0.5));
            write_line(&mut self.out, "stem", (*x, y), (at, bottom));
        }
        for (mark, (x, lane)) in marks.iter().zip(placed) {
            let y = self.y + LANE * (lane as f64 + 0.5);
            self.disc(mark, (x, y));
        }
        self.y = bottom;
    }

    /// A numbered mark: full where it is certain, a dashed ring where it may have been.
    pub fn disc(&mut self, mark: &Mark, (x, y): (f64, f64)) {
        let (disc, name) = if mark.is_certain { ("mark", "name sure") } else { ("mark may", "name") };
        let half = (text_width(&mark.name, 12.0) / 2.0 + 3.0).max(RADIUS);
        let _ = writeln!(
            self.out,
            "<rect class=\"{disc}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{RADIUS}\"/>",
            n(x - half),
            n(y - RADIUS),
            n(2.0 * half),
            n(2.0 * RADIUS)
        );
        write_text(&mut self.out, name, (x, y + 4.2), "middle", &mark.name);
    }

    fn row(&mut self, row: &Row, device: &DeviceTimeline) {
        let (top, bottom) = (self.y, self.y + ROW);
        for span in &self.timeline.unknown {
            self.area("unknown", "unknown", *span, [top, bottom]);
        }
        for spell in &row.spells {
            self.spell(spell, top);
        }
        let _ = writeln!(
            self.out,
            "<rect class=\"row\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            n(LEFT),
            n(top),
            n(self.frame.right - LEFT),
            n(ROW)
        );
        for mark in device.marks.iter().filter(|mark| mark.between[0] < mark.between[1]) {
            self.area("window", "window", mark.between, [top, bottom]);
        }
        for at in &device.more {
            let x = self.x(*at);
            write_line(&mut self.out, "more", (x, top), (x, top + 6.0));
        }
        if !row.label.is_empty() {
            write_text(&mut self.out, "small", (self.frame.right + 8.0, top + ROW / 2.0 + 4.5), "start", row.label);
        }
        for spell in &row.spells {
            self.word(spell, top);
        }
        self.y = bottom + 3.0;
    }

    fn spell(&mut self, spell: &Spell, top: f64) {
        let (x, end) = (self.x(spell.from), self.x(spell.until));
        let mut y = top;
        for doing in Doing::ALL {
            let height = spell.shares[doing.place()] * ROW;
            if height >= 0.05 {
                // edges of many thin ones would add up to black
                let thin = if end - x < 3.0 { " stroke-width=\"0\"" } else { " stroke-width=\".6\"" };
                let attributes = format!("{}{thin}", ink::state(doing, self.id));
                let (x, width) = (n(x), n((end - x).max(0.1)));
                let _ = writeln!(self.out, "<rect {attributes} x=\"{x}\" y=\"{}\" width=\"{width}\" height=\"{}\"/>", n(y), n(height));
                y += height;
            }
        }
    }

    /// The word of a state, where there is room for it.
    fn word(&mut self, spell: &Spell, top: f64) {
        let doing = spell.foremost();
        let (x, end) = (self.x(spell.from), self.x(spell.until));
        if spell.shares[doing.place()] == 1.0 && text_width(doing.words(), SMALL) + 8.0 <= end - x {
            let half = narrow(doing.words()) / 2.0 + 4.0;
            let (left, width) = (n(x.midpoint(end) - half), n(2.0 * half));
            if doing != Doing::Running {
                let _ = writeln!(
                    self.out,
                    "<rect class=\"paper\" x=\"{left}\" y=\"{}\" width=\"{width}\" height=\"{}\"/>",
                    n(top + 4.0),
                    n(ROW - 8.0)
                );
            }
            write_text(&mut self.out, "small", (x.midpoint(end), top + ROW / 2.0 + 4.5), "middle", doing.words());
        }
    }

    /// Which pattern is which, of those that are used.
    pub fn key(&mut self) {
        let devices = &self.timeline.devices;
        let spells = || devices.iter().flat_map(|device| &device.rows).flat_map(|row| &row.spells);
        let is_seen = |spell: &Spell, doing: Doing| (spell.until - spell.from) * spell.shares[doing.place()] * 1000.0 > self.timeline.lasts;
        let used = Doing::ALL.into_iter().filter(|doing| spells().any(|spell| is_seen(spell, *doing)));
        let mut entries: Vec<(String, &str)> = used.map(|doing| (ink::state(doing, self.id), doing.words())).collect();
        let hatched = |name: &str| format!("class=\"state\" fill=\"url(#{}-{name})\"", self.id);
        if devices.iter().flat_map(|device| &device.marks).any(|mark| mark.between[0] < mark.between[1]) {
            entries.push((hatched("window"), "happened somewhere in this span"));
        }
        if !self.timeline.unknown.is_empty() {
            entries.push((hatched("unknown"), "the log says nothing"));
        }
        self.y += 12.0;
        let mut x = MARGIN;
        for (attributes, words) in entries {
            let width = 36.0 + narrow(words) + 18.0;
            if x + width > self.frame.until && x > MARGIN {
                (x, self.y) = (MARGIN, self.y + 24.0);
            }
            let _ = writeln!(self.out, "<rect {attributes} x=\"{}\" y=\"{}\" width=\"30\" height=\"16\"/>", n(x), n(self.y));
            write_text(&mut self.out, "small", (x + 36.0, self.y + 12.5), "start", words);
            x += width;
        }
        self.y += 24.0;
    }
}

/// Where marks stand: in a few lanes, each in the one in which it moves least to the right of its moment,
/// or in one more where it would leave the paper; and how many lanes that takes.
fn lanes(marks: &[Mark], until: f64, x: impl Fn(f64) -> f64) -> (Vec<(f64, usize)>, usize) {
    const MOST: usize = 3;
    let mut ends: Vec<f64> = Vec::new();
    let mut placed = Vec::new();
    for mark in marks {
        let half = (text_width(&mark.name, 12.0) / 2.0 + 3.0).max(RADIUS) + 2.0;
        let end = until - half;
        let wanted = x(mark.between[0]).min(end);
        let at = |end: f64| wanted.max(end + half);
        let best = ends.iter().enumerate().min_by(|one, other| at(*one.1).total_cmp(&at(*other.1))).map(|(lane, end)| (lane, at(*end)));
        let (lane, at) = match best {
            Some((lane, at)) if at <= end && (at - wanted < 1.0 || ends.len() >= MOST) => (lane, at),
            _ => {
                ends.push(f64::NEG_INFINITY);
                (ends.len() - 1, wanted)
            }
        };
        ends[lane] = at + half;
        placed.push((at, lane));
    }
    (placed, ends.len())
}
