//! What a response to voltage that departs looks like: off, reversed, in part, moved, a power factor, as required, or
//! another region's or edition's curve of those at hand.

use super::Seen;
use super::asked::{AskedFunction, DeviceQuery};
use crate::report::behaves::LooksLike;
use behaviour::curve::Curve;
use behaviour::deciding::Answer;
use behaviour::function::{Answers, Function, Rule, To, rules};
use behaviour::hypotheses::{Counts, Place};
use behaviour::looks_like::{Candidate, Likeness, Looks, Terms, vars, watts};
use behaviour::thresholds::LEAST_SPREAD;
use replay::acting::acting;
use replay::held::DeviceAtMoment;
use rules::assess::Assessor;
use rules::identify::candidates;
use settings_model::catalogue::Equipment;
use std::collections::BTreeMap;

/// The curves that a response may be mistaken for, with what each is called after "looks like".
pub type Known = BTreeMap<Function, Vec<Candidate<String>>>;

/// How far a curve is moved where the device may read its voltage wrongly, in volts.
const MOVED: [f64; 2] = [-3.0, 3.0];
/// Power factors that devices are often left with (common practice, no source).
const POWER_FACTORS: [f64; 3] = [0.95, 0.9, 0.8];

/// For the responses to voltage that are set.
pub fn known(held: &DeviceAtMoment<'_>, asked: &DeviceQuery, assessor: &mut Assessor) -> Known {
    let all = asked.functions.iter().filter(|of| matches!(of.function, Function::VoltVar | Function::VoltWatt));
    let mut known: Known = all.filter_map(|of| Some((of.function, of_what_is_set(of, asked)?))).collect();
    if known.is_empty() {
        return known;
    }
    for candidate in candidates(assessor) {
        let as_required = held.as_required(candidate.title.clone(), candidate.book(Equipment::Inverter));
        let all: Vec<Rule> = acting(&as_required, None).device.map(|device| rules(&device)).unwrap_or_default();
        for (function, known) in &mut known {
            let rule = all.iter().find(|rule| rule.function == *function);
            known.extend(rule.map(|rule| by_volts(candidate.title.clone(), rule.curve.clone())));
        }
    }
    known
}

/// What comes of the curve that is set, first among all.
fn of_what_is_set(of: &AskedFunction, asked: &DeviceQuery) -> Option<Vec<Candidate<String>>> {
    let set = &asked.rules[of.set?];
    let points = |change: &dyn Fn(&[f64; 2]) -> [f64; 2]| Curve::new(set.curve.points().iter().map(change).collect());
    let is_vars = set.answers == Answers::Vars;
    let off = Curve::flat(if is_vars { 0.0 } else { asked.rated });
    let mut known = vec![by_volts(WHAT_IS_SET.to_owned(), set.curve.clone()), by_volts("off".to_owned(), off)];
    if is_vars {
        known.push(by_volts("reversed signs".to_owned(), points(&|[volts, vars]| [*volts, -vars])));
        let half = "half of what is set (a part of the rating does not respond, or a percentage is of another power)";
        known.push(by_volts(half.to_owned(), points(&|[volts, vars]| [*volts, vars / 2.0])));
        known.extend(POWER_FACTORS.iter().flat_map(|factor| [-1.0, 1.0].map(|sign| of_power_factor(*factor, sign, asked.rated))));
    }
    let required = of.required.map(|place| asked.rules[place].curve.clone());
    known.extend(required.map(|curve| by_volts("what is required (the record is stale)".to_owned(), curve)));
    known.extend(MOVED.map(|by| {
        let says =
            format!("what is set, {} V {} (the device reads its voltage wrongly)", by.abs(), if by < 0.0 { "lower" } else { "higher" });
        by_volts(says, points(&|[volts, power]| [volts + by, *power]))
    }));
    Some(known)
}

/// In per cent, to hundredths.
fn percent(share: f64) -> f64 {
    (share * 1e4).round() / 1e2
}

const WHAT_IS_SET: &str = "what is set";

fn by_volts(name: String, curve: Curve) -> Candidate<String> {
    Candidate { name, curve, to: To::Volts }
}

fn of_power_factor(factor: f64, sign: f64, rated: f64) -> Candidate<String> {
    let most = sign * rated * (1.0 / (factor * factor) - 1.0).sqrt();
    let name = format!("a power factor of {factor}, {}", if sign < 0.0 { "absorbing" } else { "supplying" });
    Candidate { name, curve: Curve::new(vec![[-rated, most], [0.0, 0.0], [rated, most]]), to: To::Watts }
}

/// What a response looks like that departs from what is set, at the terminals with stated signs.
pub fn looks_like(function: &AskedFunction, seen: &Seen, known: &Known) -> Option<LooksLike> {
    let candidates = known.get(&function.function)?;
    let verdict = &seen.verdicts[function.set?];
    let is_vars = function.function == Function::VoltVar;
    let can_tell = seen.known.place == Place::Terminals && (!is_vars || seen.known.counts != Counts::NotStated);
    if verdict.answer != Answer::Departs || !can_tell {
        return None;
    }
    let mut shifts: Vec<f64> = seen.grid.all.iter().map(|of| of.offset).collect();
    shifts.sort_by(f64::total_cmp);
    shifts.dedup();
    let error = if is_vars { seen.margins.accuracy.vars } else { seen.margins.accuracy.watts };
    let terms = Terms {
        rated: seen.setup.rated,
        margin: seen.margins.tolerance + error,
        shifts: &shifts,
        half: seen.grid.offset_half,
        spread: if seen.setup.are_means() { seen.setup.spread.unwrap_or(LEAST_SPREAD) } else { 0.0 },
    };
    let days = &seen.counted.counters.days;
    let is_reversed = seen.known.counts == Counts::Absorbs;
    said(if is_vars { vars(days, candidates, terms, is_reversed) } else { watts(days, candidates, terms) }?)
}

fn said(looks: Looks<String>) -> Option<LooksLike> {
    let none = |says: String| LooksLike { says, name: None, misfit_percent: None, outside_percent: None, not_told_apart: Vec::new() };
    Some(match looks {
        Looks::Like(Likeness { name, .. }) if name == WHAT_IS_SET => return None,
        Looks::NoneKnown => none("It fits no curve at hand.".to_owned()),
        Looks::NotToldApart(names) => {
            let says = format!("It fits these, and this log does not tell them apart: {}.", names.join("; "));
            LooksLike { not_told_apart: names, ..none(says) }
        }
        Looks::Like(Likeness { name, misfit, outside, next }) => {
            let next = next.map_or_else(String::new, |(next, worse)| {
                format!(" The next best, {next}, lies {:.1} % of the rating off, this one {:.1} %.", percent(worse), percent(misfit))
            });
            LooksLike {
                misfit_percent: Some(percent(misfit)),
                outside_percent: Some(percent(outside)),
                name: Some(name.clone()),
                ..none(format!("It looks like: {name}.{next}"))
            }
        }
    })
}
