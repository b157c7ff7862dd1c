//! A figure on a terminal: dots of braille letters, so that a plain font draws lines.
//!
//! Nothing rests on colour: lines differ by their dashes and, where devices are drawn, by a letter.

mod canvas;
mod timeline;

use super::figure::{Figure, Frame, Mark, Spot, Style, TONES, folded};
use canvas::{Canvas, Pattern};
use std::fmt::Write as _;
pub use timeline::timeline;

/// The figure in at most `width` columns, the plot itself `height` lines high.
///
/// Numbers on both axes, titles with units, one legend entry for each mark. A minus sign is a hyphen,
/// so that numbers can be copied into files.
pub fn plot(figure: &Figure, width: usize, height: usize, colour: bool) -> String {
    let (width, height) = (width.max(40), height.max(6));
    let frame = figure.frame((width / 12).max(3), (height / 2).max(2));
    let y_numbers: Vec<(usize, String)> = frame.y.numbers.iter().map(|n| (row(frame.y.share(*n), height), frame.y.written(*n))).collect();
    let gutter = y_numbers.iter().map(|(_, text)| text.len()).max().unwrap_or(0) + 1;
    let columns = width - gutter - 2;
    let mut canvas = Canvas::new(columns, height);
    let covered = draw(figure, &frame, &mut canvas);

    let mut out = String::new();
    for line in paragraph(&figure.title, width).into_iter().chain(paragraph(&figure.y.title(), width)) {
        let _ = writeln!(out, "{line}");
    }
    for (line, cells) in canvas.lines(colour).into_iter().enumerate() {
        let number = y_numbers.iter().find(|(row, _)| *row == line).map(|(_, text)| text.as_str());
        let tick = if number.is_some() { '┤' } else { '│' };
        let _ = writeln!(out, "{:>gutter$}{tick}{cells}", number.unwrap_or_default());
    }
    out.push_str(&x_axis(figure, &frame, gutter, columns));
    for entry in legend(figure, &frame, &covered, width, colour) {
        let _ = writeln!(out, "{entry}");
    }
    out
}

fn columns_of(text: &str) -> f64 {
    text.chars().count() as f64
}

fn paragraph(text: &str, width: usize) -> Vec<String> {
    folded(text, width as f64, 3, columns_of)
}

/// The line of text, from the top, that a share of the height falls on.
fn row(share: f64, height: usize) -> usize {
    canvas::cell(1.0 - share, height * 4) / 4
}

/// How a line is dashed.
fn pattern(style: Style) -> Pattern {
    match style {
        Style::Required => Pattern { on: 4, off: 3 },
        Style::Device(_) => Pattern::SOLID,
    }
}

/// What was seen at a place.
const SEEN: char = 'o';

/// The edges of a band: thin enough to leave lines readable.
const EDGE: Pattern = Pattern { on: 1, off: 3 };

/// `A` for the first device; none beyond `Z`.
fn letter(style: Style) -> Option<char> {
    if let Style::Device(n) = style { char::from_u32('A' as u32 + u32::try_from(n).ok()?).filter(char::is_ascii_uppercase) } else { None }
}

/// A number for the eyes of those who see colour: one of the eight that every terminal has.
fn hue(mark: &Mark) -> u8 {
    match mark {
        Mark::Band { .. } => 36,
        Mark::Density { .. } => 0,
        Mark::Guide { .. } | Mark::Observed { .. } | Mark::Line { style: Style::Required, .. } => 39,
        Mark::Line { style: Style::Device(n), .. } => [34, 33, 32, 35, 31][n % 5],
    }
}

/// Draws all marks; says of each whether every dot of it lies beneath others.
fn draw(figure: &Figure, frame: &Frame, canvas: &mut Canvas) -> Vec<bool> {
    if frame.y.crosses_zero() {
        canvas.ground_line(1.0 - frame.y.share(0.0));
    }
    let place = |(x, y): Spot| (frame.x.share(x), 1.0 - frame.y.share(y));
    let mut covered = vec![false; figure.marks.len()];
    // what a device holds lies on top
    let rank = |mark: &Mark| match mark {
        Mark::Guide { .. } => 3,
        Mark::Density { .. } => 5,
        Mark::Observed { .. } => 4,
        Mark::Line { style: Style::Device(_), .. } => 0,
        Mark::Line { .. } => 1,
        Mark::Band { .. } => 2,
    };
    let mut order: Vec<usize> = (0..figure.marks.len()).collect();
    order.sort_by_key(|n| rank(&figure.marks[*n]));
    let mut guides = guide_names();
    for n in order {
        let mark = &figure.marks[n];
        let mut line = |points: &[Spot], pattern| {
            let spots: Vec<Spot> = frame.across(points).into_iter().map(place).collect();
            canvas.polyline(&spots, pattern, hue(mark))
        };
        match mark {
            Mark::Band { lower, upper, .. } => covered[n] = line(lower, EDGE) + line(upper, EDGE) == 0,
            Mark::Line { points, style, .. } => {
                covered[n] = line(points, pattern(*style)) == 0;
                if let Some(letter) = letter(*style) {
                    let spots: Vec<Spot> = frame.across(points).into_iter().map(place).collect();
                    canvas.letter_along(letter, &spots, hue(mark));
                }
            }
            Mark::Density { cells, .. } => {
                cells.iter().for_each(|tone| canvas.tone(place(tone.from), place(tone.to), tone.level));
            }
            Mark::Observed { seen, .. } => {
                for one in seen {
                    canvas.letter_at(SEEN, place((one.at, one.answer[1])), hue(mark));
                }
            }
            Mark::Guide { at, .. } => {
                let name = guides.next();
                if frame.shows(*at) {
                    canvas.upright(frame.x.share(*at), name);
                }
            }
        }
    }
    covered
}

