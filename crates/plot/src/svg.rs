//! A figure as a standalone SVG: scales, reads without colour, has words for those who hear it read.

mod here;
mod ink;
mod key;
mod labels;
mod map;
mod paper;
mod seen;
mod timeline;

use super::figure::{Figure, Frame, Mark, Spot, Style, folded};
pub use here::Here;
use ink::write_marker as write_marker_at;
pub use key::{Key, key, map_key};
use labels::{Label, text_width};
pub use map::{map, map_pane};
pub use paper::style;
use paper::{PANE, Paper, SHEET};
use std::fmt::Write as _;
pub use timeline::{slide, timeline, timeline_pane};

/// The figure as SVG text, the same for the same figure. `id` begins the names inside, so that several
/// may stand in one page: a letter, then letters, digits and hyphens.
pub fn svg(figure: &Figure, id: &str) -> String {
    drawn(figure, &[], &SHEET, id)
}

/// The figure as a part of a page that says its title and key and has its inks ([`style`]), with places of
/// the moment marked.
pub fn pane(figure: &Figure, here: &[Here], id: &str) -> String {
    let mut figure = figure.clone();
    // there is room for one scale, and for the first words of a title
    figure.x.second = None;
    figure.y.label.truncate(figure.y.label.find([':', ',', ';']).unwrap_or(figure.y.label.len()));
    drawn(&figure, here, &PANE, id)
}

fn drawn(figure: &Figure, here: &[Here], paper: &Paper, id: &str) -> String {
    let frame = readable(figure, paper);
    let sheet = Sheet::around(figure, &frame, paper);
    let mut out = String::new();
    opening(&mut out, id, (paper.width, sheet.height), [&figure.title, &figure.description], paper.style(seen::style_of(figure)), "");
    for (line, text) in sheet.title.iter().enumerate() {
        write_text(&mut out, "heading", (MARGIN, 36.0 + 25.0 * line as f64), "start", text);
    }
    for guide in &sheet.guides {
        let (x, _) = sheet.place(&frame, (guide.at, frame.y.low));
        write_line(&mut out, "guide", (x, guide.y + 4.0), (x, sheet.bottom));
    }
    axes(&mut out, figure, &frame, &sheet, paper);
    marks(&mut out, figure, &frame, &sheet, id);
    for guide in &sheet.guides {
        write_text(&mut out, "words halo", (guide.x, guide.y), guide.anchor, &guide.text);
    }
    here::write(&mut out, here, &frame, &sheet);
    for label in &sheet.labels {
        label.write(&mut out, figure, id);
    }
    out.push_str("</svg>\n");
    out
}

/// The beginning of a picture: its words, its inks and hatches, its paper. `style` is what it has of its own, and
/// none where a page has all inks.
fn opening(out: &mut String, id: &str, (width, height): Spot, [title, description]: [&str; 2], style: Option<&str>, hatches: &str) {
    let (width, height) = (n(width), n(height));
    let style = style.map_or_else(String::new, |own| format!("<style>{}{own}</style>\n", ink::STYLE));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" class=\"figure\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-description\">\n<title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-description\">{}</desc>\n\
         {style}{}{hatches}<rect class=\"paper\" width=\"{width}\" height=\"{height}\"/>\n",
        escaped(title),
        escaped(description),
        ink::hatch(id),
    );
}

const WIDTH: f64 = 960.0;
const MARGIN: f64 = 24.0;
/// Of the letters beside axes and lines, in the picture's own unit.
const SIZE: f64 = 15.0;
/// What the axis below needs: its numbers and its title.
const BELOW: f64 = 66.0;
const PLOT_HEIGHT: f64 = 380.0;

/// The axes with as many numbers below as stand beside each other.
fn readable(figure: &Figure, paper: &Paper) -> Frame {
    let room = paper.width - paper.beside(figure) - 3.0 * MARGIN;
    let fits = |frame: &Frame| {
        let widths = frame.x.numbers.iter().map(|number| text_width(&signed(&frame.x.written(*number)), SIZE) + 16.0);
        widths.fold(0.0, f64::max) * frame.x.numbers.len() as f64 <= room
    };
    let frames = (2..=8).rev().map(|count| figure.frame(count, 7));
    frames.into_iter().find(fits).unwrap_or_else(|| figure.frame(1, 7))
}

/// Where everything goes.
struct Sheet {
    height: f64,
    title: Vec<String>,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    labels: Vec<Label>,
    guides: Vec<Guide>,
}

/// A guide's words above the plot, in a row where they touch no other.
struct Guide {
    at: f64,
    x: f64,
    y: f64,
    anchor: &'static str,
    text: String,
}

