//! A timeline on a terminal: panels of dots, rows of letters for states, one axis of time.

use super::canvas::{Canvas, Pattern, cell};
use super::{columns_of, folded, row as line_of};
use crate::figure::Spot;
use crate::timeline::ticks::Tick;
use crate::timeline::{DeviceTimeline, Doing, Level, Mark, Panel, Row, Series, Style, Timeline, edge};
use std::fmt::Write as _;

/// Lines of the first panel and of others.
const LINES: [usize; 2] = [11, 5];

/// The picture in at most `width` columns.
pub fn timeline(timeline: &Timeline, width: usize, colour: bool) -> String {
    let width = width.max(40);
    let lines = || std::iter::once(LINES[0]).chain(std::iter::repeat(LINES[1]));
    let numbers = |panel: &Panel, lines: usize| -> Vec<(usize, String)> {
        let scale = panel.scale((lines / 2).max(2));
        scale.numbers.iter().map(|n| (line_of(scale.share(*n), lines), scale.written(*n))).collect()
    };
    let all: Vec<Vec<(usize, String)>> = timeline.panels.iter().zip(lines()).map(|(panel, lines)| numbers(panel, lines)).collect();
    let gutter = all.iter().flatten().map(|(_, text)| text.len()).max().unwrap_or(0) + 1;
    let mut sheet = Sheet { timeline, width, gutter, columns: width - gutter - 3, colour, out: String::new(), names: names() };
    for line in folded(&timeline.title, width as f64, 3, columns_of) {
        sheet.say(&line);
    }
    for ((panel, lines), numbers) in timeline.panels.iter().zip(lines()).zip(all) {
        sheet.panel(panel, lines, &numbers);
    }
    timeline.devices.iter().for_each(|device| sheet.device(device));
    sheet.time_axis();
    sheet.key();
    sheet.out
}

/// Letters of thresholds: from `a` on, through all panels.
fn names() -> Box<dyn Iterator<Item = char>> {
    Box::new(('a'..='z').cycle())
}

struct Sheet<'t> {
    timeline: &'t Timeline,
    width: usize,
    /// Columns left of the axis.
    gutter: usize,
    /// Columns of the plots.
    columns: usize,
    colour: bool,
    out: String,
    names: Box<dyn Iterator<Item = char>>,
}

