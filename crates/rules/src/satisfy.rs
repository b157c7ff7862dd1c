//! Finding an example that keeps a list of claims.

use crate::natural::{End, Span};
use crate::ratio::{Digits, Ratio, ten_to, times};
use crate::settle::{Settled, settle};
use crate::sites;
use crate::states::{States, all_evidence, vocabulary};
use crate::tube::{self, Tube};
use crate::unproven::Unproven;
use crate::witness::{Witness, WitnessValue};
use crate::zone::{Node, Weight, Zone, groups};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Evidence, Limit, ProvenanceId, Term, Var, Words};
use settings_model::facts::{FactValue, Facts};
use settings_model::value::Value;
use std::collections::BTreeMap;

/// An example that keeps all the claims, with the functions of these state settings enabled and
/// every other one off or absent where it may be. `None` if there is none.
///
/// A demand that has not been seen is passed over, and so is a limit that its term cannot have.
///
/// # Errors
/// [`Unproven`] when neither an example nor its absence can be shown.
pub fn satisfy(claims: &[Claim], facts: &Facts, enabled: &[SettingId]) -> Result<Option<Witness>, Unproven> {
    satisfy_with(claims, facts, enabled, None)
}

/// As [`satisfy`], where one curve is given, which keeps the lines around its response.
pub(crate) fn satisfy_with(
    claims: &[Claim],
    facts: &Facts,
    enabled: &[SettingId],
    given: Option<(SettingId, &Value)>,
) -> Result<Option<Witness>, Unproven> {
    let states = States::choose(claims, |state| enabled.contains(&state));
    if states.contradict() || !enabled.iter().all(|state| states.enabled(*state)) {
        return Ok(None);
    }
    let binding: Vec<&Claim> = claims.iter().filter(|claim| states.bind(claim)).collect();
    let mut witness = Witness { facts: facts.clone(), ..Witness::default() };
    if !choose_words(binding.iter().copied(), &states, &mut witness) {
        return Ok(None);
    }
    let Some(curves) = choose_curves(&binding, facts, given)? else { return Ok(None) };
    let Some(mut points) = solved(&binding, facts)? else { return Ok(None) };
    if !curves.is_empty() {
        let with_curves: Vec<&Claim> = binding.iter().copied().chain(&curves).collect();
        points = solved(&with_curves, facts)?.ok_or(Unproven::PointsAndResponse)?;
    }
    for (zone, n) in points {
        choose_numbers(&zone, n, &mut witness)?;
    }
    Ok(Some(witness))
}

/// The claims that pin one curve for each response that has lines around it, and the one given;
/// `None` if some lines leave nothing between them.
fn choose_curves(binding: &[&Claim], facts: &Facts, given: Option<(SettingId, &Value)>) -> Result<Option<Vec<Claim>>, Unproven> {
    let mut pins = Vec::new();
    let mut settings = tube::settings_of(binding.iter().copied());
    settings.extend(given.map(|(setting, _)| setting).filter(|setting| !settings.contains(setting)));
    for setting in settings {
        let tube = Tube::of(binding.iter().copied().enumerate(), setting, facts)?;
        if let Some(tube) = &tube
            && tube.contradiction()?.is_some()
        {
            return Ok(None);
        }
        let curve = match (given, tube) {
            (Some((of, curve)), _) if of == setting => curve.clone(),
            (_, Some(tube)) => tube.response()?,
            (_, None) => continue,
        };
        pins.extend(curve.exactly(setting, ProvenanceId(0)));
    }
    Ok(Some(pins))
}

/// Every group of demands on numbers with a value of its unknown fact at which it can be kept;
/// `None` if one of them cannot.
fn solved(binding: &[&Claim], facts: &Facts) -> Result<Option<Vec<(Zone, Ratio)>>, Unproven> {
    // A group without a point settles the question, even where another group stays open.
    let groups = groups(binding.iter().copied().enumerate(), facts).into_iter().map(|group| {
        let zone = Zone::new(&group)?;
        settle(&zone).map(|settled| (zone, settled))
    });
    let mut open = None;
    let mut points = Vec::new();
    for group in groups {
        match group {
            Ok((_, Settled::Empty(_))) => return Ok(None),
            Ok((zone, Settled::At(n))) => points.push((zone, n)),
            Err(why) => open = Some(why),
        }
    }
    open.map_or(Ok(Some(points)), Err)
}

