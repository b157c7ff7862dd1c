//! A mean over a sliding window, weighted by time and exact: voltages count in tenths of a millivolt,
//! times in microseconds, so that the sum never drifts however long the log is.

use super::Micros;
use std::collections::VecDeque;

/// Tenths of a millivolt in a volt: finer than any log.
const SCALE: f64 = 1e4;

/// 500 kV: no sum of ten minutes overflows below it, and nothing that is logged lies above.
const HIGHEST: i64 = 5_000_000_000;

/// The means of three phases over one window.
#[derive(Clone, Debug)]
pub(super) struct RollingMean {
    window: Micros,
    /// Values that reach into the window: since when each holds, and its phases.
    held: VecDeque<(Micros, [i64; 3])>,
    /// Sums of voltage times time over what the window covers up to `until`.
    sums: [i64; 3],
    /// Up to when the last value was counted.
    until: Micros,
    /// From when on each phase has been whole.
    since: [Option<Micros>; 3],
}

/// A voltage in whole units, to the nearest; what is missing counts as nothing while its phase is unknown.
#[inline]
fn scaled(voltage: f64) -> i64 {
    let units = voltage * SCALE;
    // the conversion cuts off, and makes 0 of what is not a number
    ((units + 0.5f64.copysign(units)) as i64).clamp(-HIGHEST, HIGHEST)
}

/// A stretch in which every sum is straight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub from: Micros,
    pub to: Micros,
    pub before: [i64; 3],
    pub after: [i64; 3],
}

impl RollingMean {
    pub(super) fn new(window: Micros) -> Self {
        Self { window, held: VecDeque::new(), sums: [0; 3], until: 0, since: [None; 3] }
    }

    /// Forgets everything: what came before a gap is not known any more.
    pub(super) fn forget(&mut self) {
        *self = Self::new(self.window);
    }

    /// Takes it that this voltage had been held for a whole window before.
    pub(super) fn assume(&mut self, at: Micros, voltage: f64) {
        self.push(at - self.window, [voltage; 3], |_| {});
    }

    /// The last value held until now; this one holds from now on. Tells of each straight stretch of
    /// the sums on the way. A phase without a value is not whole again until a window later.
    pub(super) fn push(&mut self, at: Micros, voltage: [f64; 3], mut told: impl FnMut(Stretch)) {
        match self.held.is_empty() {
            true => self.until = at,
            false => self.advance(at, &mut told),
        }
        for (since, v) in self.since.iter_mut().zip(voltage) {
            *since = if v.is_nan() { None } else { since.or(Some(at)) };
        }
        let [one, two, three] = voltage;
        let scaled = [scaled(one), scaled(two), scaled(three)];
        // one that goes on as before needs no place of its own
        if self.held.back().is_none_or(|(_, last)| *last != scaled) {
            self.held.push_back((at, scaled));
        }
    }

    fn advance(&mut self, at: Micros, told: &mut impl FnMut(Stretch)) {
        let Some((_, entering)) = self.held.back().copied() else { return };
        while self.until < at {
            let (from, before) = (self.until, self.sums);
            let (front_from, front) = self.held[0];
            // nothing leaves before the first value is a window old
            let is_leaving = from >= front_from + self.window;
            let turns =
                if is_leaving { self.held.get(1).map_or(Micros::MAX, |(next, _)| next + self.window) } else { front_from + self.window };
            let to = at.min(turns);
            let lasted = to - from;
            for phase in 0..3 {
                let left = if is_leaving { front[phase] } else { 0 };
                self.sums[phase] = self.sums[phase].saturating_add((entering[phase] - left).saturating_mul(lasted));
            }
            if is_leaving && to == turns {
                self.held.pop_front();
            }
            self.until = to;
            told(Stretch { from, to, before, after: self.sums });
        }
    }

    /// No sum is higher than this at any moment until then, where no phase is higher than this.
    pub(super) fn highest_until(&self, until: Micros, voltage: [f64; 3]) -> [i64; 3] {
        let lasts = until - self.until;
        let leaving = self.held.iter().take_while(|(from, _)| *from + self.window < until);
        let lowest = leaving.fold([HIGHEST; 3], |low, (_, held)| std::array::from_fn(|phase| low[phase].min(held[phase])));
        // where nothing leaves yet, nothing is taken off
        let is_leaving = self.held.front().is_some_and(|(from, _)| *from + self.window <= self.until);
        std::array::from_fn(|phase| {
            let off = if is_leaving { lowest[phase] } else { lowest[phase].min(0) };
            let gains = scaled(voltage[phase]).saturating_sub(off).max(0);
            self.sums[phase].saturating_add(gains.saturating_mul(lasts))
        })
    }

