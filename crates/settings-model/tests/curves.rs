//! Curves as functions, against a fine grid, numpy and worked values.

use proptest::prelude::*;
use serde::Deserialize;
use settings_model::curve::{Beside, Reading, largest_deviation, rises_above, same_response, value_at};
use settings_model::exact::Exact;
use std::collections::BTreeMap;

type Curve = Vec<(Exact, Exact)>;

fn number(text: &str) -> Exact {
    Exact::parse(text).unwrap_or_else(|_| panic!("{text}"))
}

/// One that is rounded to nine decimals, which no file could hold.
fn rounded(billionths: i64) -> Exact {
    Exact::new(billionths, 9)
}

fn curve(points: &[(&str, &str)]) -> Curve {
    points.iter().map(|(x, y)| (number(x), number(y))).collect()
}

fn level(points: &[(Exact, Exact)], x: &str) -> Exact {
    match value_at(points, number(x)) {
        Some(Reading::Level(level)) => level,
        other => panic!("at {x}: {other:?}"),
    }
}

#[test]
fn worked_values() {
    // AS/NZS 4777.2:2020, Australia A, points from test scripts for the draft; half-way by plain arithmetic
    let volt_var_a = curve(&[("207", "44"), ("220", "0"), ("240", "0"), ("258", "-60")]);
    for (volts, percent) in [("200", "44"), ("213.5", "22"), ("230", "0"), ("249", "-30"), ("258", "-60"), ("265", "-60")] {
        assert_eq!(level(&volt_var_a, volts), number(percent), "{volts} V");
    }
    // the same, active power: 80 % over 7 V, so half of it at 256.5 V
    let volt_watt_a = curve(&[("253", "100"), ("260", "20")]);
    for (volts, percent) in [("253", "100"), ("256.5", "60"), ("254.75", "80"), ("260", "20"), ("300", "20")] {
        assert_eq!(level(&volt_watt_a, volts), number(percent), "{volts} V");
    }
    // IEEE Std 1547-2018 category B, as EPRI's reference model computes it (tests/outside/ieee-1547-defaults.json)
    let volt_var_b = curve(&[("0.92", "44"), ("0.98", "0"), ("1.02", "0"), ("1.08", "-44")]);
    for (per_unit, percent) in [("0.95", "22"), ("1.05", "-22"), ("1.09", "-44")] {
        assert_eq!(level(&volt_var_b, per_unit), number(percent), "{per_unit} pu");
    }
    // freely chosen points, run through pandapower 3.5.6 `QVCurve` (linear; share of the most reactive power)
    let symmetric = curve(&[("0.93", "1"), ("0.97", "0"), ("1.03", "0"), ("1.07", "-1")]);
    for (per_unit, share) in [("0.95", "0.5"), ("0.96", "0.25"), ("1.04", "-0.25"), ("1.05", "-0.5"), ("1.06", "-0.75"), ("1.08", "-1")] {
        assert_eq!(level(&symmetric, per_unit), number(share), "{per_unit} pu");
    }
    // plain arithmetic: a third cannot be written, so it is rounded to nine decimals
    let asymmetric = curve(&[("0.90", "1"), ("0.96", "0"), ("1.04", "0"), ("1.07", "-1")]);
    for (per_unit, share) in [("0.93", "0.5"), ("1.05", "-0.333333333"), ("1.06", "-0.666666667"), ("1.055", "-0.5")] {
        assert_eq!(level(&asymmetric, per_unit), number(share), "{per_unit} pu");
    }
    // plain arithmetic: 1.09 to 1.13 of 230 V; frequency to power at 50 Hz with droops of 5, 2.6 and 2.4 per cent
    let steep = curve(&[("250.7", "100"), ("259.9", "0")]);
    assert_eq!(level(&steep, "255"), rounded(53_260_869_565));
    for (volts, percent) in [("253", "75"), ("255.3", "50"), ("257.6", "25"), ("259.9", "0")] {
        assert_eq!(level(&steep, volts), number(percent), "{volts} V");
    }
    let droops = [
        (("50.2", "52.7"), vec![("50.25", "98"), ("50.5", "88"), ("50.8", "76"), ("51.15", "62"), ("51.5", "48")]),
        (("50.2", "51.5"), vec![("50.85", "50"), ("51.5", "0"), ("51.6", "0")]),
        (("50.3", "51.5"), vec![("50.9", "50"), ("51.5", "0")]),
    ];
    for ((start, end), values) in droops {
        let droop = curve(&[(start, "100"), (end, "0")]);
        for (hertz, percent) in values {
            assert_eq!(level(&droop, hertz), number(percent), "{hertz} Hz");
        }
    }
    assert_eq!(level(&curve(&[("50.2", "100"), ("51.5", "0")]), "50.8"), rounded(53_846_153_846));
    assert_eq!(level(&curve(&[("50.3", "100"), ("51.5", "0")]), "50.8"), rounded(58_333_333_333));
}

