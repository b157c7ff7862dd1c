//! A response as a figure: the band, what is required, and what each device holds.

use super::series::{Shown, levels};
use super::subjects::{HeldCurve, Subject, Trip};
use crate::report::curve::number;
use plot::figure::{Axis, Figure, Mark, SecondScale, Spot, Style, straightened};
use response::characteristic::Points;
use rules::envelope::Envelope;
use rules::phrase::capitalised;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

/// The figure of one response.
pub fn figure(shown: &Shown) -> Figure {
    let title = shown.response.title();
    let known = if shown.subjects.iter().any(|subject| subject.figures.unverified() > 0) { " (unverified figures)" } else { "" };
    let whose: Vec<&str> = shown.subjects.iter().map(|subject| subject.title.as_str()).collect();
    Figure {
        title: match whose.len() {
            0..=2 => format!("{title}: {}{known}", whose.join("; ")),
            many => format!("{title}, {many} side by side{known}"),
        },
        description: described(shown),
        x: measured(shown),
        y: Axis { label: capitalised(shown.response.axes[1].title), unit: unit(shown, 1).to_owned(), second: None },
        marks: marks(shown),
    }
}

fn measured(shown: &Shown) -> Axis {
    let per_unit = shown.nominal.filter(|_| shown.response.axes[0].dimension == Dimension::Voltage && !shown.is_per_unit_only());
    let second = per_unit.map(|nominal| SecondScale { unit: format!("pu of {nominal} V"), one_is: number(nominal) });
    Axis { label: capitalised(shown.response.axes[0].title), unit: unit(shown, 0).to_owned(), second }
}

fn unit(shown: &Shown, axis: usize) -> &'static str {
    if axis == 0 && shown.is_per_unit_only() { "pu" } else { shown.response.axes[axis].dimension.symbols().next().unwrap_or("") }
}

fn marks(shown: &Shown) -> Vec<Mark> {
    let mut marks = Vec::new();
    let (several, alike) = (shown.subjects.len() > 1, shown.is_asked_alike());
    let asked: Vec<&Subject> = if alike { shown.subjects.iter().take(1).collect() } else { shown.subjects.iter().collect() };
    for (n, subject) in asked.into_iter().enumerate() {
        let whose = if several && !alike { format!(", {}", subject.title) } else { String::new() };
        let drawn = |band: &Mark| marks.iter().any(|mark: &Mark| mark.lines() == band.lines());
        let band = band(shown, subject, &whose).filter(|band| !drawn(band));
        marks.extend(band);
        if let Some(points) = &subject.required {
            let label = if subject.must_be_idle { format!("Required where it is enabled{whose}") } else { format!("Required{whose}") };
            // requirements side by side are told apart as devices are
            let is_compared = several && !alike && matches!(subject.held, HeldCurve::NoDevice);
            marks.push(Mark::Line { points: spots(points), label, style: if is_compared { Style::Device(n) } else { Style::Required } });
        }
    }
    marks.extend(guides(shown));
    for (n, subject) in shown.subjects.iter().enumerate() {
        if let HeldCurve::Points(points) = &subject.held {
            let label = if several { subject.title.clone() } else { "The device".to_owned() };
            marks.push(Mark::Line { points: spots(points), label, style: Style::Device(n) });
        }
    }
    marks
}

/// Where devices trip, each threshold once: its value, and whose it is.
fn guides(shown: &Shown) -> Vec<Mark> {
    let mut found: Vec<(&Trip, Vec<String>)> = Vec::new();
    for subject in &shown.subjects {
        for trip in &subject.trips {
            let owner = owner(trip, subject, shown);
            match found.iter_mut().find(|(other, _)| (other.at, other.side, other.of) == (trip.at, trip.side, trip.of)) {
                Some((_, owners)) if owners.contains(&owner) => {}
                Some((_, owners)) => owners.push(owner),
                None => found.push((trip, vec![owner])),
            }
        }
    }
    let measured = shown.response.axes[0].dimension;
    let value = |at: Exact| if shown.is_per_unit_only() { format!("{at} pu") } else { measured.show(at) };
    let guide = |(trip, owners): (&Trip, Vec<String>)| {
        let of = trip.of.map_or_else(String::new, |of| format!(", {of}"));
        Mark::Guide { at: number(trip.at), label: format!("Trips {} {}{of} ({})", trip.side, value(trip.at), owners.join("; ")) }
    };
    found.into_iter().map(guide).collect()
}