impl Sheet<'_> {
    fn say(&mut self, line: &str) {
        let _ = writeln!(self.out, "{}", line.trim_end());
    }

    fn share(&self, seconds: f64) -> f64 {
        (seconds / self.timeline.lasts.max(1e-9)).clamp(0.0, 1.0)
    }

    fn column(&self, seconds: f64) -> usize {
        cell(self.share(seconds), self.columns * 2) / 2
    }

    /// Entries beside each other, in as many lines as they need.
    fn entries(&mut self, first: &str, entries: Vec<(String, usize)>) {
        let (mut line, mut long) = (first.to_owned(), first.chars().count());
        for (text, columns) in entries {
            if long + 2 + columns > self.width && long > 0 {
                self.say(&line);
                (line, long) = (String::new(), 0);
            }
            let _ = write!(line, "  {text}");
            long += 2 + columns;
        }
        self.say(&line);
    }

    fn panel(&mut self, panel: &Panel, lines: usize, numbers: &[(usize, String)]) {
        self.out.push('\n');
        let several = panel.series.len() > 1;
        let sample = |series: &Series| {
            let mut canvas = Canvas::new(5, 1);
            canvas.polyline(&[(0.0, 0.4), (1.0, 0.4)], pattern(series.style), hue(series.style));
            if several {
                canvas.letter_at(letter(series.style), (0.5, 0.4), hue(series.style));
            }
            let label = folded(&series.label, (self.width - 8) as f64, 1, columns_of).concat();
            (format!("{} {label}", canvas.lines(self.colour).concat()), 6 + label.chars().count())
        };
        let samples = panel.series.iter().map(sample).collect();
        self.entries(&panel.title(), samples);
        let scale = panel.scale((lines / 2).max(2));
        let mut canvas = Canvas::new(self.columns, lines);
        for mark in self.timeline.devices.iter().flat_map(|device| &device.marks) {
            canvas.upright(self.share(mark.between[0]), None);
        }
        for [from, until] in &self.timeline.unknown {
            canvas.shade(self.share(*from), self.share(*until));
        }
        for level in &panel.levels {
            canvas.ground_line(1.0 - scale.share(level.at));
        }
        for series in &panel.series {
            let place = |(at, value): (f64, f64)| (self.share(at), 1.0 - scale.share(value));
            let (pattern, hue) = (pattern(series.style), hue(series.style));
            for run in series.runs() {
                let upper: Vec<Spot> = edge(run, |step| step.high).into_iter().map(place).collect();
                canvas.polyline(&upper, pattern, hue);
                if !series.is_line() {
                    let lower: Vec<Spot> = edge(run, |step| step.low).into_iter().map(place).collect();
                    canvas.polyline(&lower, pattern, hue);
                    for step in run {
                        canvas.polyline(&[place((step.from, step.low)), place((step.from, step.high))], Pattern::SOLID, hue);
                    }
                }
                if several && run.len() * 4 > series.steps.len() {
                    canvas.letter_along(letter(series.style), &upper, hue);
                }
            }
        }
        // thresholds are named beside the right edge
        let mut levels: Vec<&Level> = panel.levels.iter().collect();
        levels.sort_by(|one, other| other.at.total_cmp(&one.at));
        let named: Vec<(char, &Level)> = levels.into_iter().map(|level| (self.names.next().unwrap_or('?'), level)).collect();
        for (line, cells) in canvas.lines(self.colour).into_iter().enumerate() {
            let number = numbers.iter().find(|(row, _)| *row == line).map(|(_, text)| text.as_str());
            let tick = if number.is_some() { '┤' } else { '│' };
            let here: String =
                named.iter().filter(|(_, level)| line_of(scale.share(level.at), lines) == line).map(|(name, _)| *name).collect();
            let long = if here.is_empty() { 0 } else { self.columns - canvas.columns_of(line) };
            let gutter = self.gutter;
            let room = self.width - self.gutter - 1 - self.columns;
            // more names than room stand on the plot's own edge
            let cells = if here.chars().count() > room {
                cut(&cells, self.columns + room - here.chars().count())
            } else {
                format!("{cells}{:long$}", "")
            };
            self.say(&format!("{:>gutter$}{tick}{cells}{here}", number.unwrap_or_default()));
        }
        let indent = self.gutter + 1;
        let widest = panel.levels.iter().map(|level| level.value.chars().count()).max().unwrap_or(0);
        for (name, level) in named {
            let room = self.width.saturating_sub(indent + 5 + widest);
            let lines = folded(&level.label, room as f64, 2, columns_of);
            // without words there is still a value
            let lines = if lines.is_empty() { vec![String::new()] } else { lines };
            for (n, line) in lines.iter().enumerate() {
                let (name, value) = if n == 0 { (name, level.value.as_str()) } else { (' ', "") };
                self.say(&format!("{:indent$}{name}  {value:>widest$}  {line}", ""));
            }
        }
        if !panel.farther.is_empty() {
            let says = format!("Beyond this panel: {}", panel.farther.join("; "));
            for line in folded(&says, (self.width - indent) as f64, 4, columns_of) {
                self.say(&format!("{:indent$}{line}", ""));
            }
        }
    }

    fn device(&mut self, device: &DeviceTimeline) {
        self.out.push('\n');
        for line in folded(&device.title, self.width as f64, 2, columns_of) {
            self.say(&line);
        }
        let indent = self.gutter + 1;
        for lane in self.lanes(&device.marks) {
            self.say(&format!("{:indent$}{lane}", ""));
        }
        if !device.more.is_empty() {
            let mut ticks = vec![' '; self.columns];
            device.more.iter().for_each(|at| ticks[self.column(*at)] = '╷');
            self.say(&format!("{:indent$}{}", "", ticks.into_iter().collect::<String>()));
        }
        for row in &device.rows {
            if !row.label.is_empty() {
                self.say(&format!("{:indent$}{}:", "", row.label));
            }
            let cells: String = self.shown(row).map(|doing| doing.map_or(UNKNOWN, ink)).collect();
            self.say(&format!("{:indent$}{cells}", ""));
        }
    }

    /// What each column shows of a row.
    fn shown<'r>(&self, row: &'r Row) -> impl Iterator<Item = Option<Doing>> + use<'r> {
        let (columns, lasts) = (self.columns, self.timeline.lasts.max(1e-9));
        (0..columns).map(move |n| row.foremost([n, n + 1].map(|edge| edge as f64 / columns as f64 * lasts)))
    }

    /// Numbers at their moments, in lanes where they would touch; `▒` up to the latest moment.
    fn lanes(&self, marks: &[Mark]) -> Vec<String> {
        let mut lanes: Vec<Vec<char>> = Vec::new();
        for mark in marks {
            let name: Vec<char> = format!("{}{}", mark.name, if mark.is_certain { "" } else { "?" }).chars().collect();
            let from = self.column(mark.between[0]).min(self.columns.saturating_sub(name.len()));
            let until = (from + name.len()).max(self.column(mark.between[1]) + 1).min(self.columns);
            let is_free = |lane: &Vec<char>| lane[from.saturating_sub(1)..(until + 1).min(self.columns)].iter().all(|c| *c == ' ');
            let lane = lanes.iter().position(is_free).unwrap_or_else(|| {
                lanes.push(vec![' '; self.columns]);
                lanes.len() - 1
            });
            lanes[lane][from..until].fill('▒');
            lanes[lane][from..from + name.len()].copy_from_slice(&name);
        }
        lanes.into_iter().map(|lane| lane.into_iter().collect()).collect()
    }

    fn time_axis(&mut self) {
        let (gutter, columns, timeline) = (self.gutter, self.columns, self.timeline);
        let widest = |ticks: &[Tick]| ticks.iter().map(|tick| tick.text.chars().count() + 3).max().unwrap_or(0) * ticks.len();
        let counts = (1..=10).rev().map(|most| timeline.clock.ticks(timeline.lasts, most));
        let ticks = counts.into_iter().find(|ticks| widest(ticks) <= columns).unwrap_or_default();
        let at: Vec<usize> = ticks.iter().map(|tick| self.column(tick.at)).collect();
        let rule: String = (0..columns).map(|column| if at.contains(&column) { '┴' } else { '─' }).collect();
        self.say(&format!("{:gutter$}└{rule}", ""));
        let texts = ticks.iter().zip(&at).map(|(tick, at)| (gutter + 1 + at, tick.text.clone()));
        let (numbers, _) = super::beside_each_other(texts, self.width);
        self.say(&numbers);
        let title = timeline.clock.title(timeline.lasts);
        for line in folded(&title, columns as f64, 2, columns_of) {
            let indent = gutter + 1 + (columns - line.chars().count()) / 2;
            self.say(&format!("{:indent$}{line}", ""));
        }
    }

    /// What letters of states mean, of those that are used.
    fn key(&mut self) {
        let devices = &self.timeline.devices;
        let rows = devices.iter().flat_map(|device| &device.rows);
        let shown: Vec<Doing> = rows.flat_map(|row| self.shown(row)).flatten().collect();
        let used = Doing::ALL.into_iter().filter(|doing| shown.contains(doing));
        let mut entries: Vec<(char, &str)> = used.map(|doing| (ink(doing), doing.words())).collect();
        if !self.timeline.unknown.is_empty() {
            entries.push((UNKNOWN, "the log says nothing"));
        }
        let marks = || devices.iter().flat_map(|device| &device.marks);
        if marks().any(|mark| self.column(mark.between[1]) > self.column(mark.between[0]) + mark.name.chars().count()) {
            entries.push(('▒', "somewhere in this span"));
        }
        let entries = entries.into_iter().map(|(ink, words)| (format!("[{ink}{ink}{ink}] {words}"), 6 + words.chars().count()));
        let entries = entries.collect();
        self.entries("", entries);
        let mut says = Vec::new();
        if marks().next().is_some() {
            says.push("Numbers are those of the timeline in words; ? may have been.".to_owned());
        }
        says.extend(devices.iter().filter_map(|device| Some(format!("{}.", device.more_says.as_ref()?))));
        for line in folded(&says.join(" "), (self.width - 2) as f64, 4, columns_of) {
            self.say(&format!("  {line}"));
        }
    }
}