#[test]
fn a_step_has_two_levels_and_a_deviation_beside_it_says_so() {
    let step = curve(&[("240", "100"), ("250", "100"), ("250", "40"), ("250", "20"), ("260", "20")]);
    assert_eq!(value_at(&step, number("250")), Some(Reading::Step { before: number("100"), after: number("20") }));
    assert_eq!(value_at(&step, number("250") + Exact::new(1, 9)), Some(Reading::Level(number("20"))));
    assert_eq!(value_at(&[], number("250")), None);
    let plain = curve(&[("240", "100"), ("260", "20")]);
    let above = largest_deviation(&step, &plain).unwrap();
    assert_eq!((above.at, above.side, above.by), (number("250"), Beside::JustBelow, number("-40")), "the first of two equal ones");
    assert_eq!((above.one, above.other), (number("100"), number("60")));
    let both_step = curve(&[("240", "90"), ("250", "90"), ("250", "10")]);
    assert_eq!(largest_deviation(&both_step, &step).map(|d| (d.at, d.side, d.by)), Some((number("240"), Beside::At, number("10"))));
    let first_point_steps = curve(&[("240", "100"), ("240", "20")]);
    let after = largest_deviation(&curve(&[("240", "100")]), &first_point_steps).unwrap();
    assert_eq!((after.at, after.side, after.by), (number("240"), Beside::JustAbove, number("-80")));
}

/// Four thirds at 2 and again at 4: equal by cross products, so the first of them is the answer.
#[test]
fn equal_sizes_that_no_decimal_can_write_are_equal() {
    let zero = curve(&[("0", "0")]);
    let waves = curve(&[("0", "0"), ("3", "1"), ("6", "0")]);
    let cut = curve(&[("0", "0"), ("2", "0"), ("2", "2"), ("4", "2"), ("4", "0")]);
    let most = largest_deviation(&waves, &cut).unwrap();
    assert_eq!((most.at, most.side, most.by), (number("2"), Beside::JustAbove, rounded(1_333_333_333)));
    assert_eq!(largest_deviation(&zero, &waves).map(|d| (d.at, d.by)), Some((number("3"), number("1"))));
}

#[test]
fn the_longest_numbers_of_a_file_are_compared_without_a_panic() {
    let long = curve(&[("-999999999", "0"), ("0.000000001", "999999999"), ("999999999", "0")]);
    let other = curve(&[("-999999998", "0"), ("0.000000003", "-999999999"), ("999999998", "0")]);
    let most = largest_deviation(&long, &other).unwrap();
    assert_eq!((most.at.rounded(3), most.by.rounded(0)), (Exact::ZERO, -(number("999999999") + number("999999999"))));
    assert!(value_at(&long, number("0.000000002")).is_some());
}

/// Whole numbers on a small field: up to five points, steps among them.
fn any_curve() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::vec((0..6i64, -3..4i64), 1..6).prop_map(|mut points| {
        points.sort_by_key(|(x, _)| *x);
        points
    })
}

