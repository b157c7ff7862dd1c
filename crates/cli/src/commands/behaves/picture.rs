//! What was observed beside what is set: reactive and active power against voltage.

use super::Seen;
use super::asked::Asked;
use super::words::title;
use behaviour::counters::{Histogram, Millis};
use behaviour::function::{Answers, Function, Rule, To};
use plot::figure::{Axis, Figure, Mark, Spot, Style};
use std::collections::BTreeMap;

/// The least that a volt has to be visited before anything of it is drawn.
const VISITED: Millis = 600_000;
/// What is drawn of each volt: between these shares of the time, and the middle.
const SHARES: [f64; 3] = [0.1, 0.5, 0.9];
/// How far beyond the voltages of the log curves are drawn, in volts.
const BEYOND: f64 = 3.0;

/// A picture for each response to voltage that was judged, by its key.
pub fn figures(asked: &Asked, seen: &Seen) -> Vec<(&'static str, Figure)> {
    let of = |function: Function| {
        let asked_function = asked.functions.iter().find(|asked| asked.function == function)?;
        let rule = |place: Option<usize>| place.and_then(|place| asked.rules.get(place)).filter(|rule| rule.to == To::Volts);
        let (set, required) = (rule(asked_function.set), rule(asked_function.required));
        let shown = set.or(required)?;
        let cells = if shown.answers == Answers::Vars { &seen.total.vars_by_volts } else { &seen.total.watts_by_volts };
        let figure = figure(function, set, required, cells, seen)?;
        Some((function.key(), figure))
    };
    [Function::VoltVar, Function::VoltWatt].into_iter().filter_map(of).collect()
}

fn figure(function: Function, set: Option<&Rule>, required: Option<&Rule>, cells: &Histogram, seen: &Seen) -> Option<Figure> {
    let observed = observed(cells, seen.setup.rated / 1e3, matches!(seen.known.counts, behaviour::hypotheses::Counts::Absorbs));
    let (first, last) = (observed[0].first()?.0 - BEYOND, observed[0].last()?.0 + BEYOND);
    let volts = || (0..=((last - first) * 4.0) as usize).map(move |n| first + 0.25 * n as f64);
    let mut marks = Vec::new();
    if let Some(rule) = set {
        let margins = seen.margins;
        let margin = (margins.tolerance + margins.of_answer(rule.answers)) / 1e3;
        let error = margins.accuracy.volts;
        let edge =
            |side: usize, sign: f64| volts().map(|v| (v, rule.curve.range(v - error, v + error)[side] / 1e3 + sign * margin)).collect();
        let lower = if rule.answers.is_cap() { volts().map(|v| (v, 0.0)).collect() } else { edge(0, -1.0) };
        marks.push(Mark::Band { lower, upper: edge(1, 1.0), label: "as set, with tolerance and meter".to_owned() });
    }
    let line = |rule: &Rule| volts().map(|v| (v, rule.curve.at(v) / 1e3)).collect::<Vec<Spot>>();
    let differs = required.filter(|required| set.is_none_or(|set| !set.acts_like(required)));
    marks.extend(differs.map(|rule| Mark::Line { points: line(rule), label: "required".to_owned(), style: Style::Required }));
    marks.extend(set.map(|rule| Mark::Line { points: line(rule), label: "set".to_owned(), style: Style::Device(0) }));
    let labels = ["a tenth of the time lay below", "observed, the middle", "a tenth of the time lay above"];
    for (points, label) in observed.into_iter().zip(labels) {
        let style = Style::Device(if label.starts_with("observed") { 1 } else { 2 });
        marks.push(Mark::Line { points, label: label.to_owned(), style });
    }
    let is_vars = function == Function::VoltVar;
    let (label, unit) = if is_vars { ("reactive power, + supplies, - absorbs", "kvar") } else { ("active power", "kW") };
    let axis = |label: &str, unit: &str| Axis { label: label.to_owned(), unit: unit.to_owned(), second: None };
    Some(Figure {
        title: format!("{}: what was observed, and what is set", title(function)),
        description: format!(
            "{} against voltage, as observed in a log and as set. Volts visited for less than 10 min are not shown.",
            title(function)
        ),
        x: axis("voltage as read", "V"),
        y: axis(label, unit),
        marks,
    })
}

/// For each volt that was visited, what a tenth of the time lay below, the middle, and what a tenth lay above.
fn observed(cells: &Histogram, rated: f64, is_reversed: bool) -> [Vec<Spot>; 3] {
    let mut bins: BTreeMap<i32, Vec<(f64, Millis)>> = BTreeMap::new();
    for (volts, share, lasted) in cells.cells() {
        let share = if is_reversed { -share } else { share };
        bins.entry(volts.floor() as i32).or_default().push((share * rated, lasted));
    }
    let mut lines: [Vec<Spot>; 3] = Default::default();
    for (volt, mut powers) in bins {
        let total: Millis = powers.iter().map(|(_, lasted)| lasted).sum();
        if total < VISITED {
            continue;
        }
        powers.sort_unstable_by(|one, other| one.0.total_cmp(&other.0));
        for (line, share) in lines.iter_mut().zip(SHARES) {
            let mut below = 0;
            let at = powers.iter().find(|(_, lasted)| {
                below += lasted;
                below as f64 >= share * total as f64
            });
            line.extend(at.map(|(power, _)| (f64::from(volt) + 0.5, *power)));
        }
    }
    lines
}
