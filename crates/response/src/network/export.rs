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
        match beyond(kept) < -nought && beyond(passed).is_infinite() {
            true => Err(no_point.take().unwrap_or(NoPoint::NotFound)),
            false => Ok(kept),
        }
    }
}
