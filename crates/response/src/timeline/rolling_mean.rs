//! A mean over a sliding window, weighted by time and exact: voltages count in tenths of a millivolt,
//! times in microseconds, so that the sum never drifts however long the log is.

use super::Micros;
use std::collections::VecDeque;

/// Tenths of a millivolt in a volt: finer than any log.
const SCALE: f64 = 1e4;

/// The means of three phases over one window.
#[derive(Clone, Debug)]
pub(super) struct RollingMean {
    window: Micros,
    /// Samples that reach into the window: when each began to hold, and its phases.
    held: VecDeque<(Micros, [i64; 3])>,
    /// Sums of voltage times time over what the window covers up to `until`.
    sums: [i64; 3],
    /// Up to when the last sample was counted.
    until: Micros,
    /// From when on the log has been whole.
    since: Option<Micros>,
    phases: [bool; 3],
}

impl RollingMean {
    pub(super) fn new(window: Micros) -> Self {
        Self { window, held: VecDeque::new(), sums: [0; 3], until: 0, since: None, phases: [false; 3] }
    }

    /// Forgets everything: what came before a gap is not known any more.
    pub(super) fn forget(&mut self) {
        *self = Self::new(self.window);
    }

    /// Takes it that this voltage had been held for a whole window before.
    pub(super) fn assume(&mut self, at: Micros, voltage: f64) {
        self.push(at - self.window, [voltage; 3]);
    }

    /// The last sample held until now; this one holds from now on.
    pub(super) fn push(&mut self, at: Micros, voltage: [f64; 3]) {
        self.advance(at);
        self.since.get_or_insert(at);
        self.phases = voltage.map(|v| !v.is_nan());
        self.held.push_back((at, voltage.map(|v| if v.is_nan() { 0 } else { (v * SCALE).round() as i64 })));
    }

    fn advance(&mut self, at: Micros) {
        self.sums = self.sums_at(at);
        let begins = at - self.window;
        while self.held.get(1).map_or(at, |(next, _)| *next) <= begins && !self.held.is_empty() {
            self.held.pop_front();
        }
        if let Some((from, _)) = self.held.front_mut() {
            *from = begins.max(*from);
        }
        self.until = at;
    }

    /// The sums at a later moment, with the last sample held on.
    fn sums_at(&self, at: Micros) -> [i64; 3] {
        let (mut sums, begins) = (self.sums, at - self.window);
        if let Some((_, last)) = self.held.back() {
            add(&mut sums, last, at - self.until);
        }
        for (n, (from, voltage)) in self.held.iter().enumerate() {
            let ends = self.held.get(n + 1).map_or(at, |(next, _)| *next);
            let leaves = ends.min(begins) - from;
            if leaves <= 0 {
                break;
            }
            add(&mut sums, voltage, -leaves);
        }
        sums
    }

    /// The highest mean at the moment of the last sample; `None` until the window is full.
    pub(super) fn highest(&self) -> Option<f64> {
        self.full()?;
        let most = self.sums.iter().zip(self.phases).filter(|(_, has)| *has).map(|(sum, _)| *sum).max()?;
        Some(most as f64 / self.window as f64 / SCALE)
    }

    /// Whether the highest mean lies strictly above a threshold; decided in integers.
    pub(super) fn is_above(&self, threshold: f64) -> Option<bool> {
        self.is_above_at(self.until, threshold)
    }

    fn is_above_at(&self, at: Micros, threshold: f64) -> Option<bool> {
        if at - self.since? < self.window {
            return None;
        }
        let limit = (threshold * SCALE).round() as i64 * self.window;
        Some(self.sums_at(at).iter().zip(self.phases).any(|(sum, has)| has && *sum > limit))
    }

    /// When the mean, with the last sample held on, first lies above a threshold, if it does at `until`.
    pub(super) fn passes(&self, threshold: f64, until: Micros) -> Option<Micros> {
        let is_above = |at| self.is_above_at(at, threshold) == Some(true);
        if !is_above(until) {
            return None;
        }
        let (mut low, mut high) = (self.until, until);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if is_above(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }

    fn full(&self) -> Option<()> {
        (self.until - self.since? >= self.window).then_some(())
    }
}

fn add(sums: &mut [i64; 3], voltage: &[i64; 3], lasted: Micros) {
    sums.iter_mut().zip(voltage).for_each(|(sum, v)| *sum += v * lasted);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TEN_MINUTES: Micros = 600_000_000;

    #[test]
    fn it_is_weighted_by_time_and_undecided_until_the_window_is_full() {
        let mut mean = RollingMean::new(TEN_MINUTES);
        mean.push(0, [250.0, f64::NAN, f64::NAN]);
        mean.push(599_999_999, [260.0, f64::NAN, f64::NAN]);
        assert_eq!(mean.highest(), None);
        mean.push(TEN_MINUTES, [260.0, f64::NAN, f64::NAN]);
        let expected = (250.0 * 599_999_999.0 + 260.0) / 6e8;
        assert!((mean.highest().unwrap() - expected).abs() < 1e-9);
        // five minutes on: half and half, whatever lies before
        mean.push(900_000_000, [0.0, f64::NAN, f64::NAN]);
        assert!((mean.highest().unwrap() - 255.0).abs() < 1e-6);
    }

    /// A flat line exactly at the threshold is not above it, however long it lasts.
    #[test]
    fn a_sum_does_not_drift() {
        let mut mean = RollingMean::new(TEN_MINUTES);
        for second in 0..200_000i64 {
            mean.push(second * 1_000_000, [258.0; 3]);
            assert_ne!(mean.is_above(258.0), Some(true), "{second}");
        }
        assert_eq!(mean.is_above(257.9999), Some(true));
    }

    proptest! {
        /// Against the plain definition: the integral of what was held, over the last window.
        #[test]
        fn it_is_the_integral_over_the_window(steps in prop::collection::vec((1i64..90_000_000, 2000u32..2700), 2..60)) {
            let mut mean = RollingMean::new(TEN_MINUTES);
            let (mut at, mut log) = (0i64, Vec::new());
            for (step, tenths) in steps {
                let voltage = f64::from(tenths) / 10.0;
                mean.push(at, [voltage, f64::NAN, f64::NAN]);
                log.push((at, voltage));
                let begins = at - TEN_MINUTES;
                let held = log.windows(2).map(|pair| {
                    let lasted = pair[1].0.min(at) - pair[0].0.max(begins);
                    pair[0].1 * lasted.max(0) as f64
                });
                let plain = held.sum::<f64>() / TEN_MINUTES as f64;
                match mean.highest() {
                    Some(found) => prop_assert!((found - plain).abs() < 1e-6, "{found} {plain}"),
                    None => prop_assert!(at < TEN_MINUTES),
                }
                at += step;
            }
        }
    }
}
