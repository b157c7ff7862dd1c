//! A timeline as a standalone SVG: panels above rows of states on one axis of time, readable without colour.

mod bands;
pub mod ink;
mod words;

use super::labels::{apart, text_width};
use super::{folded, n, opening, signed, write_line, write_text, written};
use crate::figure::Spot;
use crate::scale::Scale;
use crate::timeline::{Level, Panel, Series, Span, Timeline, edge, ticks::Tick};
use std::fmt::Write as _;

const MARGIN: f64 = 18.0;
/// Where the plots begin.
const LEFT: f64 = 74.0;
/// Of words, and of smaller ones.
const SIZE: f64 = 15.0;
const SMALL: f64 = 13.0;
const LINE: f64 = 18.0;
/// Of the first panel and of others.
const HEIGHTS: [f64; 2] = [210.0, 110.0];

/// How a picture lies on its paper.
#[derive(Clone, Copy, Debug)]
struct Frame {
    /// Of the whole paper.
    width: f64,
    /// Where the plots end.
    right: f64,
    /// Where the words beside the plots end.
    until: f64,
    /// How much of their usual height panels have.
    flat: f64,
    /// The height of the paper where it is given, and the words of events then stand in a column of their own.
    height: Option<f64>,
}

/// Upright: as high as it needs to be, what happened below.
const UPRIGHT: Frame = Frame { width: 800.0, right: 576.0, until: 782.0, flat: 1.0, height: None };
/// For a slide, 16 to 9: what happened stands beside the plots.
const SLIDE: Frame = Frame { width: 1280.0, right: 660.0, until: 872.0, flat: 1.0, height: Some(720.0) };
impl Frame {
    /// The same on a paper that is so many times as large, with words as large as before.
    fn grown(self, times: f64, flat: f64) -> Self {
        let Self { width, right, until, height, .. } = self;
        Self { width: width * times, right: right * times, until: until * times, flat, height: height.map(|height| height * times) }
    }
}

/// The flattest that panels may be.
const FLATTEST: f64 = 0.35;

/// The picture as SVG text, the same for the same timeline. `id` begins the names inside, so that several
/// may stand in one page.
pub fn timeline(timeline: &Timeline, id: &str) -> String {
    drawn(timeline, UPRIGHT, Some(ink::STYLE), id)
}

/// The same in landscape, for a slide: what happened stands beside the plots.
pub fn slide(timeline: &Timeline, id: &str) -> String {
    // panels are flattened until everything has its place; where that is not enough, the paper grows as a whole
    let flats = (0..=13).map(|step| 1.3 - (1.3 - FLATTEST) * f64::from(step) / 13.0);
    let frames = (0..=10).flat_map(|step| flats.clone().map(move |flat| SLIDE.grown(1.0 + 0.1 * f64::from(step), flat)));
    let has_room = |frame: &Frame| frame.height.is_none_or(|height| sheet(timeline, *frame, id).y <= height);
    let frame = frames.into_iter().find(has_room).unwrap_or(SLIDE.grown(2.0, FLATTEST));
    drawn(timeline, frame, Some(ink::STYLE), id)
}

/// The picture as a part of a page that has its inks.
pub fn timeline_pane(timeline: &Timeline, id: &str) -> String {
    drawn(timeline, UPRIGHT, None, id)
}

fn sheet<'t>(timeline: &'t Timeline, frame: Frame, id: &'t str) -> Sheet<'t> {
    let mut sheet = Sheet { timeline, id, frame, out: String::new(), y: 36.0, ticks: ticks(timeline, frame) };
    for line in folded(&timeline.title, frame.width - 2.0 * MARGIN, 2, |text| text_width(text, 21.0)) {
        write_text(&mut sheet.out, "heading", (MARGIN, sheet.y), "start", &line);
        sheet.y += 25.0;
    }
    sheet.warning();
    let top = sheet.y;
    for (panel, height) in timeline.panels.iter().zip(std::iter::once(HEIGHTS[0]).chain(std::iter::repeat(HEIGHTS[1]))) {
        sheet.panel(panel, height * frame.flat);
    }
    sheet.bands();
    sheet.time_axis();
    sheet.key();
    if frame.height.is_some() {
        let below = std::mem::replace(&mut sheet.y, top);
        let column = [frame.until + MARGIN, frame.width - MARGIN];
        sheet.legend(column);
        sheet.notes(column);
        sheet.y = below;
    } else {
        sheet.legend([MARGIN, frame.width - MARGIN]);
        sheet.notes([MARGIN, frame.width - MARGIN]);
    }
    sheet
}

fn drawn(timeline: &Timeline, frame: Frame, style: Option<&str>, id: &str) -> String {
    let sheet = sheet(timeline, frame, id);
    let mut out = String::new();
    let words = [timeline.title.as_str(), timeline.description.as_str()];
    let height = sheet.y.ceil().max(frame.height.unwrap_or(0.0));
    opening(&mut out, id, (frame.width, height), words, style, &ink::patterns(id));
    out.push_str(&sheet.out);
    out.push_str("</svg>\n");
    out
}

