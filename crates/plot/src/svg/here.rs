//! The place of the moment on a picture: a line along the measured axis, a ring, and words.

use super::labels::text_width;
use super::{SIZE, Sheet, n, write_line, write_text};
use crate::figure::{Frame, Spot};
use std::fmt::Write as _;

/// A place of the moment.
pub struct Here {
    /// On both axes.
    pub at: Spot,
    /// What is there.
    pub label: String,
}

/// Its inks.
pub const STYLE: &str = "
.figure .now{stroke:#000;stroke-width:1.5;stroke-dasharray:1 5;stroke-linecap:round}
.figure .here{fill:#fff;stroke:#000;stroke-width:3.5}
.figure .said{font-weight:600}
@media (prefers-color-scheme:dark){.figure .now{stroke:#fff}.figure .here{fill:#16191d;stroke:#fff}}
";

/// Draws each place; one beyond the picture stands at its edge, with an arrow.
pub fn write(out: &mut String, here: &[Here], frame: &Frame, sheet: &Sheet) {
    let mut rows: Vec<f64> = Vec::new();
    for one in here {
        let (x, y) = sheet.place(frame, one.at);
        write_line(out, "now", (x, sheet.top), (x, sheet.bottom));
        write_ring(out, (x, y));
        let label = match one.at.0 {
            at if at < frame.x.low => format!("\u{2190} {}", one.label),
            at if at > frame.x.high => format!("{} \u{2192}", one.label),
            _ => one.label.clone(),
        };
        let wide = text_width(&label, SIZE);
        let (x, anchor) = match x - sheet.left > sheet.right - x {
            true => ((x - 13.0).max(sheet.left + wide), "end"),
            false => ((x + 13.0).min(sheet.right - wide), "start"),
        };
        // above its place or below it, wherever there is room and no other stands
        let is_free =
            |at: &f64| *at >= sheet.top + SIZE && *at <= sheet.bottom - 4.0 && rows.iter().all(|taken| (taken - at).abs() > SIZE + 2.0);
        let mut places = (0..12).flat_map(|n| [y - 9.0 - 18.0 * f64::from(n), y + 22.0 + 18.0 * f64::from(n)]);
        let y = places.find(is_free).unwrap_or(y);
        rows.push(y);
        write_text(out, "words halo said", (x, y), anchor, &label);
    }
}

/// The ring.
pub fn write_ring(out: &mut String, (x, y): Spot) {
    let _ = writeln!(out, "<circle class=\"here\" cx=\"{}\" cy=\"{}\" r=\"6.5\"/>", n(x), n(y));
}
