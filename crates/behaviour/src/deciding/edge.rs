//! Whether the upper edge of power falls as a cap does.

use super::Known;
use crate::band::Judge;
use crate::counters::{Histogram, Millis};
use crate::thresholds::{CAP_SPAN, EDGE_BINS, MINUTE, UPPER_EDGE};
use std::collections::BTreeMap;

/// Over which volts it does, and how long the log was there.
pub struct Over {
    pub volts: [f64; 2],
    pub lasted: Millis,
}

/// The least that a volt has to be visited.
const VISITED: Millis = 10 * MINUTE;

/// The stretch of neighbouring volts over which the upper edge of power lies at the cap and falls with it.
pub fn follows_cap(watts_by_volts: &Histogram, judge: &Judge<'_>, known: &Known) -> Option<Over> {
    let mut bins: BTreeMap<i32, Vec<(f64, Millis)>> = BTreeMap::new();
    for (volts, share, lasted) in watts_by_volts.cells() {
        bins.entry(volts.floor() as i32).or_default().push((share, lasted));
    }
    let margin = judge.margin() / known.rated;
    let cap = |volt: i32| judge.rule.curve.at(f64::from(volt) + 0.5) / known.rated;
    let at_cap =
        |volt: &i32, cells: &[(f64, Millis)]| upper_edge(cells).is_some_and(|edge| cap(*volt) < 1.0 && (edge - cap(*volt)).abs() <= margin);
    let mut best: Option<Over> = None;
    let mut run: Vec<(i32, Millis)> = Vec::new();
    for (volt, cells) in &bins {
        if run.last().is_some_and(|(last, _)| *volt != last + 1) || !at_cap(volt, cells) {
            run.clear();
        }
        if at_cap(volt, cells) {
            run.push((*volt, cells.iter().map(|(_, lasted)| lasted).sum()));
        }
        let (Some((first, _)), Some((last, _))) = (run.first(), run.last()) else { continue };
        if run.len() >= EDGE_BINS && cap(*first) - cap(*last) >= CAP_SPAN {
            best = Some(Over { volts: [f64::from(*first), f64::from(*last) + 1.0], lasted: run.iter().map(|(_, lasted)| lasted).sum() });
        }
    }
    best
}

/// The power that all but a tenth of the time lies below; `None` of a volt that was hardly visited.
pub fn upper_edge(cells: &[(f64, Millis)]) -> Option<f64> {
    let total: Millis = cells.iter().map(|(_, lasted)| lasted).sum();
    let mut sorted = cells.to_vec();
    sorted.sort_unstable_by(|one, other| one.0.total_cmp(&other.0));
    let mut below = 0;
    let edge = sorted.iter().find(|(_, lasted)| {
        below += lasted;
        below as f64 >= UPPER_EDGE * total as f64
    });
    edge.map(|(share, _)| *share).filter(|_| total >= VISITED)
}