/// Whose a threshold is: `required`, `the device`, or of several the name.
fn owner(trip: &Trip, subject: &Subject, shown: &Shown) -> String {
    let has_same = |other: &Subject| other.trips.iter().filter(|of| !of.is_held).any(|of| of.at == trip.at);
    match (shown.subjects.len() > 1, trip.is_held) {
        (false, true) => "the device".to_owned(),
        (false, false) => "required".to_owned(),
        (true, false) if shown.subjects.iter().all(has_same) => "required of all".to_owned(),
        (true, false) if matches!(subject.held, HeldCurve::NoDevice) => subject.title.clone(),
        (true, false) => format!("required of {}", subject.title),
        (true, true) => subject.title.clone(),
    }
}

/// What complies, where that is more than one curve; else within what the entitled may move it.
fn band(shown: &Shown, subject: &Subject, whose: &str) -> Option<Mark> {
    let is_band = |envelope: &Envelope| {
        let edges = |x: &Exact| matches!(envelope.at(*x), [Some(low), Some(high)] if low != high);
        envelope.breakpoints().iter().any(edges)
    };
    let complies = subject.complies.as_ref().filter(|envelope| is_band(envelope)).map(|envelope| (envelope, "Complies within"));
    let adjustable =
        || subject.adjustable.as_ref().filter(|envelope| is_band(envelope)).map(|envelope| (envelope, "May be adjusted within"));
    let (envelope, label) = complies.or_else(adjustable)?;
    let edges: Vec<(f64, f64, f64)> = places(shown, envelope)
        .into_iter()
        .filter_map(|x| {
            let [low, high] = levels(&Some(envelope.clone()), x);
            Some((number(x), number(low?), number(high?)))
        })
        .collect();
    const UNSEEN: f64 = 1e-6;
    let lower = straightened(edges.iter().map(|(x, low, _)| (*x, *low)), UNSEEN);
    let upper = straightened(edges.iter().map(|(x, _, high)| (*x, *high)), UNSEEN);
    Some(Mark::Band { lower, upper, label: format!("{label}{whose}") })
}

/// Places close enough that the edges of a band, which bend between its corners, look as they are.
fn places(shown: &Shown, envelope: &Envelope) -> Vec<Exact> {
    const STEPS: i64 = 200;
    let mut places = envelope.breakpoints();
    places.extend(shown.places.iter().copied());
    places.sort_unstable();
    let (Some(first), Some(last)) = (places.first().copied(), places.last().copied()) else { return places };
    let step = (last - first).divided_roughly(Exact::from(STEPS), 9).unwrap_or_default();
    places.extend((0..=STEPS).map(|n| first + step * Exact::from(n)));
    places.sort_unstable();
    places.dedup();
    places
}

fn spots(points: &Points) -> Vec<Spot> {
    points.iter().map(|(x, y)| (number(*x), number(*y))).collect()
}

/// The same in words, for those who hear it read.
fn described(shown: &Shown) -> String {
    let [x, y] = shown.response.axes.map(|axis| axis.dimension);
    let measured = |at: Exact| if shown.is_per_unit_only() { format!("{at} pu") } else { x.show(at) };
    let curve = |points: &Points| {
        points.iter().map(|(at, level)| format!("{} at {}", y.show(*level), measured(*at))).collect::<Vec<_>>().join(", ")
    };
    let mut sentences = vec![format!("{} against {}.", capitalised(shown.response.axes[1].title), shown.response.axes[0].title)];
    for subject in &shown.subjects {
        sentences.extend(subject.required.as_ref().map(|points| format!("Required of {}: {}.", subject.title, curve(points))));
        if let HeldCurve::Points(points) = &subject.held {
            sentences.push(format!("{} holds: {}.", subject.title, curve(points)));
        }
    }
    sentences.push("Flat beyond the first and the last point.".to_owned());
    sentences.join(" ")
}
