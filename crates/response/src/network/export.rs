//! An export limit counts what leaves the site, so several inverters under it share what it leaves.
//!
//! How devices share among themselves is their makers' affair and not known; here each that holds a
//! limit is held to the same share of its rating or of what is available, and the least limit counts.

use crate::supply::{NoPoint, narrowed};
use std::cell::RefCell;

/// How inverters share what an export limit leaves.
pub struct Shares<'l> {
    limits: &'l [Option<f64>],
    most: f64,
}

impl<'l> Shares<'l> {
    /// By the limits that the inverters hold and what the site uses itself, in watts.
    pub fn new(limits: &'l [Option<f64>], load: f64) -> Self {
        let least = limits.iter().flatten().copied().fold(f64::INFINITY, f64::min);
        Self { limits, most: (least + load).max(0.0) }
    }

    /// The share of each inverter: those without a limit are free.
    pub fn of_each(&self, share: f64) -> Vec<f64> {
        self.limits.iter().map(|limit| if limit.is_some() { share } else { 1.0 }).collect()
    }

    /// The greatest share that keeps the limit, by what all give together at a share; cable losses are
    /// left to the site. A share at which nothing settles passes the limit: there is more than the cables
    /// carry.
    ///
    /// # Errors
    /// Where nothing settles at less than the limit leaves.
    pub fn found(&self, given: &dyn Fn(f64) -> Result<f64, NoPoint>) -> Result<f64, NoPoint> {
        // below what anybody could measure, in watts
        let nought = self.most * 1e-9;
        let no_point = RefCell::new(None);
        let beyond = |share: f64| match given(share) {
            Ok(given) => given - self.most,
            Err(no) => {
                no_point.replace(Some(no));
                f64::INFINITY
            }
        };
        let (at_all, at_none) = (beyond(1.0), beyond(0.0));
        if at_all <= 0.0 {
            return Ok(1.0);
        }
        if at_none >= 0.0 {
            // what is free passes the limit by itself
            return if at_none.is_finite() { Ok(0.0) } else { Err(no_point.take().unwrap_or(NoPoint::NotFound)) };
        }
        let [kept, passed] = narrowed([0.0, 1.0], nought, &beyond);
        if beyond(kept) >= -self.most * MET {
            return Ok(kept);
        }
        // what leaves jumps past the limit there: a curve steps, or another resting point is met
        let edges: Vec<f64> = (0..=SLICES).map(|n| beyond(n as f64 / SLICES as f64)).collect();
        let met = (0..SLICES).rev().filter(|n| edges[*n] < 0.0 && edges[n + 1] > 0.0 && edges[n + 1].is_finite());
        let met = met.map(|n| narrowed([n, n + 1].map(|n| n as f64 / SLICES as f64), nought, &beyond)[0]);
        match met.into_iter().find(|share| beyond(*share) >= -self.most * MET) {
            Some(share) => Ok(share),
            None if beyond(passed).is_infinite() => Err(no_point.take().unwrap_or(NoPoint::NotFound)),
            None => Err(NoPoint::NotFound),
        }
    }
}

/// How near to a limit what leaves has to come, as a share of it, to rest there.
const MET: f64 = 1e-7;
/// Into how many slices shares are cut, where the first place that was found is a jump.
const SLICES: usize = 32;

#[cfg(test)]
mod tests {
    use super::Shares;
    use crate::supply::NoPoint;

    /// Two steps: at a quarter what leaves falls by 800 W, at a half it rises by 300 W.
    fn given(share: f64) -> Result<f64, NoPoint> {
        Ok(match share {
            s if s < 0.25 => 4000.0 * s,
            s if s < 0.5 => 4000.0 * s - 800.0,
            s => 3000.0 * s,
        })
    }

    #[test]
    fn a_limit_that_is_jumped_over_has_no_resting_point() {
        for (limit, share) in [(1100.0, 0.475), (150.0, 0.0375), (2400.0, 0.8)] {
            let found = Shares::new(&[Some(limit), Some(limit)], 0.0).found(&given).unwrap();
            assert!((found - share).abs() < 1e-6, "{limit}: {found}");
        }
        for limit in [1250.0, 1450.0] {
            let found = Shares::new(&[Some(limit), Some(limit)], 0.0).found(&given);
            assert!(matches!(found, Err(NoPoint::NotFound)), "{limit}: {found:?}");
        }
    }
}