fn guide_names() -> impl Iterator<Item = char> {
    ('1'..='9').chain('a'..='z')
}

/// The axis line, its numbers, those of the second unit, and the title.
fn x_axis(figure: &Figure, frame: &Frame, gutter: usize, columns: usize) -> String {
    let ticks: Vec<(usize, f64)> = frame.x.numbers.iter().map(|n| (canvas::cell(frame.x.share(*n), columns * 2) / 2, *n)).collect();
    let axis: String = (0..columns).map(|column| if ticks.iter().any(|(at, _)| *at == column) { '┴' } else { '─' }).collect();
    let mut out = format!("{:gutter$}└{axis}\n", "");
    let numbers = ticks.iter().map(|(at, n)| (gutter + 1 + at, frame.x.written(*n)));
    let (numbers, kept) = beside_each_other(numbers, gutter + 2 + columns);
    let _ = writeln!(out, "{numbers}");
    if let Some(second) = figure.x.second.as_ref().filter(|second| second.one_is.is_finite() && second.one_is > 0.0) {
        let digits = |n: f64| super::scale::plain(n / second.one_is, 3);
        let same_places = ticks.iter().filter(|(at, _)| kept.contains(&(gutter + 1 + at)));
        let (numbers, _) = beside_each_other(same_places.map(|(at, n)| (gutter + 1 + at, digits(*n))), gutter + 2 + columns);
        let _ = writeln!(out, "{numbers}");
    }
    let also = figure.x.second.as_ref().map(|second| format!("; below, {}", second.unit)).unwrap_or_default();
    for line in paragraph(&format!("{}{also}", figure.x.title()), columns) {
        let indent = gutter + 1 + (columns.saturating_sub(line.chars().count())) / 2;
        let _ = writeln!(out, "{:indent$}{line}", "");
    }
    out
}

/// Texts centred at columns, left out where one would touch the one before; and the columns kept.
fn beside_each_other(texts: impl Iterator<Item = (usize, String)>, width: usize) -> (String, Vec<usize>) {
    let (mut line, mut kept) = (String::new(), Vec::new());
    for (at, text) in texts {
        let start = at.saturating_sub((text.len() - 1) / 2).min(width.saturating_sub(text.len()));
        if line.is_empty() || start > line.len() + 1 {
            let _ = write!(line, "{:1$}{text}", "", start - line.len());
            kept.push(at);
        }
    }
    (line, kept)
}

/// Which pattern is which, entry by entry.
fn legend(figure: &Figure, frame: &Frame, covered: &[bool], width: usize, colour: bool) -> Vec<String> {
    const SAMPLE: usize = 6;
    let mut guides = guide_names();
    let mut lines = Vec::new();
    for (mark, covered) in figure.marks.iter().zip(covered) {
        let mut sample = Canvas::new(SAMPLE, 1);
        let level = [(0.0, 0.4), (1.0, 0.4)];
        match mark {
            Mark::Band { .. } => {
                sample.polyline(&[(0.0, 0.0), (1.0, 0.0)], EDGE, hue(mark));
                sample.polyline(&[(0.0, 1.0), (1.0, 1.0)], EDGE, hue(mark));
            }
            Mark::Line { style, .. } => {
                sample.polyline(&level, pattern(*style), hue(mark));
                if let Some(letter) = letter(*style) {
                    sample.letter_at(letter, (0.5, 0.4), hue(mark));
                }
            }
            Mark::Density { .. } => {
                for level in 1..=TONES {
                    // the middle of the column
                    let at = (f64::from(level) + 0.25) / SAMPLE as f64;
                    sample.tone((at, 1.0), (at, 0.0), level);
                }
            }
            Mark::Observed { .. } => sample.letter_at(SEEN, (0.5, 0.4), hue(mark)),
            Mark::Guide { .. } => {
                sample.upright(0.5, None);
                if let Some(name) = guides.next() {
                    sample.letter_at(name, (0.25, 0.4), hue(mark));
                }
            }
        }
        let beneath = match () {
            () if frame.shows_nothing_of(mark) => " (no numbers to draw)",
            () if *covered => " (beneath the others)",
            () => "",
        };
        let sample = sample.lines(colour).concat();
        for (n, text) in folded(&format!("{}{beneath}", mark.label()), (width - SAMPLE - 4) as f64, 3, columns_of).into_iter().enumerate() {
            lines.push(if n == 0 { format!("  {sample}  {text}") } else { format!("{:1$}{text}", "", SAMPLE + 4) });
        }
    }
    lines
}
