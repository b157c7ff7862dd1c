//! What a logger writes where it has no value, and values that no supply has: left out and named, never played.

use super::Expected;
use crate::columns::{Column, Slot};
use crate::{Layout, Row};
use response::timeline::Micros;

/// Cells that are left out.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// The heading of their column.
    pub column: String,
    /// The value as it is written; of values that no supply has, the first.
    pub value: f64,
    /// How many.
    pub cells: u64,
    /// When first.
    pub first: Micros,
    /// Whether loggers write it where they have no value.
    pub is_mark: bool,
}

/// Watches a column for them.
#[derive(Clone, Debug)]
struct Watch {
    heading: String,
    slot: usize,
    /// What it is as written, for one in base units.
    per_unit: f64,
    /// Between these, in base units, a mark may be a measured value too.
    measured: [f64; 2],
    /// Outside these no supply is.
    possible: [f64; 2],
}

/// Watches the columns of a log.
#[derive(Clone, Debug)]
pub struct Sentinels {
    watched: Vec<Watch>,
    pub left_out: Vec<LeftOut>,
}

/// Whole numbers that loggers and registers hold where there is no value: nines, and the ends of the numbers of 16 and
/// 32 bits, which SunSpec's information model has for "not implemented". Decimals of them are scaled registers.
const MARKS: [f64; 10] =
    [999.0, 9_999.0, 99_999.0, 999_999.0, 32_767.0, 32_768.0, 65_535.0, 2_147_483_647.0, 2_147_483_648.0, 4_294_967_295.0];

/// Whether loggers write a number where they have no value.
fn is_mark(value: f64) -> bool {
    [1.0, 10.0, 100.0, 1000.0].iter().any(|scale| MARKS.iter().any(|mark| (value.abs() * scale / mark - 1.0).abs() < 1e-9))
}

impl Sentinels {
    /// For a log of this layout; `to_volts` brings a voltage as it is read to volts line to neutral.
    pub fn new(layout: &Layout, expected: Expected, to_volts: [f64; 3]) -> Self {
        let watched = layout.columns.iter().filter(|column| !column.slot.is_time()).map(|column| {
            let to_base = to_volts.get(column.slot as usize).copied().unwrap_or(1.0);
            let [measured, possible] = bounds(column, expected).map(|bounds| bounds.map(|bound| bound / to_base));
            let per_unit = if column.scale == 0.0 { 1.0 } else { column.scale };
            Watch { heading: column.heading.clone(), slot: column.slot.place(), per_unit, measured, possible }
        });
        Self { watched: watched.collect(), left_out: Vec::new() }
    }

    /// Whether any value lies where a mark may, which is rare: within it nothing is left out.
    pub fn are_suspect(&self, rows: &[Row]) -> bool {
        let is_outside = |row: &Row, watch: &Watch| {
            let value = row.values[watch.slot];
            value < watch.measured[0] || value > watch.measured[1]
        };
        rows.iter().any(|row| self.watched.iter().any(|watch| is_outside(row, watch)))
    }

    /// Leaves marks out of rows as they were read.
    pub fn leave_out_marks(&mut self, rows: &mut [Row]) {
        self.leave_out(rows, true);
    }

    /// Leaves out what no supply has, once it is clear that a log's values are what they say.
    pub fn leave_out_impossible(&mut self, rows: &mut [Row]) {
        self.leave_out(rows, false);
    }

    fn leave_out(&mut self, rows: &mut [Row], are_marks: bool) {
        for watch in &self.watched {
            let [low, high] = if are_marks { watch.measured } else { watch.possible };
            for row in rows.iter_mut() {
                let value = row.values[watch.slot];
                if !(value < low || value > high) {
                    continue;
                }
                let written = (value / watch.per_unit * 1e6).round() / 1e6;
                if are_marks && !is_mark(written) {
                    continue;
                }
                row.values[watch.slot] = f64::NAN;
                let same =
                    |out: &&mut LeftOut| out.column == watch.heading && out.is_mark == are_marks && (!are_marks || out.value == written);
                match self.left_out.iter_mut().find(same) {
                    Some(out) => out.cells += 1,
                    None => self.left_out.push(LeftOut {
                        column: watch.heading.clone(),
                        value: written,
                        cells: 1,
                        first: row.at,
                        is_mark: are_marks,
                    }),
                }
            }
        }
    }
}

const ANY: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

/// Between what a mark may be a measured value, and outside what nothing is, in base units.
fn bounds(column: &Column, expected: Expected) -> [[f64; 2]; 2] {
    let Expected { nominal, frequency, rated } = expected;
    let rated = rated.unwrap_or(0.0);
    match column.slot {
        // a lost neutral leaves at most the voltage between lines
        Slot::L1 | Slot::L2 | Slot::L3 => [[0.0, 1.18 * nominal], [0.0, 3.0 * nominal]],
        // the marks nearest to a frequency are 32.767, 32.768 and 65.535
        Slot::Frequency => [frequency.map_or([33.0, 65.0], |hertz| [0.7 * hertz, 1.08 * hertz]), [0.0, f64::INFINITY]],
        Slot::Power | Slot::Reactive => [[-2.0 * rated, 2.0 * rated], ANY],
        Slot::Available => [[-2.0 * rated, 4.0 * rated], ANY],
        Slot::Load => [[0.0, 10.0 * rated], ANY],
        _ => [[-10.0 * rated, 10.0 * rated], ANY],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_known_however_they_are_scaled() {
        for value in [-9999.0, 9999.0, 6553.5, 65535.0, 655.35, 65.535, -32768.0, -3276.8, 3276.7, -999.0, 999.9, 4_294_967_295.0] {
            assert!(is_mark(value), "{value}");
        }
        for value in [0.0, 230.0, 253.0, 50.0, -5.0, 6553.4, 65536.0, 9998.0, 10_000.0, 5000.0] {
            assert!(!is_mark(value), "{value}");
        }
    }
}
