//! What a device that departs looks like: of curves that it may act by instead, the one that explains what was counted.
//!
//! None gains by freedom: each is tried under the same errors of voltage. One is named only where it fits and no other
//! does, where the next best lies clearly farther off, and where it stays so whichever days had been logged.

mod resampling;
mod vars;
mod watts;

pub use vars::vars;
pub use watts::watts;

use crate::counters::Millis;
use crate::curve::Curve;
use crate::function::To;
use crate::thresholds::{CLEARLY_WORSE, CLEARLY_WORSE_BY, STRAY_OF_LIKENESS};

/// A curve that a device may act by, in vars or watts.
#[derive(Clone, Debug)]
pub struct Candidate<N> {
    /// Whose it is.
    pub name: N,
    /// The curve.
    pub curve: Curve,
    /// What it answers to.
    pub to: To,
}

/// What is known of the log.
#[derive(Clone, Copy, Debug)]
pub struct Terms<'a> {
    /// Rated apparent power, in volt-amperes.
    pub rated: f64,
    /// How far beside its curve a device may be read, in vars or watts.
    pub margin: f64,
    /// The errors of voltage that are tried, in volts, each within `half`.
    pub shifts: &'a [f64],
    /// Half of what lies between two of them, in volts.
    pub half: f64,
    /// Standard deviation of voltage within a row, in volts; 0 of moments.
    pub spread: f64,
}

/// What it looks like.
#[derive(Clone, Debug, PartialEq)]
pub enum Looks<N> {
    /// Like one of them.
    Like(Likeness<N>),
    /// Several fit alike: this log does not tell them apart. The best first.
    NotToldApart(Vec<N>),
    /// None of them fits.
    NoneKnown,
}

/// How well one fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Likeness<N> {
    /// Whose curve.
    pub name: N,
    /// How far the device lay from it, in the middle, as a share of rated apparent power.
    pub misfit: f64,
    /// The share of time outside its band.
    pub outside: f64,
    /// The next best, and how far the device lay from that.
    pub next: Option<(N, f64)>,
}

/// What was measured for some time, against each candidate.
struct Evidence {
    day: i32,
    lasted: Millis,
    /// How far from each, as a share of rated apparent power.
    away: Vec<f64>,
    /// Whether outside of its band.
    outside: Vec<bool>,
}

/// How one candidate fares.
struct Fares {
    place: usize,
    misfit: f64,
    outside: f64,
}

impl Fares {
    fn fits(&self) -> bool {
        self.outside <= STRAY_OF_LIKENESS
    }

    /// Whether another is worse by so much that nobody could take one for the other.
    fn is_clear_of(&self, other: &Self) -> bool {
        other.misfit >= CLEARLY_WORSE * self.misfit && other.misfit - self.misfit >= CLEARLY_WORSE_BY
    }
}

/// Each curve once: of two that are alike the first.
fn different<N: Clone>(candidates: &[Candidate<N>]) -> Vec<&Candidate<N>> {
    let mut kept: Vec<&Candidate<N>> = Vec::new();
    for one in candidates {
        if !kept.iter().any(|other| other.to == one.to && other.curve == one.curve) {
            kept.push(one);
        }
    }
    kept
}

/// What the evidence says; `None` where it tells no candidate from another.
fn told<N: Clone>(candidates: &[&Candidate<N>], evidence: &[Evidence]) -> Option<Looks<N>> {
    let total: Millis = evidence.iter().map(|one| one.lasted).sum();
    if total == 0 {
        return None;
    }
    let weights: Vec<f64> = evidence.iter().map(|one| one.lasted as f64).collect();
    let orders: Vec<Vec<usize>> = (0..candidates.len()).map(|place| order(evidence, place)).collect();
    let mut fares: Vec<Fares> = (0..candidates.len())
        .map(|place| {
            let outside: Millis = evidence.iter().filter(|one| one.outside[place]).map(|one| one.lasted).sum();
            Fares { place, misfit: median(evidence, &orders[place], place, &weights), outside: outside as f64 / total as f64 }
        })
        .collect();
    fares.sort_by(|one, other| one.misfit.total_cmp(&other.misfit));
    let name = |fares: &Fares| candidates[fares.place].name.clone();
    let best = fares.first().filter(|best| best.fits());
    let Some(best) = best else {
        // the nearest may stray where another that is hardly farther does not
        let fitting: Vec<N> = fares.iter().filter(|one| one.fits()).map(name).collect();
        return Some(if fitting.is_empty() { Looks::NoneKnown } else { Looks::NotToldApart(fitting) });
    };
    let next = fares.get(1);
    let is_clear = next.is_none_or(|next| best.is_clear_of(next)) && fares[1..].iter().all(|other| !other.fits());
    let stays = || {
        resampling::each(evidence, |weights| {
            let misfit = |place: usize| median(evidence, &orders[place], place, weights);
            let own = misfit(best.place);
            fares[1..].iter().all(|other| own <= misfit(other.place))
        })
    };
    if is_clear && stays() {
        let next = next.map(|next| (name(next), next.misfit));
        return Some(Looks::Like(Likeness { name: name(best), misfit: best.misfit, outside: best.outside, next }));
    }
    let close = fares[1..].iter().filter(|other| other.fits() || !best.is_clear_of(other));
    Some(Looks::NotToldApart(std::iter::once(best).chain(close).map(name).collect()))
}

/// The evidence by how far it lies from a candidate.
fn order(evidence: &[Evidence], place: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..evidence.len()).collect();
    order.sort_by(|one, other| evidence[*one].away[place].total_cmp(&evidence[*other].away[place]));
    order
}

/// The middle of how far it lies, by weight.
fn median(evidence: &[Evidence], order: &[usize], place: usize, weights: &[f64]) -> f64 {
    let half = weights.iter().sum::<f64>() / 2.0;
    let mut sum = 0.0;
    let middle = order.iter().find(|n| {
        sum += weights[**n];
        sum >= half
    });
    middle.map_or(f64::INFINITY, |n| evidence[*n].away[place])
}
