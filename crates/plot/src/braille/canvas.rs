//! Dots two across and four down in each letter, Unicode's block of braille patterns.

use crate::figure::Spot;
use std::fmt::Write as _;
use terminal::style;

/// How many dots of a line are set, and then left out.
#[derive(Clone, Copy)]
pub struct Pattern {
    pub on: usize,
    pub off: usize,
}

impl Pattern {
    pub const SOLID: Self = Self { on: 1, off: 0 };
}

#[derive(Clone, Copy, Default)]
struct Cell {
    dots: u8,
    /// Stands instead of the dots.
    letter: Option<char>,
    /// Stands where there are no dots.
    ground: Option<char>,
    hue: u8,
}

/// A field of dots; places are shares of its width and, from the top, of its height.
pub struct Canvas {
    columns: usize,
    cells: Vec<Cell>,
}

/// The dot, or the cell, of so many that a share falls on.
pub fn cell(share: f64, count: usize) -> usize {
    (share.clamp(0.0, 1.0) * (count.max(1) - 1) as f64).round() as usize
}

impl Canvas {
    pub fn new(columns: usize, rows: usize) -> Self {
        Self { columns, cells: vec![Cell::default(); columns * rows] }
    }

    fn dot(&self, (x, y): Spot) -> (i64, i64) {
        let rows = self.cells.len() / self.columns;
        (cell(x, self.columns * 2) as i64, cell(y, rows * 4) as i64)
    }

    fn cell_at(&mut self, (x, y): (i64, i64)) -> &mut Cell {
        &mut self.cells[(y / 4) as usize * self.columns + (x / 2) as usize]
    }

    /// Sets the dots of a line; how many of them no line before had set.
    pub fn polyline(&mut self, spots: &[Spot], pattern: Pattern, hue: u8) -> usize {
        const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];
        let mut path: Vec<(i64, i64)> = spots.windows(2).flat_map(|ends| steps(self.dot(ends[0]), self.dot(ends[1]))).collect();
        path.dedup();
        let mut fresh = 0;
        for (_, (x, y)) in path.into_iter().enumerate().filter(|(n, _)| n % (pattern.on + pattern.off) < pattern.on) {
            let cell = self.cell_at((x, y));
            let bit = BITS[(x % 2) as usize][(y % 4) as usize];
            fresh += usize::from(cell.dots & bit == 0);
            if cell.dots == 0 {
                cell.hue = hue;
            }
            cell.dots |= bit;
        }
        fresh
    }

    /// A letter at three places along a line, where no other letter stands.
    pub fn letter_along(&mut self, letter: char, spots: &[Spot], hue: u8) {
        let path: Vec<(i64, i64)> = spots.windows(2).flat_map(|ends| steps(self.dot(ends[0]), self.dot(ends[1]))).collect();
        let shift = (letter as usize % 8) * path.len() / 40;
        for share in [1, 4, 7] {
            let start = path.len() * share / 10 + shift;
            if let Some(place) = path.iter().skip(start).find(|place| self.cell_at(**place).letter.is_none()) {
                let cell = self.cell_at(*place);
                (cell.letter, cell.hue) = (Some(letter), hue);
            }
        }
    }

    /// A letter at a place.
    pub fn letter_at(&mut self, letter: char, spot: Spot, hue: u8) {
        let place = self.dot(spot);
        let cell = self.cell_at(place);
        (cell.letter, cell.hue) = (Some(letter), hue);
    }

    /// A faint level line behind all others.
    pub fn ground_line(&mut self, y: f64) {
        for x in 0..self.columns {
            let place = self.dot((0.0, y));
            self.cell_at((2 * x as i64, place.1)).ground = Some('┈');
        }
    }

    /// A faint upright line behind all others, with a name at its top.
    pub fn upright(&mut self, x: f64, name: Option<char>) {
        let (column, rows) = (self.dot((x, 0.0)).0, self.cells.len() / self.columns);
        for y in 0..rows {
            self.cell_at((column, 4 * y as i64)).ground = Some('┊');
        }
        if let Some(name) = name {
            self.cell_at((column, 0)).letter = Some(name);
        }
    }

    /// Columns behind all others, where nothing is known; one at least.
    pub fn shade(&mut self, from: f64, until: f64) {
        let (from, until) = (cell(from, self.columns * 2) / 2, cell(until, self.columns * 2) / 2);
        for (n, cell) in self.cells.iter_mut().enumerate() {
            let column = n % self.columns;
            if from <= column && column < until.max(from + 1) {
                cell.ground = Some('░');
            }
        }
    }

    /// A tone between two corners, behind all lines; one cell at least, and the densest stays.
    pub fn tone(&mut self, from: Spot, to: Spot, level: u8) {
        const TONES: [char; 4] = ['░', '▒', '▓', '█'];
        let Some(tone) = TONES.get(usize::from(level).wrapping_sub(1)).copied() else { return };
        let (left, bottom) = self.dot(from);
        let (right, top) = self.dot(to);
        for y in top / 4..=bottom / 4 {
            for x in left / 2..=right / 2 {
                let ground = &mut self.cell_at((2 * x, 4 * y)).ground;
                let is_denser =
                    ground.and_then(|there| TONES.iter().position(|of| *of == there)).is_none_or(|there| usize::from(level) > there + 1);
                if is_denser {
                    *ground = Some(tone);
                }
            }
        }
    }

    /// How many columns of a line of text are used.
    pub fn columns_of(&self, line: usize) -> usize {
        let row = &self.cells[line * self.columns..(line + 1) * self.columns];
        used(row)
    }

    /// The lines of text, without trailing spaces.
    pub fn lines(&self, colour: bool) -> Vec<String> {
        self.cells.chunks(self.columns).map(|row| line(row, colour)).collect()
    }
}

/// Cells up to the last that shows something.
fn used(row: &[Cell]) -> usize {
    row.iter().rposition(|cell| cell.dots > 0 || cell.letter.is_some() || cell.ground.is_some()).map_or(0, |n| n + 1)
}

fn line(row: &[Cell], colour: bool) -> String {
    row[..used(row)].iter().fold(String::new(), |mut out, cell| {
        let braille = || (cell.dots > 0).then(|| char::from_u32(0x2800 + u32::from(cell.dots))).flatten();
        let shown = cell.letter.or_else(braille).or(cell.ground).unwrap_or(' ');
        let _ = if colour && cell.hue > 0 {
            write!(out, "{}{shown}{}", style(&cell.hue.to_string()), style("0"))
        } else {
            write!(out, "{shown}")
        };
        out
    })
}

/// The dots of a straight line, both ends among them.
fn steps(from: (i64, i64), to: (i64, i64)) -> impl Iterator<Item = (i64, i64)> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let count = dx.abs().max(dy.abs()).max(1);
    let along = move |start: i64, run: i64, n: i64| start + (2 * run * n + run.signum() * count) / (2 * count);
    (0..=count).map(move |n| (along(from.0, dx, n), along(from.1, dy, n)))
}
