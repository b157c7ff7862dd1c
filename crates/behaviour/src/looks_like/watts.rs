//! What a cap on active power looks like, by the upper edge of what was given at each volt.

use super::{Candidate, Evidence, Looks, Terms, different, told};
use crate::counters::{Day, Histogram, Millis};
use crate::deciding::edge::upper_edge;
use std::collections::BTreeMap;

/// What the days' upper edges of power look like; `None` where the log tells no candidate from another.
///
/// A cap shows where more could be given: a candidate is expected to give what it caps, and no more than the day's
/// upper edge at voltages where none of them caps.
#[must_use]
pub fn watts<N: Clone>(days: &BTreeMap<i32, Day>, candidates: &[Candidate<N>], terms: Terms<'_>) -> Option<Looks<N>> {
    let candidates = different(candidates);
    let mut evidence = Vec::new();
    for (day, counted) in days {
        let edges = edges(&counted.watts_by_volts);
        let caps = |candidate: &Candidate<N>, volt: f64| candidate.curve.at(volt + 0.5) / terms.rated;
        let is_free = |volt: i32| candidates.iter().all(|candidate| caps(candidate, f64::from(volt) + terms.half) >= 1.0);
        let free = edges.iter().filter(|(volt, _)| is_free(**volt)).map(|(_, (edge, _))| *edge).fold(f64::NEG_INFINITY, f64::max);
        for (volt, (edge, lasted)) in edges.iter().filter(|_| free.is_finite()) {
            let volt = f64::from(*volt);
            let expected = |candidate: &&Candidate<N>, shift: f64| caps(candidate, volt + shift).min(free);
            let nearest = |candidate: &&Candidate<N>| {
                let all = terms.shifts.iter().map(|shift| expected(candidate, *shift));
                all.min_by(|one, other| (one - edge).abs().total_cmp(&(other - edge).abs())).unwrap_or(free)
            };
            let margin = terms.margin / terms.rated;
            let levels: Vec<f64> = candidates.iter().map(|candidate| expected(candidate, 0.0)).collect();
            let apart = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max) - levels.iter().copied().fold(f64::INFINITY, f64::min);
            if apart <= 2.0 * margin {
                continue;
            }
            let away: Vec<f64> = candidates.iter().map(|candidate| (nearest(candidate) - edge).abs()).collect();
            let outside = away.iter().map(|away| *away > margin).collect();
            evidence.push(Evidence { day: *day, lasted: *lasted, away, outside });
        }
    }
    told(&candidates, &evidence)
}

/// The upper edge of power at each volt, and how long it was visited.
fn edges(watts: &Histogram) -> BTreeMap<i32, (f64, Millis)> {
    let mut volts: BTreeMap<i32, Vec<(f64, Millis)>> = BTreeMap::new();
    for (at, share, lasted) in watts.cells() {
        volts.entry(at.floor() as i32).or_default().push((share, lasted));
    }
    let lasted = |cells: &[(f64, Millis)]| cells.iter().map(|(_, lasted)| lasted).sum();
    volts.iter().filter_map(|(volt, cells)| Some((*volt, (upper_edge(cells)?, lasted(cells))))).collect()
}
