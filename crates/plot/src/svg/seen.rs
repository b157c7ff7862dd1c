//! What was measured: how long it was where, and what was seen at places of the measured axis.

use super::{Sheet, Spot, n, write_line};
use crate::figure::{Figure, Frame, Mark, TONES};
use std::fmt::Write as _;

/// The classes of what was measured, for figures that show some.
const STYLE: &str = "\
.figure .dense{fill:#222}.figure .t1{fill-opacity:.14}.figure .t2{fill-opacity:.3}.figure .t3{fill-opacity:.52}.figure .t4{fill-opacity:.8}
.figure .observed{stroke:#000;stroke-width:1.5}.figure .seen{fill:#fff;stroke:#000;stroke-width:1.5}
@media (prefers-color-scheme:dark){.figure .dense{fill:#ddd}.figure .observed,.figure .seen{stroke:#fff}.figure .seen{fill:#16191d}}
";

/// The classes that a figure needs beside those of all.
pub fn style_of(figure: &Figure) -> &'static str {
    let shows_some = figure.marks.iter().any(|mark| matches!(mark, Mark::Density { .. } | Mark::Observed { .. }));
    if shows_some { STYLE } else { "" }
}

/// Parts of the plot, the denser the darker.
pub fn write_density(out: &mut String, mark: &Mark, frame: &Frame, sheet: &Sheet) {
    let Mark::Density { cells, .. } = mark else { return };
    for tone in cells {
        let (left, bottom) = sheet.place(frame, tone.from);
        let (right, top) = sheet.place(frame, tone.to);
        write_tone(out, tone.level, (left, top), (right, bottom));
    }
}

fn write_tone(out: &mut String, level: u8, (left, top): Spot, (right, bottom): Spot) {
    let (width, height) = (n((right - left).max(0.5)), n((bottom - top).max(0.5)));
    let level = level.clamp(1, TONES);
    let _ = writeln!(out, "<rect class=\"dense t{level}\" x=\"{}\" y=\"{}\" width=\"{width}\" height=\"{height}\"/>", n(left), n(top));
}

/// Middles with their intervals.
pub fn write_observed(out: &mut String, mark: &Mark, frame: &Frame, sheet: &Sheet) {
    let Mark::Observed { seen, .. } = mark else { return };
    for one in seen {
        let [low, middle, high] = one.answer.map(|answer| sheet.place(frame, (one.at, answer)));
        write_interval(out, low, middle, high);
    }
}

fn write_interval(out: &mut String, low: Spot, middle: Spot, high: Spot) {
    write_line(out, "observed", low, high);
    for (x, y) in [low, high] {
        write_line(out, "observed", (x - 3.0, y), (x + 3.0, y));
    }
    let _ = writeln!(out, "<circle class=\"seen\" cx=\"{}\" cy=\"{}\" r=\"3.5\"/>", n(middle.0), n(middle.1));
}

/// A sample beside words, within a box: all tones, or one interval.
pub fn write_sample(out: &mut String, mark: &Mark, (left, top): Spot, (right, bottom): Spot) {
    if matches!(mark, Mark::Observed { .. }) {
        let x = left.midpoint(right);
        write_interval(out, (x, bottom), (x, top.midpoint(bottom)), (x, top));
        return;
    }
    let wide = (right - left) / f64::from(TONES);
    for level in 1..=TONES {
        let from = left + wide * f64::from(level - 1);
        write_tone(out, level, (from, top), (from + wide, bottom));
    }
}
