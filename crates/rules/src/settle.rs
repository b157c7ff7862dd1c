//! Solving a zone while one site fact is unknown.
//!
//! Every cycle of demands is a half-line of the fact, so the values at which nothing contradicts
//! are an interval. Try a value; a contradiction there cuts off everything on its side of the
//! cycle's own breakpoint; try again in what is left.

use crate::natural::{End, Span};
use crate::ratio::{Ratio, plus, ten_to, times};
use crate::sites;
use crate::unproven::Unproven;
use crate::zone::Zone;
use settings_model::facts::{FactId, Possible};
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// A zone's answer.
#[derive(Debug)]
pub(crate) enum Settled {
    /// All demands can be kept where the parameter has this value (zero without a parameter).
    At(Ratio),
    /// They cannot; these claims contradict each other.
    Empty(BTreeSet<usize>),
}

/// One end of the parameter's interval, and the claims that put it there.
struct Cut {
    at: Ratio,
    open: bool,
    by: BTreeSet<usize>,
}

/// Decides whether the zone has a point.
pub(crate) fn settle(zone: &Zone) -> Result<Settled, Unproven> {
    let Some(fact) = zone.parameter else {
        let weights = zone.weights(Ratio::ZERO)?;
        return Ok(zone.cycle(&weights).map_or(Settled::At(Ratio::ZERO), |cycle| Settled::Empty(claims(zone, &cycle))));
    };
    let first = |edge: Possible| Cut { at: Ratio { top: edge.at.into(), bottom: 1 }, open: edge.open, by: BTreeSet::new() };
    let (low, high) = fact.possible();
    let (mut low, mut high) = (low.map(first), high.map(first));
    // Ends: each round cuts off the breakpoint side of one more of finitely many cycles.
    loop {
        let Some(n) = choose(fact, low.as_ref(), high.as_ref())? else {
            return Ok(Settled::Empty(low.into_iter().chain(high).flat_map(|cut| cut.by).collect()));
        };
        let Some(cycle) = zone.cycle(&zone.weights(n)?) else {
            return Ok(Settled::At(n));
        };
        let (mut constant, mut slope, mut open) = (0, 0, false);
        for edge in cycle.iter().map(|e| &zone.edges[*e]) {
            constant = plus(constant, edge.constant)?;
            slope = plus(slope, edge.slope)?;
            open |= edge.open;
        }
        let by = claims(zone, &cycle);
        match slope.cmp(&0) {
            Ordering::Equal => return Ok(Settled::Empty(by)),
            Ordering::Greater => low = Some(Cut { at: Ratio::new(-constant, slope), open, by }),
            Ordering::Less => high = Some(Cut { at: Ratio::new(-constant, slope), open, by }),
        }
    }
}

fn claims(zone: &Zone, cycle: &[usize]) -> BTreeSet<usize> {
    cycle.iter().filter_map(|edge| zone.edges[*edge].by).collect()
}

/// A value between the cuts: of few digits if there is one, else any; `None` if nothing is left.
fn choose(fact: FactId, low: Option<&Cut>, high: Option<&Cut>) -> Result<Option<Ratio>, Unproven> {
    let order = match (low, high) {
        (Some(low), Some(high)) => low.at.compare(high.at)?,
        _ => Ordering::Less,
    };
    let is_point = order == Ordering::Equal && ![low, high].into_iter().flatten().any(|cut| cut.open);
    if order == Ordering::Greater || (order == Ordering::Equal && !is_point) {
        return Ok(None);
    }
    /// The most decimals of a site fact that a person would write.
    const DECIMALS: u32 = 9;
    let unit = ten_to(DECIMALS)?;
    let end = |cut: &Cut| {
        let scaled = times(cut.at.top, unit)?;
        let at = scaled.div_euclid(cut.at.bottom);
        Ok((at, cut.open, at * cut.at.bottom == scaled))
    };
    let low_end = low.map(end).transpose()?.map(|(at, open, exact)| End { at, open: open || !exact });
    let high_end = high.map(end).transpose()?.map(|(at, open, exact)| End { at, open: open && exact });
    let span = Span { low: low_end, high: high_end, decimals: DECIMALS };
    let most = if fact.is_whole() { 0 } else { DECIMALS };
    let short = span.near(times(sites::familiar(fact).into(), unit)?, most)?;
    if let Some(digits) = short {
        return Ratio::of(digits).map(Some);
    }
    Ok(match (low, high) {
        _ if fact.is_whole() => None,
        (Some(low), Some(high)) => Some(low.at.halfway(high.at)?),
        _ => None, // an interval without an end holds short numbers
    })
}
