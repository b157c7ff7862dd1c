//! Containment: does something that keeps the old claims break the new one?

use crate::satisfy::satisfy;
use crate::states::{all_evidence, functions, vocabulary};
use crate::unproven::Unproven;
use crate::witness::Witness;
use settings_model::catalogue::SettingId;
use settings_model::claim::{Bound, Claim, Limit, Term};
use settings_model::facts::Facts;

/// What is known of one claim against a list of others.
#[derive(Clone, Debug, PartialEq)]
pub enum Proof {
    /// Whatever keeps the old claims keeps the new one.
    Implied,
    /// This keeps the old claims and breaks the new one.
    Escapes(Box<Witness>),
    /// Neither could be shown.
    Unproven(Unproven),
}

/// Looks for an example that keeps all of `old`, and what holds of every device and site
/// (`space`), and breaks `new`. Facts that are unknown are part of the search.
///
/// The functions that `new` is about are taken to be enabled: where `old` forbids that, `new` is
/// implied. Any other function that `old` lets be off or absent imposes nothing.
#[must_use]
pub fn escape(old: &[Claim], new: &Claim, space: &[Claim], facts: &Facts) -> Proof {
    if new.limit == Limit::NotSeen {
        return Proof::Unproven(Unproven::NotSeen);
    }
    let Some(breaches) = breaches(new) else {
        return Proof::Unproven(Unproven::NoMeaning);
    };
    if old.iter().chain(space).any(|claim| claim.on == new.on && claim.limit == new.limit) {
        return Proof::Implied;
    }
    let enabled: Vec<SettingId> = functions(new.on).collect();
    let mut claims: Vec<Claim> = old.iter().chain(space).copied().collect();
    let mut open = None;
    for breach in breaches {
        claims.push(breach);
        match satisfy(&claims, facts, &enabled) {
            Ok(None) => {}
            Ok(Some(_)) if old.iter().any(|claim| is_unseen_demand_on(claim, new.on)) => open = Some(Unproven::NotSeen),
            Ok(Some(witness)) => return Proof::Escapes(Box::new(witness)),
            Err(why) => open = Some(why),
        }
        claims.pop();
    }
    open.map_or(Proof::Implied, Proof::Unproven)
}

/// A gap stands on the whole setting, the new claim perhaps on one point of its curve.
fn is_unseen_demand_on(claim: &Claim, on: Term) -> bool {
    claim.limit == Limit::NotSeen && claim.on.vars().any(|unseen| on.vars().any(|var| var.setting == unseen.setting))
}

/// The ways to break a claim; `None` if the claim has no meaning.
fn breaches(claim: &Claim) -> Option<Vec<Claim>> {
    let beyond = |bound: Bound| Bound { open: !bound.open, ..bound };
    let breach = |limit| Claim { limit, ..*claim };
    Some(match (claim.limit, claim.on) {
        (Limit::AtLeast(bound), _) => vec![breach(Limit::AtMost(beyond(bound)))],
        (Limit::AtMost(bound), _) => vec![breach(Limit::AtLeast(beyond(bound)))],
        (Limit::OneOf(words), Term::Var(var)) => vec![breach(Limit::OneOf(vocabulary(var).without(words)))],
        (Limit::Stated(kinds), on) => {
            let otherwise = Limit::Stated(all_evidence().without(kinds));
            on.vars().map(|var| Claim { on: Term::Var(var), limit: otherwise, ..*claim }).collect()
        }
        (Limit::OneOf(_), Term::Gap(..)) | (Limit::NotSeen, _) => return None,
    })
}