impl Sheet {
    fn around(figure: &Figure, frame: &Frame, paper: &Paper) -> Self {
        let title = paper.title(&figure.title);
        let longest = frame.y.numbers.iter().map(|number| text_width(&signed(&frame.y.written(*number)), SIZE)).fold(0.0, f64::max);
        let (left, right) = (paper.margin + 34.0 + longest, paper.width - paper.margin - paper.beside(figure));
        let guides_top = paper.below_title(&title);
        let (mut guides, rows) = guide_rows(figure, frame, paper.width, left, right);
        let guides_bottom = guides_top + 20.0 * rows as f64;
        let top = guides_bottom + if figure.x.second.is_some() { 28.0 } else { 8.0 };
        guides.iter_mut().for_each(|guide| guide.y += guides_top);
        let height = paper.plot_height;
        let mut sheet = Self { height: 0.0, title, left, right, top, bottom: top + height, labels: Vec::new(), guides };
        let ends = |mark: &Mark| sheet.end_of(mark, frame);
        let wanted: Vec<(usize, f64)> = figure.marks.iter().enumerate().filter_map(|(n, mark)| Some((n, ends(mark)?))).collect();
        if paper.is_alone {
            let (labels, needed) = labels::placed(figure, &wanted, right, top, height);
            sheet.labels = labels;
            sheet.height = (top + needed.max(height) + BELOW).ceil();
        } else {
            sheet.height = (top + height + BELOW).ceil();
        }
        sheet
    }

    /// A value's place on the paper.
    fn place(&self, frame: &Frame, (x, y): Spot) -> Spot {
        (self.left + frame.x.share(x) * (self.right - self.left), self.bottom - frame.y.share(y) * (self.bottom - self.top))
    }

    /// How high a mark meets the right edge, where its words stand.
    fn end_of(&self, mark: &Mark, frame: &Frame) -> Option<f64> {
        let end = |points: &[Spot]| frame.across(points).last().map(|spot| self.place(frame, *spot).1);
        match mark {
            Mark::Line { points, .. } => end(points),
            Mark::Band { lower, upper, .. } => Some(end(lower)?.midpoint(end(upper)?)),
            Mark::Density { .. } => Some(self.bottom),
            Mark::Observed { seen, .. } => seen.last().map(|seen| self.place(frame, (seen.at, seen.answer[1])).1),
            Mark::Guide { .. } => None,
        }
    }
}

/// Guides from left to right, each in the first row with room for its words; and how many rows.
fn guide_rows(figure: &Figure, frame: &Frame, width: f64, left: f64, right: f64) -> (Vec<Guide>, usize) {
    let shown = figure.marks.iter().filter_map(|mark| if let Mark::Guide { at, label } = mark { Some((*at, label)) } else { None });
    let mut shown: Vec<(f64, &String)> = shown.filter(|(at, _)| frame.shows(*at)).collect();
    shown.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    let mut ends: Vec<f64> = Vec::new();
    let mut guides = Vec::new();
    let room = (right - left).clamp(300.0, 620.0);
    let lines = shown
        .into_iter()
        .flat_map(|(at, label)| folded(label, room, 2, |text| text_width(text, SIZE)).into_iter().map(move |line| (at, line)));
    for (at, text) in lines {
        let x = left + frame.x.share(at) * (right - left);
        let half = text_width(&text, SIZE) / 2.0;
        // words near an edge lean inwards, and never past the other edge
        let most = width - MARGIN.min(width - right);
        let (start, end, anchor) = match () {
            () if x - half < left => (x.min(most - 2.0 * half), x.min(most - 2.0 * half) + 2.0 * half, "start"),
            () if x + half > most => ((x - 2.0 * half).max(0.0), x.max(2.0 * half), "end"),
            () => (x - half, x + half, "middle"),
        };
        let x = match anchor {
            "start" => start,
            "end" => end,
            _ => x,
        };
        let row = ends.iter().position(|taken| taken + 12.0 < start).unwrap_or(ends.len());
        if row == ends.len() {
            ends.push(end);
        }
        ends[row] = end;
        guides.push(Guide { at, x, y: 15.0 + 20.0 * row as f64, anchor, text });
    }
    (guides, ends.len())
}