/// Chooses words and kinds of evidence; `false` if some claims leave none.
fn choose_words<'c>(binding: impl Iterator<Item = &'c Claim>, states: &States, witness: &mut Witness) -> bool {
    let (mut words, mut evidence): (BTreeMap<Var, Words>, BTreeMap<Var, Words>) = Default::default();
    for claim in binding {
        match (&claim.limit, claim.on) {
            (Limit::OneOf(allowed), Term::Var(var)) => {
                let left = words.entry(var).or_insert(vocabulary(var));
                *left = left.and(*allowed);
            }
            (Limit::Stated(allowed), on) => {
                for var in on.vars() {
                    let left = evidence.entry(var).or_insert(all_evidence());
                    *left = left.and(*allowed);
                }
            }
            _ => {}
        }
    }
    if words.values().chain(evidence.values()).any(|left| left.is_empty()) {
        return false;
    }
    for (var, left) in words {
        witness.settings.extend(left.iter().next().map(|word| (var, WitnessValue::Word(word))));
    }
    witness.settings.extend(states.words().map(|(state, word)| (state.into(), WitnessValue::Word(word))));
    for (var, left) in evidence {
        let strongest = Evidence::ALL.into_iter().find(|kind| left.has(*kind as u8));
        witness.evidence.extend(strongest.map(|kind| (var, kind)));
    }
    true
}

/// How much finer than the zone's own unit a chosen number may be.
const FINER: u32 = 9;

/// Chooses one number after the other, facts first: each within what the ones before it leave.
/// In a closed zone whatever is chosen there can be completed.
fn choose_numbers(zone: &Zone, n: Ratio, witness: &mut Witness) -> Result<(), Unproven> {
    let mut coarse = zone.decimals;
    if let Some(fact) = zone.parameter {
        let digits = n.digits().ok_or(Unproven::NotWritable(fact))?;
        witness.facts.set(fact, FactValue::Number(digits.exact()?));
        coarse += digits.decimals;
    }
    let decimals = coarse + FINER;
    let most_above = zone.closed(&zone.weights(n)?);
    let mut chosen: Vec<(usize, i128)> = vec![(0, 0)];
    let is_fact = |node: &Node| matches!(node, Node::Fact(_));
    let (facts, settings): (Vec<usize>, Vec<usize>) = (1..zone.nodes.len()).partition(|node| is_fact(&zone.nodes[*node]));
    for node in facts.into_iter().chain(settings) {
        let mut span = Span { low: None, high: None, decimals };
        for (other, at) in &chosen {
            if let Some(most) = most_above[node][*other] {
                let end = end_at(*at, most, FINER, 1)?;
                span.high = Some(span.high.map_or(end, |now| tighter(now, end, now.at > end.at)));
            }
            if let Some(most) = most_above[*other][node] {
                let end = end_at(*at, most, FINER, -1)?;
                span.low = Some(span.low.map_or(end, |now| tighter(now, end, now.at < end.at)));
            }
        }
        let digits = number(zone.nodes[node], span)?;
        chosen.push((node, digits.in_units(decimals)?));
        match zone.nodes[node] {
            Node::Zero => {}
            Node::Setting(var) => drop(witness.settings.insert(var, WitnessValue::Number(digits.exact()?))),
            Node::Fact(fact) => witness.facts.set(fact, FactValue::Number(digits.exact()?)),
        }
    }
    Ok(())
}

fn number(node: Node, span: Span) -> Result<Digits, Unproven> {
    let digits = match node {
        Node::Fact(fact) => span.near(times(sites::familiar(fact).into(), ten_to(span.decimals)?)?, span.decimals)?,
        Node::Zero | Node::Setting(_) => span.at_an_edge()?,
    };
    digits.ok_or(Unproven::TooManyDigits)
}

/// `at` plus (or minus) a distance of the zone, in the finer unit.
fn end_at(at: i128, most: Weight, finer: u32, sign: i128) -> Result<End, Unproven> {
    let distance = times(times(most.at, ten_to(finer)?)?, sign)?;
    Ok(End { at: crate::ratio::plus(at, distance)?, open: most.is_open() })
}

/// The tighter of two ends on the same side.
fn tighter(now: End, other: End, other_is_inside: bool) -> End {
    if other_is_inside || (other.at == now.at && other.open) { other } else { now }
}
