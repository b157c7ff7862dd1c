//! Ranges: all that a list of claims leaves of one variable, and which claims put its edges there.

use crate::ratio::{Digits, Ratio};
use crate::states::{States, functions, vocabulary};
use crate::unproven::Unproven;
use crate::zone::{Node, Zone, groups};
use settings_model::claim::{Claim, Limit, ProvenanceId, Term, Var, Words};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};

/// What claims leave of one variable.
#[derive(Clone, Debug, PartialEq)]
pub enum Range {
    /// Numbers.
    Numbers(Interval),
    /// Words.
    Words(Allowed),
    /// Nothing: these lines contradict each other.
    Nothing(Vec<ProvenanceId>),
}

/// Numbers in base units between two edges.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Interval {
    /// The lower edge; `None` without limit.
    pub low: Option<Edge>,
    /// The upper edge; `None` without limit.
    pub high: Option<Edge>,
    /// Unknown facts that further bounds wait for: the interval may be narrower once they are known.
    pub waits_for: Vec<FactId>,
}

/// An edge of an [`Interval`].
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Where it lies, in base units.
    pub at: Exact,
    /// Whether the edge itself is outside.
    pub open: bool,
    /// The lines that together imply it.
    pub by: Vec<ProvenanceId>,
}

/// Words that are left, and the lines that leave them.
#[derive(Clone, Debug, PartialEq)]
pub struct Allowed {
    /// Indexes into the catalogue's list.
    pub words: Words,
    /// The lines that leave others out.
    pub by: Vec<ProvenanceId>,
}

/// The tightest range of one variable while its function is enabled: both edges are reached (or
/// approached, where open) by values that keep every claim, and nothing beyond does.
///
/// Any other function that may be off or absent imposes nothing. Multiples of an unknown fact bind
/// once it is known; until then the interval names it in [`Interval::waits_for`].
///
/// # Errors
/// [`Unproven::TooManyDigits`], [`Unproven::CountDependsOn`].
pub fn range(claims: &[Claim], facts: &Facts, var: Var) -> Result<Range, Unproven> {
    let words = vocabulary(var);
    if !words.is_empty() {
        return Ok(allowed(claims, var, words));
    }
    let states = States::choose(claims, |state| functions(Term::Var(var)).any(|own| own == state));
    let binding = claims.iter().enumerate().filter(|(_, claim)| states.bind(claim));
    let node = Node::Setting(var);
    let Some(mut group) = groups(binding, facts).into_iter().find(|group| group.iter().any(|d| d.is_about(node))) else {
        return Ok(Range::Numbers(Interval::default()));
    };
    let mut waits_for: Vec<FactId> = group.iter().filter_map(|d| d.slope).map(|(fact, _)| fact).collect();
    waits_for.sort_unstable();
    waits_for.dedup();
    group.retain(|demand| demand.slope.is_none());

    let zone = Zone::new(&group)?;
    let weights = zone.weights(Ratio::ZERO)?;
    let lines = |edges: &[usize]| {
        let mut lines: Vec<ProvenanceId> = edges.iter().filter_map(|e| zone.edges[*e].by).map(|index| claims[index].why).collect();
        lines.sort_unstable();
        lines.dedup();
        lines
    };
    if let Some(cycle) = zone.cycle(&weights) {
        return Ok(Range::Nothing(lines(&cycle)));
    }
    let edge = |is_upper: bool| {
        let Some((weight, path)) = zone.nodes.iter().position(|n| *n == node).and_then(|n| zone.bound(&weights, n, is_upper)) else {
            return Ok(None);
        };
        let at = Digits::from_units(if is_upper { weight.at } else { -weight.at }, zone.decimals).exact()?;
        Ok(Some(Edge { at, open: weight.is_open(), by: lines(&path) }))
    };
    Ok(Range::Numbers(Interval { low: edge(false)?, high: edge(true)?, waits_for }))
}

fn allowed(claims: &[Claim], var: Var, vocabulary: Words) -> Range {
    let (mut words, mut by) = (vocabulary, Vec::new());
    for claim in claims.iter().filter(|claim| claim.on == Term::Var(var)) {
        if let Limit::OneOf(of) = claim.limit
            && vocabulary.and(of) != vocabulary
        {
            words = words.and(of);
            by.push(claim.why);
        }
    }
    if words.is_empty() { Range::Nothing(by) } else { Range::Words(Allowed { words, by }) }
}
