//! Contradictions: the fewest claims that nothing can keep together.

use crate::settle::{Settled, settle};
use crate::states::{States, all_evidence, vocabulary};
use crate::tube::{self, Tube};
use crate::zone::{Zone, groups};
use settings_model::claim::{Claim, Limit, Term, Var, Words};
use settings_model::facts::Facts;
use std::collections::BTreeMap;

/// Positions in `claims` of a contradiction of which every claim is needed: without any one of
/// them the rest can be kept. `None` if no contradiction is known.
///
/// Every function that may be enabled is taken to be, so a rule that nobody could keep once the
/// function is enabled is found even where off is allowed. Claims on a function that may not be
/// enabled bind nothing. Demands that were not seen contradict nothing. A group that depends on two
/// unknown facts is passed over, and so is a demand on the points of a curve against one on its
/// response.
#[must_use]
pub fn core(claims: &[Claim], facts: &Facts) -> Option<Vec<usize>> {
    if let Some(words) = words_core(claims.iter().enumerate()) {
        return Some(words);
    }
    let states = States::choose(claims, |_| true);
    let binding: Vec<(usize, &Claim)> = claims.iter().enumerate().filter(|(_, claim)| states.bind(claim)).collect();
    if let Some(evidence) = evidence_core(binding.iter().copied()) {
        return Some(evidence);
    }
    if let Some(lines) = lines_core(&binding, facts) {
        return Some(lines);
    }
    let found = numbers_core(&binding, facts)?;
    Some(needed(found, |rest| {
        let rest: Vec<(usize, &Claim)> = binding.iter().copied().filter(|(index, _)| rest.contains(index)).collect();
        numbers_core(&rest, facts).is_some()
    }))
}

/// Two lines around a response that leave nothing between them.
fn lines_core(binding: &[(usize, &Claim)], facts: &Facts) -> Option<Vec<usize>> {
    let settings = tube::settings_of(binding.iter().map(|(_, claim)| *claim));
    settings.into_iter().find_map(|setting| {
        let tube = Tube::of(binding.iter().copied(), setting, facts).ok()??;
        let mut two = tube.contradiction().ok()??;
        two.sort_unstable();
        Some(two.to_vec())
    })
}

/// Some claims on numbers that contradict each other.
fn numbers_core(binding: &[(usize, &Claim)], facts: &Facts) -> Option<Vec<usize>> {
    groups(binding.iter().copied(), facts).iter().find_map(|group| match settle(&Zone::new(group).ok()?) {
        Ok(Settled::Empty(claims)) => Some(claims.into_iter().collect()),
        _ => None,
    })
}

fn words_core<'c>(claims: impl Iterator<Item = (usize, &'c Claim)>) -> Option<Vec<usize>> {
    sets_core(claims.filter_map(|(index, claim)| match (claim.on, &claim.limit) {
        (Term::Var(var), Limit::OneOf(words)) => Some((index, var, words.and(vocabulary(var)))),
        _ => None,
    }))
}

fn evidence_core<'c>(claims: impl Iterator<Item = (usize, &'c Claim)>) -> Option<Vec<usize>> {
    sets_core(
        claims
            .filter_map(|(index, claim)| match &claim.limit {
                Limit::Stated(kinds) => Some(claim.on.vars().map(move |var| (index, var, kinds.and(all_evidence())))),
                _ => None,
            })
            .flatten(),
    )
}

/// The fewest sets of one variable that have nothing in common.
fn sets_core(sets: impl Iterator<Item = (usize, Var, Words)>) -> Option<Vec<usize>> {
    let mut of_var: BTreeMap<Var, BTreeMap<usize, Words>> = BTreeMap::new();
    for (index, var, words) in sets {
        of_var.entry(var).or_default().insert(index, words);
    }
    let common =
        |sets: &BTreeMap<usize, Words>, of: &[usize]| of.iter().map(|index| sets[index]).reduce(Words::and).is_some_and(Words::is_empty);
    let (sets, all) = of_var.values().map(|sets| (sets, sets.keys().copied().collect::<Vec<_>>())).find(|(sets, all)| common(sets, all))?;
    Some(needed(all, |rest| common(sets, rest)))
}

/// Leaves out every claim without which the rest still contradicts itself.
fn needed(mut claims: Vec<usize>, contradict: impl Fn(&[usize]) -> bool) -> Vec<usize> {
    let mut at = 0;
    while at < claims.len() {
        let left_out = claims.remove(at);
        if !contradict(&claims) {
            claims.insert(at, left_out);
            at += 1;
        }
    }
    claims
}
