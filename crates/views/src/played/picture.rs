//! A report as a picture of time.

mod bands;
mod levels;

use super::events::{ListOf, letter};
use super::not_shown;
use super::sentences::{STOP, lasting};
use crate::report::events::{EventsReport, ExtremeReport, LogReport};
use plot::timeline::{Clock, Panel, Series, Span, Step, Style, Timeline, without};
use std::path::Path;

/// What a report shows, as a picture.
pub fn timeline(report: &EventsReport, clock: Clock) -> Timeline {
    let axis = Axis::of(&report.log);
    let panels = [voltage(report, &axis), frequency(report, &axis), power(report, &axis)];
    let devices = bands::devices(report, &axis);
    Timeline {
        title: title(report),
        description: described(report),
        warning: report.suspect_neutral.then(|| format!("STOP. {STOP}")),
        clock,
        lasts: axis.lasts,
        panels: panels.into_iter().flatten().collect(),
        devices,
        unknown: axis.unknown,
        notes: notes(report),
    }
}

/// The stretches that a log is told in, and where it says nothing.
struct Axis {
    /// How long a stretch is.
    stretch: f64,
    lasts: f64,
    unknown: Vec<Span>,
}

impl Axis {
    fn of(log: &LogReport) -> Self {
        let (stretch, lasts) = (log.envelope.seconds, log.last.seconds);
        let empty = log.envelope.voltage.iter().enumerate().filter(|(_, values)| values.is_none());
        let empty = empty.map(|(n, _)| [n as f64 * stretch, (n + 1) as f64 * stretch]);
        let mut all: Vec<Span> = log.first_gaps.iter().map(|[from, until]| [from.seconds, until.seconds]).chain(empty).collect();
        all.sort_by(|one, other| one[0].total_cmp(&other[0]));
        let mut unknown: Vec<Span> = Vec::new();
        for span in all {
            match unknown.last_mut() {
                Some(last) if span[0] <= last[1] => last[1] = last[1].max(span[1]),
                _ => unknown.push(span),
            }
        }
        Self { stretch, lasts, unknown }
    }

    fn span(&self, n: usize) -> Span {
        [n as f64 * self.stretch, ((n + 1) as f64 * self.stretch).min(self.lasts)]
    }

    /// Values of stretches, with holes where nothing is known; of neighbours that are alike one.
    fn steps<'v>(&self, values: impl Iterator<Item = &'v Option<[f64; 2]>>) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        for (n, [low, high]) in values.enumerate().filter_map(|(n, values)| Some((n, (*values)?))) {
            for [from, until] in without(self.span(n), &self.unknown) {
                match steps.last_mut() {
                    Some(last) if last.until == from && (last.low, last.high) == (low, high) => last.until = until,
                    _ => steps.push(Step { from, until, low, high }),
                }
            }
        }
        steps
    }

    fn series(&self, label: String, style: Style, values: &[Option<[f64; 2]>]) -> Series {
        Series { label, style, steps: self.steps(values.iter()) }
    }

    fn line(&self, label: &str, style: Style, values: &[Option<f64>]) -> Option<Series> {
        let values: Vec<Option<[f64; 2]>> = values.iter().map(|value| value.map(|value| [value; 2])).collect();
        let is_there = values.iter().any(Option::is_some);
        is_there.then(|| self.series(label.to_owned(), style, &values))
    }
}

/// How much of a panel's height the values of one stretch may span, on the average, and still be told apart
/// from those of other phases.
const TELLS_APART: f64 = 0.08;

fn voltage(report: &EventsReport, axis: &Axis) -> Option<Panel> {
    let envelope = &report.log.envelope;
    let spans: Vec<f64> = envelope.phases.iter().flatten().flatten().map(|[low, high]| high - low).collect();
    let [low, high] = ends(envelope.voltage.iter().flatten())?;
    let is_readable = spans.iter().sum::<f64>() <= TELLS_APART * (high - low) * spans.len() as f64;
    let mut series = match envelope.phases.len() {
        0 | 1 => vec![axis.series("Voltage".to_owned(), Style::Measured(0), &envelope.voltage)],
        _ if is_readable => {
            let phases = envelope.phases.iter().enumerate();
            phases.map(|(n, values)| axis.series(format!("Voltage L{}", n + 1), Style::Measured(n), values)).collect()
        }
        n => vec![axis.series(format!("Voltage of {n} phases"), Style::Measured(0), &envelope.voltage)],
    };
    for one in series.iter_mut().filter(|one| !one.is_line()) {
        one.label.push_str(", lowest to highest");
    }
    let mut drawn: Vec<&Vec<Option<[f64; 2]>>> = Vec::new();
    for device in &report.devices {
        let mean = &device.envelope.mean;
        let window = device.stages.iter().find_map(|stage| stage.window);
        if let Some(window) = window.filter(|_| mean.iter().any(Option::is_some) && !drawn.contains(&mean)) {
            let of = if envelope.phases.len() > 1 { ", highest phase" } else { "" };
            series.push(axis.series(format!("Average over {}{of}", lasting(window)), Style::Mean, mean));
            drawn.push(mean);
        }
    }
    Some(levels::panel("Voltage", "V", series, levels::of_voltage(report), 10.0))
}