/// The first columns of a line that may hold colours.
fn cut(cells: &str, columns: usize) -> String {
    let (mut out, mut seen, mut in_code) = (String::new(), 0, false);
    for c in cells.chars() {
        if c == '\u{1b}' {
            in_code = true;
        } else if !in_code {
            seen += 1;
            if seen > columns {
                continue;
            }
        }
        out.push(c);
        in_code &= c != 'm';
    }
    format!("{out}{:1$}", "", columns.saturating_sub(seen))
}

/// Where nothing is known.
const UNKNOWN: char = '░';

/// A state as a letter.
fn ink(doing: Doing) -> char {
    match doing {
        Doing::Waiting => '·',
        Doing::Observing => 'o',
        Doing::Ramping => '╱',
        Doing::Running => '━',
        Doing::Ceased => '×',
        Doing::HeldBack => '╌',
    }
}

fn pattern(style: Style) -> Pattern {
    match style {
        Style::Measured(0) | Style::Device(0) => Pattern::SOLID,
        Style::Measured(1) | Style::Logged | Style::Device(_) => Pattern { on: 4, off: 2 },
        Style::Measured(_) | Style::Possible => Pattern { on: 1, off: 2 },
        Style::Mean => Pattern { on: 3, off: 1 },
    }
}

/// Stands on a series among several.
fn letter(style: Style) -> char {
    match style {
        Style::Measured(n) => char::from(b'1' + (n % 9) as u8),
        Style::Mean => 'm',
        Style::Possible => 'p',
        Style::Logged => 'L',
        Style::Device(n) => char::from(b'A' + (n % 26) as u8),
    }
}

fn hue(style: Style) -> u8 {
    match style {
        Style::Measured(n) | Style::Device(n) => [34, 33, 32, 35, 31][n % 5],
        Style::Logged => 35,
        Style::Mean | Style::Possible => 39,
    }
}