/// As many round times as stand beside each other.
fn ticks(timeline: &Timeline, frame: Frame) -> Vec<Tick> {
    let fits = |ticks: &Vec<Tick>| {
        let widest = ticks.iter().map(|tick| text_width(&tick.text, SIZE) + 14.0).fold(0.0, f64::max);
        widest * ticks.len() as f64 <= frame.right - LEFT
    };
    let counts = (1..=10).rev().map(|most| timeline.clock.ticks(timeline.lasts, most));
    counts.into_iter().find(fits).unwrap_or_default()
}

/// What is drawn so far, from top to bottom.
struct Sheet<'t> {
    timeline: &'t Timeline,
    id: &'t str,
    frame: Frame,
    out: String,
    /// Where the next thing begins.
    y: f64,
    ticks: Vec<Tick>,
}

/// Where a panel stands.
#[derive(Clone, Copy)]
struct Plot<'s> {
    top: f64,
    bottom: f64,
    scale: &'s Scale,
}

impl Plot<'_> {
    fn y(&self, value: f64) -> f64 {
        self.bottom - self.scale.share(value) * (self.bottom - self.top)
    }
}

impl Sheet<'_> {
    fn x(&self, seconds: f64) -> f64 {
        LEFT + (seconds / self.timeline.lasts.max(1e-9)).clamp(0.0, 1.0) * (self.frame.right - LEFT)
    }

    fn panel(&mut self, panel: &Panel, height: f64) {
        self.y += 8.0;
        self.panel_head(panel);
        let scale = panel.scale((height / 32.0) as usize);
        let labels = level_words(&panel.levels, self.frame);
        let needed: f64 = labels.iter().map(|(_, lines)| LINE * lines.len() as f64 + 7.0).sum();
        let plot = Plot { top: self.y, bottom: self.y + height.max(needed), scale: &scale };
        self.behind(plot.top, plot.bottom);
        for number in &scale.numbers {
            let y = plot.y(*number);
            write_line(&mut self.out, "grid", (LEFT, y), (self.frame.right, y));
            write_text(&mut self.out, "number", (LEFT - 8.0, y + 5.0), "end", &signed(&scale.written(*number)));
        }
        write_line(&mut self.out, "axis", (LEFT, plot.top), (LEFT, plot.bottom));
        write_line(&mut self.out, "axis", (LEFT, plot.bottom), (self.frame.right, plot.bottom));
        for level in &panel.levels {
            let y = plot.y(level.at);
            write_line(&mut self.out, ink::level_class(level.does), (LEFT, y), (self.frame.right, y));
        }
        for series in &panel.series {
            self.series(series, &plot);
        }
        self.level_labels(&labels, &plot);
        self.y = plot.bottom + 8.0;
        // a slide is for what happened
        if !panel.farther.is_empty() && self.frame.height.is_none() {
            let says = format!("Beyond this panel: {}", panel.farther.join("; "));
            self.small_paragraph(&says, LEFT, self.frame.until - LEFT);
        }
    }

    /// The quantity, and which line is which.
    fn panel_head(&mut self, panel: &Panel) {
        self.y += SIZE;
        let title = panel.title();
        write_text(&mut self.out, "strong", (MARGIN, self.y), "start", &title);
        let start = MARGIN + text_width(&title, SIZE) + 18.0;
        let mut x = start;
        for series in &panel.series {
            let label = folded(&series.label, self.frame.until - start - 50.0, 1, narrow).concat();
            let width = 34.0 + narrow(&label) + 18.0;
            if x > start && x + width > self.frame.until {
                (x, self.y) = (start, self.y + LINE);
            }
            let class = ink::series_class(series.style);
            write_line(&mut self.out, &class, (x, self.y - 5.0), (x + 28.0, self.y - 5.0));
            write_text(&mut self.out, "small", (x + 34.0, self.y), "start", &label);
            x += width;
        }
        self.y += 16.0;
    }

    /// What lies behind the lines: round times, what is not known, windows of events, and their moments.
    fn behind(&mut self, top: f64, bottom: f64) {
        for tick in &self.ticks {
            let x = LEFT + tick.at / self.timeline.lasts.max(1e-9) * (self.frame.right - LEFT);
            write_line(&mut self.out, "grid", (x, top), (x, bottom));
        }
        for span in &self.timeline.unknown {
            self.area("unknown", "unknown", *span, [top, bottom]);
        }
        for mark in self.timeline.devices.iter().flat_map(|device| &device.marks) {
            if mark.between[0] < mark.between[1] {
                self.area("window", "window", mark.between, [top, bottom]);
            }
            let x = self.x(mark.between[0]);
            write_line(&mut self.out, "moment", (x, top), (x, bottom));
        }
    }

    /// A span of time from one height to another, with its hatch; at least as wide as can be seen.
    fn area(&mut self, class: &str, pattern: &str, [from, until]: Span, [top, bottom]: [f64; 2]) {
        let (x, end) = (self.x(from), self.x(until));
        let width = (end - x).max(1.0).min(self.frame.right - x.min(self.frame.right - 1.0));
        let (x, width, height) = (n(x.min(self.frame.right - 1.0)), n(width), n(bottom - top));
        let fill = format!("fill=\"url(#{}-{pattern})\"", self.id);
        let _ = writeln!(self.out, "<rect class=\"{class}\" {fill} x=\"{x}\" y=\"{}\" width=\"{width}\" height=\"{height}\"/>", n(top));
    }

    fn series(&mut self, series: &Series, plot: &Plot<'_>) {
        let class = ink::series_class(series.style);
        let is_line = series.is_line();
        for run in series.runs() {
            let place = |(at, value): Spot| (self.x(at), plot.y(value));
            let upper: Vec<Spot> = edge(run, |step| step.high).into_iter().map(place).collect();
            if is_line {
                let _ = writeln!(self.out, "<polyline class=\"{class}\" points=\"{}\"/>", written(&upper));
                continue;
            }
            let lower = edge(run, |step| step.low).into_iter().rev().map(place);
            let around: Vec<Spot> = upper.into_iter().chain(lower).collect();
            let _ = writeln!(self.out, "<polygon class=\"{class} filled\" points=\"{}\"/>", written(&around));
        }
    }

    fn level_labels(&mut self, labels: &[(&Level, Vec<String>)], plot: &Plot<'_>) {
        let mut places: Vec<(f64, f64)> = labels.iter().map(|(level, lines)| (plot.y(level.at), LINE * lines.len() as f64)).collect();
        apart(&mut places, plot.top - LINE / 2.0, plot.bottom - plot.top + LINE / 2.0);
        for ((level, lines), (y, _)) in labels.iter().zip(places) {
            write_line(&mut self.out, "leader", (self.frame.right, plot.y(level.at)), (self.frame.right + 14.0, y));
            for (line, text) in lines.iter().enumerate() {
                let class = if line == 0 { "small label" } else { "small" };
                write_text(&mut self.out, class, (self.frame.right + 18.0, y + 4.5 + (LINE - 2.0) * line as f64), "start", text);
            }
        }
    }

    fn time_axis(&mut self) {
        write_line(&mut self.out, "axis", (LEFT, self.y), (self.frame.right, self.y));
        for tick in &self.ticks {
            let x = LEFT + tick.at / self.timeline.lasts.max(1e-9) * (self.frame.right - LEFT);
            write_line(&mut self.out, "tick", (x, self.y), (x, self.y + 6.0));
            write_text(&mut self.out, "number", (x, self.y + 22.0), "middle", &tick.text);
        }
        self.y += 44.0;
        let title = self.timeline.clock.title(self.timeline.lasts);
        write_text(&mut self.out, "words", (LEFT.midpoint(self.frame.right), self.y), "middle", &title);
        self.y += 14.0;
    }

    /// What has to be read first, in a frame.
    fn warning(&mut self) {
        let Some(warning) = &self.timeline.warning else { return };
        let lines = folded(warning, self.frame.width - 2.0 * MARGIN - 24.0, 5, |text| text_width(text, SIZE));
        let (top, height) = (self.y - 12.0, LINE * lines.len() as f64 + 16.0);
        let (x, width) = (n(MARGIN), n(self.frame.width - 2.0 * MARGIN));
        let _ = writeln!(self.out, "<rect class=\"warning\" x=\"{x}\" y=\"{}\" width=\"{width}\" height=\"{}\"/>", n(top), n(height));
        for (n, line) in lines.iter().enumerate() {
            write_text(&mut self.out, "strong", (MARGIN + 12.0, top + 21.0 + LINE * n as f64), "start", line);
        }
        self.y = top + height + 14.0;
    }

    fn small_paragraph(&mut self, text: &str, x: f64, width: f64) {
        for line in folded(text, width, 6, narrow) {
            self.y += LINE - 3.0;
            write_text(&mut self.out, "small", (x, self.y), "start", &line);
        }
        self.y += 4.0;
    }
}

/// How wide small words are, in the fonts that people have.
fn narrow(text: &str) -> f64 {
    text_width(text, SMALL) * 0.9
}

/// Thresholds from top to bottom, with the words beside them: the value first.
fn level_words(levels: &[Level], frame: Frame) -> Vec<(&Level, Vec<String>)> {
    let mut levels: Vec<&Level> = levels.iter().collect();
    levels.sort_by(|one, other| other.at.total_cmp(&one.at));
    let room = frame.until - frame.right - 4.0;
    let words = |level: &Level| folded(&format!("{}: {}", level.value, level.label), room, 3, narrow);
    levels.into_iter().map(|level| (level, words(level))).collect()
}
