//! What was observed beside what is set: reactive and active power against voltage.

use super::Seen;
use super::asked::DeviceQuery;
use super::words::title;
use behaviour::counters::{Histogram, Millis};
use behaviour::function::{Answers, Function, Rule, To};
use plot::figure::{Axis, Figure, Mark, Seen as SeenAt, Style, TONES, Tone, straightened};
use std::collections::BTreeMap;

/// The least that a volt has to be visited before anything of it is drawn.
const VISITED: Millis = 600_000;
/// What is marked at each volt: so much of the time lay below.
const OF_VARS: [f64; 3] = [0.1, 0.5, 0.9];
/// And of a cap, which shows at the upper edge only.
const OF_WATTS: [f64; 3] = [0.5, 0.9, 0.98];
/// The parts of the picture: so many volts wide, and so many per cent of the rating high.
const PART: [f64; 2] = [0.5, 2.0];
/// A part is as dense as the next if it was visited for this share of the time.
const DENSER: f64 = 4.0;
/// How far beyond the voltages of the log curves are drawn, in volts.
const BEYOND: f64 = 3.0;

/// A picture for each response to voltage that was judged, by its key.
pub fn figures(asked: &DeviceQuery, seen: &Seen) -> Vec<(&'static str, Figure)> {
    let of = |function: Function| {
        let asked_function = asked.functions.iter().find(|asked| asked.function == function)?;
        let rule = |place: Option<usize>| place.and_then(|place| asked.rules.get(place)).filter(|rule| rule.to == To::Volts);
        let (set, required) = (rule(asked_function.set), rule(asked_function.required));
        let shown = set.or(required)?;
        let cells = if shown.answers == Answers::Vars { &seen.total.vars_by_volts } else { &seen.total.watts_by_volts };
        let mut figure = figure(function, set, required, cells, seen)?;
        let shown_over = asked_function.set.and_then(|place| seen.verdicts.get(place)).and_then(|verdict| verdict.shown_over);
        let ends = shown_over.into_iter().flat_map(|[from, to]| [(from, "shown from here"), (to, "shown to here")]);
        figure.marks.extend(ends.map(|(at, label)| Mark::Guide { at, label: label.to_owned() }));
        Some((function.key(), figure))
    };
    [Function::VoltVar, Function::VoltWatt].into_iter().filter_map(of).collect()
}

fn figure(function: Function, set: Option<&Rule>, required: Option<&Rule>, cells: &Histogram, seen: &Seen) -> Option<Figure> {
    let is_vars = function == Function::VoltVar;
    let cells = cells_of(cells, seen.setup.rated / 1e3, is_vars && matches!(seen.known.counts, behaviour::hypotheses::Counts::Absorbs));
    let observed = observed(&cells, if is_vars { OF_VARS } else { OF_WATTS });
    let (first, last) = (observed.first()?.at - BEYOND, observed.last()?.at + BEYOND);
    let volts = || (0..=((last - first) * 4.0) as usize).map(move |n| first + 0.25 * n as f64);
    let mut marks = vec![Mark::Density { cells: tones(&cells, seen.setup.rated / 1e3), label: "time, the denser the longer".to_owned() }];
    if let Some(rule) = set {
        let margins = seen.margins;
        let margin = (margins.tolerance + margins.of_answer(rule.answers)) / 1e3;
        let error = margins.accuracy.volts;
        let edge =
            |side: usize, sign: f64| volts().map(|v| (v, rule.curve.range(v - error, v + error)[side] / 1e3 + sign * margin)).collect();
        let lower = if rule.answers.is_cap() { volts().map(|v| (v, 0.0)).collect() } else { edge(0, -1.0) };
        marks.push(Mark::Band { lower, upper: edge(1, 1.0), label: "as set, with tolerance and meter".to_owned() });
    }
    let line = |rule: &Rule| straightened(volts().map(|v| (v, rule.curve.at(v) / 1e3)), 1e-6);
    let differs = required.filter(|required| set.is_none_or(|set| !set.acts_like(required)));
    marks.extend(differs.map(|rule| Mark::Line { points: line(rule), label: "required".to_owned(), style: Style::Required }));
    marks.extend(set.map(|rule| Mark::Line { points: line(rule), label: "set".to_owned(), style: Style::Device(0) }));
    let label = if is_vars {
        "seen at each volt: the middle; a tenth of the time below, a tenth above"
    } else {
        "seen at each volt: nine tenths of the time lay below"
    };
    marks.push(Mark::Observed { seen: observed, label: label.to_owned() });
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

/// Volts, kilowatts or kilovars, and how long.
type Cell = (f64, f64, Millis);

fn cells_of(cells: &Histogram, rated: f64, is_reversed: bool) -> Vec<Cell> {
    let sign = if is_reversed { -rated } else { rated };
    cells.cells().map(|(volts, share, lasted)| (volts, sign * share, lasted)).collect()
}

/// How long it was where, in parts that an eye can tell apart.
fn tones(cells: &[Cell], rated: f64) -> Vec<Tone> {
    let [wide, high] = [PART[0], PART[1] / 100.0 * rated];
    let mut parts: BTreeMap<(i64, i64), Millis> = BTreeMap::new();
    for (volts, power, lasted) in cells {
        *parts.entry(((volts / wide).floor() as i64, (power / high).round() as i64)).or_default() += lasted;
    }
    let most = parts.values().copied().max().unwrap_or_default() as f64;
    let tone = |((x, y), lasted): (&(i64, i64), &Millis)| {
        let lighter = (most / *lasted as f64).log(DENSER).floor().min(f64::from(TONES - 1));
        let from = (*x as f64 * wide, (*y as f64 - 0.5) * high);
        Tone { from, to: (from.0 + wide, from.1 + high), level: TONES - lighter as u8 }
    };
    parts.iter().map(tone).collect()
}

/// For each volt that was visited, what these shares of the time lay below.
fn observed(cells: &[Cell], shares: [f64; 3]) -> Vec<SeenAt> {
    let mut bins: BTreeMap<i32, Vec<(f64, Millis)>> = BTreeMap::new();
    for (volts, power, lasted) in cells {
        bins.entry(volts.floor() as i32).or_default().push((*power, *lasted));
    }
    let seen = |(volt, mut powers): (i32, Vec<(f64, Millis)>)| {
        let total: Millis = powers.iter().map(|(_, lasted)| lasted).sum();
        powers.sort_unstable_by(|one, other| one.0.total_cmp(&other.0));
        let at = |share: f64| {
            let mut below = 0;
            let found = powers.iter().find(|(_, lasted)| {
                below += lasted;
                below as f64 >= share * total as f64
            });
            found.map_or(f64::NAN, |(power, _)| *power)
        };
        (total >= VISITED).then(|| SeenAt { at: f64::from(volt) + 0.5, answer: shares.map(at) })
    };
    bins.into_iter().filter_map(seen).collect()
}