/// Numbers of nine digits, with and without decimals: the longest that a file may hold.
fn any_long_curve() -> impl Strategy<Value = Curve> {
    let number =
        || (-999_999_999..=999_999_999i64, prop::sample::select(vec![0, 0, 3, 6, 9])).prop_map(|(n, decimals)| Exact::new(n, decimals));
    prop::collection::vec((number(), number()), 1..5).prop_map(|mut points| {
        points.sort();
        points
    })
}

fn exact(points: &[(i64, i64)]) -> Curve {
    points.iter().map(|(x, y)| (Exact::from(*x), Exact::from(*y))).collect()
}

/// The response just below (`-1`) or just above (`+1`) a place, in binary floating point, segment by segment.
fn by_hand(points: &[(i64, i64)], x: f64, side: f64) -> f64 {
    let x = x + side * 1e-9;
    let [first, .., last] = points else { return points[0].1 as f64 };
    if x <= first.0 as f64 {
        return first.1 as f64;
    }
    let holds = |pair: &&[(i64, i64)]| pair[0].0 as f64 <= x && x <= pair[1].0 as f64;
    points.windows(2).find(holds).map_or(last.1 as f64, |pair| {
        let (run, rise) = ((pair[1].0 - pair[0].0) as f64, (pair[1].1 - pair[0].1) as f64);
        pair[0].1 as f64 + rise * (x - pair[0].0 as f64) / run
    })
}

fn as_f64(number: Exact) -> f64 {
    number.to_string().parse().unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_numbers_that_a_file_may_hold_end_in_a_panic(one in any_long_curve(), other in any_long_curve()) {
        let there = largest_deviation(&one, &other);
        prop_assert_eq!(there.map(|d| d.at), largest_deviation(&other, &one).map(|d| d.at));
        prop_assert_eq!(there.is_some(), rises_above(&one, &other).is_some() || rises_above(&other, &one).is_some());
        for (x, _) in one.iter().chain(&other) {
            prop_assert!(value_at(&one, *x).is_some());
        }
        prop_assert!(same_response(&one, &one));
    }

    #[test]
    fn a_reading_is_what_a_fine_look_sees(points in any_curve()) {
        for sixteenth in -16..=112i64 {
            let x = Exact::new(sixteenth * 625, 4);
            let [below, above] = [-1.0, 1.0].map(|side| by_hand(&points, sixteenth as f64 / 16.0, side));
            let (before, after) = match value_at(&exact(&points), x).unwrap() {
                Reading::Level(level) => (level, level),
                Reading::Step { before, after } => (before, after),
            };
            prop_assert!((as_f64(before) - below).abs() < 1e-7 && (as_f64(after) - above).abs() < 1e-7, "at {x}: {before} {after}");
        }
    }

    #[test]
    fn the_largest_deviation_is_the_first_of_the_largest_that_a_fine_look_sees(one in any_curve(), other in any_curve()) {
        let places = (-16..=112).flat_map(|n| [-1.0, 1.0].map(|side| (f64::from(n) / 16.0, side)));
        let gaps = places.map(|(x, side)| (x, side, by_hand(&other, x, side) - by_hand(&one, x, side)));
        let most = gaps.reduce(|most, gap| if gap.2.abs() > most.2.abs() + 1e-6 { gap } else { most }).unwrap();
        let found = largest_deviation(&exact(&one), &exact(&other));
        prop_assert_eq!(found.is_none(), same_response(&exact(&one), &exact(&other)));
        prop_assert_eq!(found.is_none(), most.2.abs() < 1e-6);
        if let Some(found) = found {
            prop_assert!((as_f64(found.by) - most.2).abs() < 1e-6, "{found:?}, seen {most:?}");
            prop_assert_eq!((found.other - found.one - found.by).abs() <= Exact::new(2, 9), true);
            // a plateau on the left begins at a breakpoint, except before the first of all
            prop_assert!(as_f64(found.at) == most.0 || most.0 == -1.0, "{found:?}, seen {most:?}");
            match found.side {
                Beside::At => {}
                Beside::JustBelow => prop_assert_eq!(most.1, -1.0),
                Beside::JustAbove => prop_assert_eq!(most.1, 1.0),
            }
            let back = largest_deviation(&exact(&other), &exact(&one)).unwrap();
            prop_assert_eq!((back.at, back.side, back.by), (found.at, found.side, -found.by));
        }
    }
}

