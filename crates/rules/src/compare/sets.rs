//! What complies with one list of claims against what complies with another.

use crate::escape::{Proof, escape};
use crate::satisfy::satisfy;
use crate::states::functions;
use crate::unproven::Unproven;
use crate::witness::Witness;
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Term};
use settings_model::facts::Facts;

/// How two sets of values lie to one another. The examples are whole: values, and the facts of the
/// site where it needs any.
#[derive(Clone, Debug, PartialEq)]
pub enum Relation {
    /// The same values comply.
    Same,
    /// All that complied still does; this complies besides.
    Wider(Box<Witness>),
    /// Nothing new complies; this no longer does.
    Narrower(Box<Witness>),
    /// Some that complied no longer does, and some complies that did not.
    Moved {
        /// Complied, and no longer does.
        lost: Box<Witness>,
        /// Complies, and did not.
        gained: Box<Witness>,
        /// Whether nothing that complied still does.
        apart: bool,
    },
    /// Nothing was asked before.
    Added,
    /// Nothing is asked any more.
    Removed,
    /// It could not be shown.
    Unproven(Unproven),
}

impl Relation {
    /// The word for it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Wider(_) => "wider",
            Self::Narrower(_) => "narrower",
            Self::Moved { .. } => "moved",
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Unproven(_) => "not proven",
        }
    }

    /// Whether something that complied may comply no longer.
    #[must_use]
    pub fn may_strand(&self) -> bool {
        matches!(self, Self::Narrower(_) | Self::Moved { .. } | Self::Added | Self::Unproven(_))
    }
}

/// Compares two lists of claims on one setting; how a value has to be known is not looked at.
/// `space` is what holds of every device ([`settings_model::ties::space`]).
#[must_use]
pub fn relation(old: &[Claim], new: &[Claim], space: &[Claim], facts: &Facts) -> Relation {
    let (old, new) = (of_values(old), of_values(new));
    match (old.is_empty(), new.is_empty()) {
        (true, true) => return Relation::Same,
        (true, false) => return Relation::Added,
        (false, true) => return Relation::Removed,
        (false, false) => {}
    }
    if alike(&old, &new) {
        return Relation::Same;
    }
    let (lost, gained) = (beyond(&old, &new, space, facts), beyond(&new, &old, space, facts));
    match (lost, gained) {
        (Err(why), _) | (_, Err(why)) => Relation::Unproven(why),
        (Ok(None), Ok(None)) => Relation::Same,
        (Ok(None), Ok(Some(gained))) => Relation::Wider(gained),
        (Ok(Some(lost)), Ok(None)) => Relation::Narrower(lost),
        (Ok(Some(lost)), Ok(Some(gained))) => {
            let enabled: Vec<SettingId> = new.first().map(|claim| functions(claim.on).collect()).unwrap_or_default();
            let both: Vec<Claim> = old.iter().chain(&new).chain(space).cloned().collect();
            Relation::Moved { lost, gained, apart: satisfy(&both, facts, &enabled) == Ok(None) }
        }
    }
}

/// Something that keeps the one list and not the other.
pub(crate) fn beyond(one: &[Claim], other: &[Claim], space: &[Claim], facts: &Facts) -> Result<Option<Box<Witness>>, Unproven> {
    let mut open = None;
    for claim in other {
        match escape(one, claim, space, facts) {
            Proof::Implied => {}
            Proof::Escapes(witness) => return Ok(Some(witness)),
            Proof::Unproven(why) => open = Some(why),
        }
    }
    open.map_or(Ok(None), Err)
}

/// Whether both make the same demands, whoever makes them. Two gaps are alike, though what they hide
/// may not be.
#[must_use]
pub fn alike(one: &[Claim], other: &[Claim]) -> bool {
    let same = |a: &Claim, b: &Claim| a.on == b.on && a.limit == b.limit;
    let within = |one: &[Claim], other: &[Claim]| one.iter().all(|claim| other.iter().any(|o| same(claim, o)));
    within(one, other) && within(other, one)
}

fn of_values(claims: &[Claim]) -> Vec<Claim> {
    claims.iter().filter(|claim| !claim.is_about_evidence()).cloned().collect()
}

/// The kinds of evidence that are asked for, of each term.
#[must_use]
pub fn evidence(claims: &[Claim]) -> Vec<(Term, settings_model::claim::Words)> {
    claims.iter().filter_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some((claim.on, kinds)) } else { None }).collect()
}
