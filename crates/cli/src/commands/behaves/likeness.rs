//! What a volt-var response that departs looks like: off, reversed, in part, as required, or another region's or
//! edition's curve of those at hand.

use super::Seen;
use super::asked::{Asked, AskedFunction};
use crate::report::behaves::LooksLike;
use behaviour::curve::Curve;
use behaviour::deciding::Answer;
use behaviour::function::{Function, Rule, rules};
use behaviour::hypotheses::{Counts, Place};
use behaviour::likeness::{Likeness, likeness};
use replay::acting::acting;
use replay::held::Held;
use rules::assess::Assessor;
use rules::identify::candidates;
use settings_model::catalogue::Equipment;

/// A curve and what it is called, after "looks like".
pub struct Named {
    name: String,
    curve: Curve,
}

/// The curves that a volt-var response may be mistaken for; none where it is not asked for.
pub fn known(held: &Held<'_>, asked: &Asked, assessor: &mut Assessor) -> Vec<Named> {
    let volt_var = asked.functions.iter().find(|function| function.function == Function::VoltVar);
    let Some(AskedFunction { set: Some(set), required, .. }) = volt_var else { return Vec::new() };
    let set = &asked.rules[*set].curve;
    let scaled = |by: f64| Curve::new(set.points().iter().map(|[volts, vars]| [*volts, by * vars]).collect());
    let mut known = vec![
        Named { name: "what is set".to_owned(), curve: set.clone() },
        Named { name: "off".to_owned(), curve: Curve::flat(0.0) },
        Named { name: "reversed signs".to_owned(), curve: scaled(-1.0) },
        Named {
            name: "half of what is set (a part of the rating does not respond, or a percentage is of another power)".to_owned(),
            curve: scaled(0.5),
        },
    ];
    let required = required.map(|place| asked.rules[place].curve.clone());
    add(&mut known, "what is required (the record is stale)".to_owned(), required);
    for candidate in candidates(assessor) {
        let as_required = held.as_required(candidate.title.clone(), candidate.book(Equipment::Inverter));
        let all = acting(&as_required, None).device.map(|device| rules(&device)).unwrap_or_default();
        let rule: Option<Rule> = all.into_iter().find(|rule| rule.function == Function::VoltVar);
        add(&mut known, candidate.title, rule.map(|rule| rule.curve));
    }
    known
}

/// Adds a curve that is none of those before.
fn add(known: &mut Vec<Named>, name: String, curve: Option<Curve>) {
    if let Some(curve) = curve.filter(|curve| known.iter().all(|other| other.curve != *curve)) {
        known.push(Named { name, curve });
    }
}

/// What a volt-var response looks like that departs from what is set, at the terminals with stated signs.
pub fn looks_like(function: &AskedFunction, seen: &Seen, known: &[Named]) -> Option<LooksLike> {
    let place = function.set.filter(|_| function.function == Function::VoltVar)?;
    let can_tell = seen.known.place == Place::Terminals && seen.known.counts != Counts::NotStated;
    if seen.verdicts[place].answer != Answer::Departs || !can_tell || known.is_empty() {
        return None;
    }
    let curves: Vec<Curve> = known.iter().map(|named| named.curve.clone()).collect();
    let margin = seen.margins.tolerance + seen.margins.accuracy.vars;
    let name = |place: usize| known[place].name.clone();
    let percent = |share: f64| (share * 1e4).round() / 1e2;
    Some(match likeness(&curves, &seen.counters, &seen.grid, seen.setup.rated, margin) {
        Likeness::One { place: 0, .. } | Likeness::None => LooksLike {
            says: "It fits no curve at hand.".to_owned(),
            name: None,
            misfit_percent: None,
            outside_percent: None,
            not_told_apart: Vec::new(),
        },
        Likeness::Several(places) => {
            let names: Vec<String> = places.into_iter().map(name).collect();
            let says = format!("It fits these, and this log does not tell them apart: {}.", names.join("; "));
            LooksLike { says, name: None, misfit_percent: None, outside_percent: None, not_told_apart: names }
        }
        Likeness::One { place, misfit, outside, next } => {
            let next = next.map_or_else(String::new, |(next, worse)| {
                format!(
                    " The next best, {}, lies {:.1} % of the rating off on average, this one {:.1} %.",
                    name(next),
                    percent(worse),
                    percent(misfit)
                )
            });
            LooksLike {
                says: format!("It looks like: {}.{next}", name(place)),
                name: Some(name(place)),
                misfit_percent: Some(percent(misfit)),
                outside_percent: Some(percent(outside)),
                not_told_apart: Vec::new(),
            }
        }
    })
}