fn axes(out: &mut String, figure: &Figure, frame: &Frame, sheet: &Sheet, paper: &Paper) {
    let Sheet { left, right, top, bottom, .. } = *sheet;
    for number in &frame.y.numbers {
        let (_, y) = sheet.place(frame, (frame.x.low, *number));
        let class = if *number == 0.0 && frame.y.crosses_zero() { "zero" } else { "grid" };
        write_line(out, class, (left, y), (right, y));
        write_text(out, "number", (left - 8.0, y + 5.0), "end", &signed(&frame.y.written(*number)));
    }
    let mut taken = 0.0;
    for number in &frame.x.numbers {
        let (x, _) = sheet.place(frame, (*number, frame.y.low));
        write_line(out, "tick", (x, bottom), (x, bottom + 6.0));
        write_number(out, &mut taken, paper.width, (x, bottom + 22.0), &signed(&frame.x.written(*number)));
    }
    if let Some(second) = &figure.x.second {
        let mut taken = 0.0;
        for (at, number) in frame.x.in_unit(second.one_is, 7) {
            let (x, _) = sheet.place(frame, (at, frame.y.low));
            write_line(out, "tick", (x, top - 6.0), (x, top));
            write_number(out, &mut taken, right + 26.0, (x, top - 11.0), &signed(&number));
        }
        let unit = folded(&second.unit, paper.width - right - 30.0, 1, |text| text_width(text, SIZE)).concat();
        write_text(out, "number", (right + 30.0, top - 11.0), "start", &unit);
        write_line(out, "axis", (left, top), (right, top));
    }
    write_line(out, "axis", (left, top), (left, bottom));
    write_line(out, "axis", (left, bottom), (right, bottom));
    let title = |title: String, room: f64| folded(&title, room, 1, |text| text_width(text, SIZE)).concat();
    write_text(out, "words", (left.midpoint(right), bottom + 50.0), "middle", &title(figure.x.title(), right - left));
    let (x, y) = (paper.margin + 10.0, top.midpoint(bottom));
    let y_title = title(figure.y.title(), bottom - top);
    let _ = writeln!(
        out,
        "<text class=\"words\" text-anchor=\"middle\" x=\"{0}\" y=\"{1}\" transform=\"rotate(-90 {0} {1})\">{2}</text>",
        n(x),
        n(y),
        escaped(&y_title)
    );
}

/// A number below or above the plot, unless it would touch the one before or pass `end`.
fn write_number(out: &mut String, taken: &mut f64, end: f64, (x, y): Spot, text: &str) {
    let half = text_width(text, SIZE) / 2.0;
    if x - half > *taken + 4.0 && x + half < end {
        write_text(out, "number halo", (x, y), "middle", text);
        *taken = x + half;
    }
}

fn marks(out: &mut String, figure: &Figure, frame: &Frame, sheet: &Sheet, id: &str) {
    let path = |points: &[Spot]| frame.across(points).into_iter().map(|spot| sheet.place(frame, spot)).collect::<Vec<Spot>>();
    figure.marks.iter().for_each(|mark| seen::write_density(out, mark, frame, sheet));
    for mark in &figure.marks {
        if let Mark::Band { lower, upper, .. } = mark {
            let (lower, upper) = (path(lower), path(upper));
            if lower.is_empty() || upper.is_empty() {
                continue;
            }
            let around: Vec<Spot> = lower.iter().copied().chain(upper.iter().rev().copied()).collect();
            for class in ["band".to_owned(), format!("band-hatch\" fill=\"url(#{id}-hatch)")] {
                let _ = writeln!(out, "<polygon class=\"{class}\" points=\"{}\"/>", written(&around));
            }
            for edge in [lower, upper] {
                let _ = writeln!(out, "<polyline class=\"edge\" points=\"{}\"/>", written(&edge));
            }
        }
    }
    // what is asked for lies on top of what devices hold, thinner, so that both can be seen where they are equal
    let is_device = |mark: &&Mark| matches!(mark, Mark::Line { style: Style::Device(_), .. });
    for mark in figure.marks.iter().filter(is_device).chain(figure.marks.iter().filter(|mark| !is_device(mark))) {
        let Mark::Line { points, style, .. } = mark else { continue };
        let spots = path(points);
        if spots.is_empty() {
            continue;
        }
        let _ = writeln!(out, "<polyline class=\"{}\" points=\"{}\"/>", ink::line_class(*style), written(&spots));
        if let Style::Device(device) = style {
            for spot in frame.points(points) {
                ink::write_marker(out, *device, sheet.place(frame, spot));
            }
        }
    }
    figure.marks.iter().for_each(|mark| seen::write_observed(out, mark, frame, sheet));
}

fn write_line(out: &mut String, class: &str, (x1, y1): Spot, (x2, y2): Spot) {
    let _ = writeln!(out, "<line class=\"{class}\" x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>", n(x1), n(y1), n(x2), n(y2));
}

fn write_text(out: &mut String, class: &str, (x, y): Spot, anchor: &str, text: &str) {
    let _ = writeln!(out, "<text class=\"{class}\" text-anchor=\"{anchor}\" x=\"{}\" y=\"{}\">{}</text>", n(x), n(y), escaped(text));
}

fn written(spots: &[Spot]) -> String {
    spots.iter().map(|(x, y)| format!("{},{}", n(*x), n(*y))).collect::<Vec<_>>().join(" ")
}

/// A coordinate, with a tenth of the picture's unit.
fn n(number: f64) -> String {
    let written = super::scale::plain(number, 1);
    written.strip_suffix(".0").map_or(written.clone(), str::to_owned)
}

/// A number with a true minus sign, which reads better and is not copied into files from here.
fn signed(number: &str) -> String {
    number.replace('-', "\u{2212}")
}

/// Text as XML wants it; control characters, which XML forbids, and what else nobody would see, are shown.
fn escaped(text: &str) -> String {
    terminal::escaped(text).chars().filter(|c| !matches!(c, '\u{fffe}' | '\u{ffff}')).fold(String::new(), |mut out, c| {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            other => out.push(other),
        }
        out
    })
}
