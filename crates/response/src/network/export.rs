//! An export limit counts what leaves the site, so several inverters under it share what it leaves.
//!
//! How devices share among themselves is their makers' affair and not known; here each that holds a
//! limit is held to the same share of its rating or of what is available, and the least limit counts.

use crate::supply::{NoPoint, Settled};

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

    /// Whether so much may leave; cable losses are left to the site.
    pub fn is_kept(&self, settled: &[Settled]) -> bool {
        settled.iter().map(|settled| settled.point.active).sum::<f64>() <= self.most
    }

    /// The share of each inverter: those without a limit are free.
    pub fn of_each(&self, share: f64) -> Vec<f64> {
        self.limits.iter().map(|limit| if limit.is_some() { share } else { 1.0 }).collect()
    }

    /// The greatest share that keeps the limit.
    pub fn found(&self, settled: &dyn Fn(f64) -> Result<Vec<Settled>, NoPoint>) -> Result<f64, NoPoint> {
        let (mut kept, mut passed) = (0.0, 1.0);
        // 40 halvings leave less than a millionth of a watt of a megawatt
        for _ in 0..40 {
            let middle = f64::midpoint(kept, passed);
            if self.is_kept(&settled(middle)?) { kept = middle } else { passed = middle }
        }
        Ok(kept)
    }
}