/// See `tests/outside/README.md`.
#[derive(Deserialize)]
struct Fixture {
    pairs: Vec<Pair>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Pair {
    one: Vec<(String, String)>,
    other: Vec<(String, String)>,
    same: bool,
    largest_deviation: Apart,
    one_at: Vec<Sample>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Apart {
    at: String,
    other_minus_one: f64,
}

#[derive(Deserialize)]
struct Sample {
    x: String,
    y: f64,
}

#[test]
fn five_hundred_pairs_agree_with_numpy() {
    let fixture: Fixture = serde_json::from_str(include_str!("../../../tests/outside/curves.json")).unwrap();
    assert_eq!(fixture.pairs.len(), 500);
    assert!((80..=125).contains(&fixture.pairs.iter().filter(|pair| pair.same).count()), "about a fifth are equal");
    let read = |points: &[(String, String)]| points.iter().map(|(x, y)| (number(x), number(y))).collect::<Curve>();
    for (nth, pair) in fixture.pairs.iter().enumerate() {
        let (one, other) = (read(&pair.one), read(&pair.other));
        assert_eq!(same_response(&one, &other), pair.same, "pair {nth}");
        match largest_deviation(&one, &other) {
            None => assert!(pair.same, "pair {nth}"),
            Some(found) => {
                assert_eq!((found.at, found.side), (number(&pair.largest_deviation.at), Beside::At), "pair {nth}");
                assert!((as_f64(found.by) - pair.largest_deviation.other_minus_one).abs() < 1e-9, "pair {nth}: {found:?}");
            }
        }
        for sample in &pair.one_at {
            assert!((as_f64(level(&one, &sample.x)) - sample.y).abs() < 1e-9, "pair {nth} at {}", sample.x);
        }
    }
}

#[derive(Deserialize)]
struct Model {
    #[serde(rename = "by normal performance category")]
    settings: BTreeMap<String, BTreeMap<String, serde_json::Value>>,
    #[serde(rename = "computed by the model")]
    computed: BTreeMap<String, BTreeMap<String, Vec<(f64, f64)>>>,
}

/// EPRI's reference model of IEEE Std 1547-2018 reads the same levels off the same points.
#[test]
fn the_reference_model_reads_the_same_levels_off_the_same_points() {
    let model: Model = serde_json::from_str(include_str!("../../../tests/outside/ieee-1547-defaults.json")).unwrap();
    let decimal = |float: f64| number(&float.to_string());
    let mut compared = 0;
    for (category, computed) in &model.computed {
        for (answer, levels) in computed {
            let function = answer.split(' ').next().unwrap();
            let mut settings = model.settings[category].iter();
            let (_, points) = settings.find(|(key, _)| key.starts_with(&format!("{function}/points"))).unwrap();
            let points: Vec<(f64, f64)> = serde_json::from_value(points.clone()).unwrap();
            let mut points: Curve = points.into_iter().map(|(x, y)| (decimal(x), decimal(y))).collect();
            points.dedup();
            for (x, y) in levels {
                let Some(Reading::Level(level)) = value_at(&points, decimal(*x)) else { panic!("{category}, {answer} at {x}") };
                assert!((as_f64(level) - y).abs() < 1e-8, "category {category}, {answer} at {x}: {level} and {y}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 2 * (18 + 18 + 9));
}