fn frequency(report: &EventsReport, axis: &Axis) -> Option<Panel> {
    let values = &report.log.envelope.frequency;
    ends(values.iter().flatten())?;
    let mut series = axis.series("Frequency".to_owned(), Style::Measured(0), values);
    if !series.is_line() {
        series.label.push_str(", lowest to highest");
    }
    Some(levels::panel("Frequency", "Hz", vec![series], levels::of_frequency(report), 0.4))
}

fn power(report: &EventsReport, axis: &Axis) -> Option<Panel> {
    let envelope = &report.log.envelope;
    let mut series: Vec<Series> = Vec::new();
    series.extend(axis.line("Available", Style::Possible, &envelope.available));
    for (n, device) in report.devices.iter().enumerate() {
        let given = &device.envelope.given;
        if given.iter().any(Option::is_some) {
            let label =
                if report.devices.len() > 1 { format!("{} delivered, as played", letter(n)) } else { "Delivered, as played".to_owned() };
            series.push(axis.series(label, Style::Device(n), given));
        }
    }
    series.extend(axis.line("Delivered, says the log", Style::Logged, &envelope.given));
    if series.is_empty() {
        return None;
    }
    let steps = || series.iter().flat_map(|series| &series.steps);
    let [low, high] = steps().fold([0.0f64, 0.0f64], |[low, high], step| [low.min(step.low), high.max(step.high)]);
    let high = if high > low { high } else { low + 1.0 };
    Some(Panel { label: "Power".to_owned(), unit: "kW", series, levels: Vec::new(), farther: Vec::new(), range: [low, high] })
}

fn ends<'v>(values: impl Iterator<Item = &'v [f64; 2]>) -> Option<[f64; 2]> {
    let all = values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(value[0]), high.max(value[1])]);
    (all[0] <= all[1]).then_some(all)
}

fn title(report: &EventsReport) -> String {
    let log = Path::new(&report.log.file).file_name().map_or_else(|| report.log.file.clone(), |name| name.to_string_lossy().into_owned());
    let log = if log == "-" { "A log".to_owned() } else { log };
    let known = if report.devices.iter().any(|device| device.figures.unverified() > 0) { " (unverified figures)" } else { "" };
    match &report.devices[..] {
        [one] => format!("{log}, played by {}{known}", one.of),
        many => format!("{log}, played by {} devices{known}", many.len()),
    }
}

/// For those who hear it read.
fn described(report: &EventsReport) -> String {
    let log = &report.log;
    let mut said = vec![format!("From {} to {}.", log.first.time, log.last.time)];
    let extremes = |low: &Option<ExtremeReport>, high: &Option<ExtremeReport>| Some((low.as_ref()?.value, high.as_ref()?.value));
    said.extend(extremes(&log.lowest_voltage, &log.highest_voltage).map(|(low, high)| format!("Voltage {low:.1} V to {high:.1} V.")));
    said.extend(
        extremes(&log.lowest_frequency, &log.highest_frequency).map(|(low, high)| format!("Frequency {low:.2} Hz to {high:.2} Hz.")),
    );
    for device in &report.devices {
        said.push(format!("{}: {}", device.of, device.in_short));
        said.extend(device.first_cause.clone());
    }
    said.join(" ")
}

/// The letters of those of several devices of which something is told, where it is not told of all: `B and C: `.
fn of_whom(report: &EventsReport, item: &String, of: ListOf) -> String {
    let devices = report.devices.iter().enumerate();
    let letters: Vec<String> = devices.filter(|(_, device)| of(device).contains(item)).map(|(n, _)| letter(n).to_string()).collect();
    if letters.len() == report.devices.len() { String::new() } else { format!("{}: ", letters.join(" and ")) }
}

fn notes(report: &EventsReport) -> Vec<String> {
    let mut notes = Vec::new();
    if report.devices.len() > 1 {
        notes.push(not_shown(report).to_owned());
    }
    let lists: [(&str, ListOf); 2] =
        [("Cannot be decided by this log", |device| &device.undecided), ("Not played", |device| &device.not_played)];
    for (says, of) in lists {
        let mut items: Vec<&String> = Vec::new();
        for item in report.devices.iter().flat_map(of) {
            if !items.contains(&item) {
                items.push(item);
            }
        }
        notes.extend(items.into_iter().map(|item| format!("{}{says}: {item}", of_whom(report, item, of))));
    }
    if report.log.measured_at != "terminals" {
        notes.push("Not known to be measured at the terminals: the device may have seen other voltages.".to_owned());
    }
    if report.log.gaps as usize > report.log.first_gaps.len() {
        notes.push(format!("Of {} gaps the first {} are shown.", report.log.gaps, report.log.first_gaps.len()));
    }
    notes
}
