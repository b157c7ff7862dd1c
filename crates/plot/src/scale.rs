//! An axis in numbers: from where to where, and which round numbers stand beside it.

/// The range of an axis and its round numbers.
#[derive(Clone, Debug)]
pub struct Scale {
    /// Where it begins.
    pub low: f64,
    /// Where it ends; always above `low`.
    pub high: f64,
    /// Round numbers within it, rising.
    pub numbers: Vec<f64>,
    /// How many decimals the numbers need.
    decimals: usize,
}

/// Air on either side, as a share of the range.
const AIR: f64 = 0.04;

impl Scale {
    /// Around values, with about `count` numbers; around nothing, from 0 to 1.
    pub fn around(values: impl Iterator<Item = f64>, count: usize) -> Self {
        let (low, high) = ends(values);
        let (low, high) = if low > high { (0.0, 1.0) } else { opened(low, high) };
        let step = round_step((high - low) / count.max(1) as f64);
        let air = (high - low) * AIR;
        Self::between((low - air).min((low / step).floor() * step), (high + air).max((high / step).ceil() * step), step)
    }

    /// The same, and on to zero where the values come near it: half a scale misleads the eye.
    pub fn around_with_zero(values: impl Iterator<Item = f64>, count: usize) -> Self {
        let (low, high) = ends(values);
        let (near, far) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
        let zero = (far.is_finite() && near <= 0.5 * far).then_some(0.0);
        Self::around([low, high].into_iter().filter(|end| end.is_finite()).chain(zero), count)
    }

    fn between(low: f64, high: f64, step: f64) -> Self {
        let scale = Self { low, high, numbers: Vec::new(), decimals: decimals(step) };
        let nearly = step * 1e-6; // a number at the very edge belongs to the axis
        let count = |value: f64| value / step;
        let (first, last) = (count(low - nearly).ceil() as i64, count(high + nearly).floor() as i64);
        let numbers = (first..=last).map(|n| (n as f64 * step).max(low).min(high)).collect();
        Self { numbers, ..scale }
    }

    /// The same range in another unit, with its own round numbers; they stay in this scale's unit.
    pub fn in_unit(&self, one_is: f64, count: usize) -> Vec<(f64, String)> {
        if !(one_is.is_finite() && one_is > 0.0) {
            return Vec::new();
        }
        let (low, high) = (self.low / one_is, self.high / one_is);
        let step = round_step((high - low) / count.max(1) as f64);
        let other = Self::between(low, high, step);
        other.numbers.iter().map(|n| ((n * one_is).max(self.low).min(self.high), other.written(*n))).collect()
    }

    /// Where a value stands, 0 at the beginning and 1 at the end.
    pub fn share(&self, value: f64) -> f64 {
        ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }

    /// A number with the axis' decimals.
    pub fn written(&self, number: f64) -> String {
        plain(number, self.decimals)
    }

    /// Whether it goes both ways from zero.
    pub fn crosses_zero(&self) -> bool {
        self.low < 0.0 && self.high > 0.0
    }
}

/// A number with so many decimals, never `-0`.
pub fn plain(number: f64, decimals: usize) -> String {
    let written = format!("{number:.decimals$}");
    let is_zero = written.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if is_zero { written.trim_start_matches('-').to_owned() } else { written }
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}

/// A range that is a point, or nearly, is opened around it.
fn opened(low: f64, high: f64) -> (f64, f64) {
    let size = low.abs().max(high.abs());
    if high - low > size * 1e-9 {
        return (low, high);
    }
    let half = if size == 0.0 { 1.0 } else { size * 0.05 };
    (low - half, high + half)
}

/// The least of 1, 2, 5 × 10ⁿ that is no less.
fn round_step(least: f64) -> f64 {
    let power = 10f64.powi(least.max(1e-300).log10().floor() as i32);
    [1.0, 2.0, 5.0].map(|n| n * power).into_iter().find(|step| *step >= least * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

fn decimals(step: f64) -> usize {
    (-(step * 1.000_001).log10().floor()).clamp(0.0, 15.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(scale: &Scale) -> Vec<String> {
        scale.numbers.iter().map(|n| scale.written(*n)).collect()
    }

    #[test]
    fn numbers_are_round_and_hold_the_values() {
        let volts = Scale::around([207.0, 258.0].into_iter(), 6);
        assert_eq!(written(&volts), ["200", "210", "220", "230", "240", "250", "260"]);
        let hertz = Scale::around([50.25, 52.0].into_iter(), 5);
        assert_eq!(written(&hertz), ["50.0", "50.5", "51.0", "51.5", "52.0"]);
        assert!(hertz.low <= 50.0 && hertz.high > 52.0, "air: {hertz:?}");
        let per_unit: Vec<String> = volts.in_unit(230.0, 6).into_iter().map(|(_, n)| n).collect();
        assert_eq!(per_unit, ["0.90", "0.95", "1.00", "1.05", "1.10"]);
        let tiny = Scale::around([-0.000_003, 0.000_004].into_iter(), 4);
        assert_eq!(written(&tiny), ["-0.000004", "-0.000002", "0.000000", "0.000002", "0.000004"]);
    }

    #[test]
    fn a_point_and_nothing_at_all_have_a_range() {
        for values in [vec![230.0], vec![0.0], vec![-5e-9, -5e-9], vec![1e12, 1e12 + 0.001], vec![]] {
            let scale = Scale::around(values.iter().copied(), 5);
            assert!(scale.low < scale.high && scale.numbers.len() >= 2, "{values:?}: {scale:?}");
            assert!(values.iter().all(|v| scale.low < *v && *v < scale.high), "{values:?}: {scale:?}");
        }
    }

    #[test]
    fn zero_belongs_to_what_comes_near_it() {
        let reaches_zero = |values: &[f64]| Scale::around_with_zero(values.iter().copied(), 5).numbers.contains(&0.0);
        assert!(reaches_zero(&[20.0, 100.0]) && reaches_zero(&[-60.0, -10.0]) && reaches_zero(&[-60.0, 44.0]));
        assert!(!reaches_zero(&[90.0, 100.0]));
    }
}
