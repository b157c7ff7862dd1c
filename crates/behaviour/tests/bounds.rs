//! The bounds of means against courses of voltage that are drawn: whatever voltage did within a row, the mean of the
//! response lies inside both.

use behaviour::curve::Curve;
use proptest::prelude::*;

/// A curve of one to six points, with steps among them.
fn curve() -> impl Strategy<Value = Curve> {
    let point = (200.0..270.0f64, -100.0..100.0f64);
    prop::collection::vec(point, 1..6).prop_map(|mut points| {
        points.sort_by(|one, other| one.0.total_cmp(&other.0));
        Curve::new(points.into_iter().map(|(x, y)| [x, y]).collect())
    })
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    values.sum::<f64>() / count
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn a_mean_lies_inside_the_hull_and_the_kink_bound(curve in curve(), course in prop::collection::vec(195.0..275.0f64, 1..60)) {
        let (volts, level) = (mean(course.iter().copied()), mean(course.iter().map(|volts| curve.at(*volts))));
        let low = course.iter().copied().fold(f64::INFINITY, f64::min);
        let high = course.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let spread = mean(course.iter().map(|value| (value - volts).powi(2))).sqrt();
        for [least, most] in [curve.mean_between(volts, low, high), curve.mean_with_spread(volts, volts, spread)] {
            prop_assert!(least - 1e-6 <= level && level <= most + 1e-6, "{least} {level} {most}");
        }
        // what the mean may have been only widens it
        let [least, most] = curve.mean_with_spread(volts - 0.7, volts + 0.7, spread);
        prop_assert!(least - 1e-6 <= level && level <= most + 1e-6);
    }

    /// The hull is no wider than it has to be: two courses that stay within the same voltages reach its ends.
    #[test]
    fn both_ends_of_the_hull_can_occur(low in 236.0..244.0f64, wide in 0.5..12.0f64, share in 0.0..1.0f64) {
        let curve = Curve::new(vec![[207.0, 44.0], [220.0, 0.0], [240.0, 0.0], [258.0, -60.0]]);
        let (high, volts) = (low + wide, low + wide * share);
        let [least, most] = curve.mean_between(volts, low, high);
        // between two voltages only, for such parts of the time that the mean comes out
        let two = |a: f64, b: f64| {
            let part = if b > a { (volts - a) / (b - a) } else { 0.0 };
            (1.0 - part) * curve.at(a) + part * curve.at(b)
        };
        let grid = |n: usize| low + wide * n as f64 / 400.0;
        let pairs = (0..=400).flat_map(|a| (a..=400).map(move |b| (grid(a), grid(b)))).filter(|(a, b)| *a <= volts && volts <= *b);
        let levels: Vec<f64> = pairs.map(|(a, b)| two(a, b)).collect();
        let reached = |by: fn(f64, f64) -> f64, from: f64| levels.iter().copied().fold(from, by);
        prop_assert!(reached(f64::min, f64::INFINITY) < least + 0.12, "{least}");
        prop_assert!(reached(f64::max, f64::NEG_INFINITY) > most - 0.12, "{most}");
    }
}
