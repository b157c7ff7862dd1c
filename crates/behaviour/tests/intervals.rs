//! Exact intervals of shares, by another implementation.

use behaviour::interval::clopper_pearson;

/// By scipy 1.17.1, `scipy.stats.binomtest(hits, of).proportion_ci(0.95, method="exact")`.
#[test]
fn intervals_are_those_of_scipy() {
    for (hits, of, low, high) in WANTED {
        let [found_low, found_high] = clopper_pearson(hits, of);
        assert!((found_low - low).abs() < 1e-9 && (found_high - high).abs() < 1e-9, "{hits} of {of}: {found_low} to {found_high}");
    }
    assert_eq!(clopper_pearson(0, 0), [0.0, 1.0]);
}

const WANTED: [(u64, u64, f64, f64); 8] = [
    (0, 20, 0.0, 0.168_433_470_983_085_48),
    (1, 20, 0.001_265_089_497_956_033_9, 0.248_732_762_772_027_72),
    (20, 20, 0.831_566_529_016_914_5, 1.0),
    (7, 31, 0.095_942_168_345_775_36, 0.410_963_866_137_877_1),
    (412, 812, 0.472_413_011_381_656_5, 0.542_311_494_262_869_7),
    (3, 5_000, 0.000_123_751_520_456_009_87, 0.001_752_443_603_503_819_6),
    (4_999, 5_000, 0.998_886_180_619_666, 0.999_994_936_451_233_8),
    (25_000, 100_000, 0.247_318_489_140_992_5, 0.252_696_017_928_565_8),
];