    /// Whether it is full, all of it at this value.
    pub(super) fn is_settled_at(&self, at: Micros, voltage: [f64; 3]) -> bool {
        let is_full = self.since.iter().zip(voltage).all(|(since, v)| v.is_nan() || since.is_some_and(|since| since + self.window <= at));
        let is_same = |(from, held): &(Micros, [i64; 3])| *from + self.window <= self.until && *held == voltage.map(scaled);
        self.held.len() == 1 && is_full && self.held.front().is_some_and(is_same)
    }

    /// From when on each phase has been whole; its mean is known a whole window later.
    pub(super) fn since(&self) -> [Option<Micros>; 3] {
        self.since
    }

    pub(super) fn window(&self) -> Micros {
        self.window
    }

    /// A threshold in the units of the sums.
    pub(super) fn limit(&self, threshold: f64) -> i64 {
        ((threshold * SCALE).round() as i64).saturating_mul(self.window)
    }

    /// The highest mean at the moment of the last value; `None` until a window is full.
    #[cfg(test)]
    fn highest(&self) -> Option<f64> {
        self.highest_sum().map(|sum| self.mean_of(sum))
    }

    /// The same as a sum.
    pub(super) fn highest_sum(&self) -> Option<i64> {
        let mut highest = None;
        for phase in 0..3 {
            if self.since[phase].is_some_and(|since| since + self.window <= self.until) {
                highest = highest.max(Some(self.sums[phase]));
            }
        }
        highest
    }

    /// The mean of a sum, in volts.
    pub(super) fn mean_of(&self, sum: i64) -> f64 {
        sum as f64 / (self.window as f64 * SCALE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TEN_MINUTES: Micros = 600_000_000;

    fn push(mean: &mut RollingMean, at: Micros, voltage: f64) {
        mean.push(at, [voltage, f64::NAN, f64::NAN], |_| {});
    }

    #[test]
    fn it_is_weighted_by_time_and_undecided_until_the_window_is_full() {
        let mut mean = RollingMean::new(TEN_MINUTES);
        push(&mut mean, 0, 250.0);
        push(&mut mean, 599_999_999, 260.0);
        assert_eq!(mean.highest(), None);
        push(&mut mean, TEN_MINUTES, 260.0);
        let expected = (250.0 * 599_999_999.0 + 260.0) / 6e8;
        assert!((mean.highest().unwrap() - expected).abs() < 1e-9);
        // five minutes on: half and half, whatever lies before
        push(&mut mean, 900_000_000, 0.0);
        assert!((mean.highest().unwrap() - 255.0).abs() < 1e-6);
    }

    /// A value that is missing does not count as nought volts: its phase waits for a whole window.
    #[test]
    fn a_phase_that_was_missing_is_not_known_for_a_window() {
        let mut mean = RollingMean::new(TEN_MINUTES);
        for second in 0..2000i64 {
            let first = if second == 900 { f64::NAN } else { 260.0 };
            mean.push(second * 1_000_000, [first, 250.0, f64::NAN], |_| {});
            let expected = if (600..900).contains(&second) || second >= 1501 { Some(260.0) } else { Some(250.0) };
            assert_eq!(mean.highest(), expected.filter(|_| second >= 600), "{second}");
        }
    }

    /// A flat line exactly at the threshold is not above it, however long it lasts.
    #[test]
    fn a_sum_does_not_drift() {
        let mut mean = RollingMean::new(TEN_MINUTES);
        for second in 0..200_000i64 {
            let wobble = if second % 2 == 0 { 257.9 } else { 258.1 };
            mean.push(second * 1_000_000, [258.0, wobble, f64::NAN], |_| {});
            if second >= 600 && second % 2 == 0 {
                assert_eq!(mean.sums[..2], [mean.limit(258.0); 2], "{second}");
            }
        }
    }

    proptest! {
        /// Against the plain definition: the integral of what was held, over the last window.
        #[test]
        fn it_is_the_integral_over_the_window(steps in prop::collection::vec((1i64..90_000_000, 2000u32..2700), 2..60)) {
            let mut mean = RollingMean::new(TEN_MINUTES);
            let (mut at, mut log) = (0i64, Vec::new());
            for (step, tenths) in steps {
                let voltage = f64::from(tenths) / 10.0;
                push(&mut mean, at, voltage);
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
