//! Lines around a response: containment and contradiction, against looking at a fine grid.
//!
//! The grid uses binary floating point, with room to spare; whatever the tool shows as an example is
//! read again claim by claim in exact numbers.

use crate::common;

use common::*;
use proptest::prelude::*;
use rules::core::core;
use rules::escape::{Proof, escape};
use rules::satisfy::satisfy;
use rules::unproven::Unproven;
use rules::witness::{Witness, keeps};
use settings_model::claim::{Claim, Limit, Line, Part, ProvenanceId, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::value::{Point, Value};

const VOLT_VAR: &str = "volt-var/points";
const VOLT_WATT: &str = "volt-watt/points";

fn points(points: &[(&str, &str)]) -> Vec<Point> {
    points.iter().map(|(x, y)| Point { x: amount(x), y: amount(y) }).collect()
}

fn around(setting_of: &str, limit: impl Fn(Line) -> Limit, line: &[(&str, &str)]) -> Claim {
    Claim { on: Term::Var(var(setting_of)), limit: limit(points(line).into()), why: ProvenanceId(0) }
}

fn pinned(setting_of: &str, curve: &[(&str, &str)]) -> Vec<Claim> {
    Value::Curve(points(curve)).exactly(setting(setting_of), ProvenanceId(1))
}

fn escapes(old: &[Claim], new: &Claim, facts: &Facts) -> Witness {
    let proof = escape(old, new, &[], facts);
    let Proof::Escapes(witness) = proof else { panic!("{proof:?}") };
    assert!(old.iter().all(|claim| keeps(claim, &witness) == Some(true)), "{witness:?}");
    assert_eq!(keeps(new, &witness), Some(false), "{witness:?}");
    *witness
}

/// The corners of the volt-var curve of Australia A (AS/NZS 4777.2:2020, from draft test scripts),
/// give or take an invented tolerance of 1 V and 2 %.
const LEAST: &[(&str, &str)] = &[("206", "42"), ("219", "-2"), ("239", "-2"), ("257", "-62")];
const MOST: &[(&str, &str)] = &[("208", "46"), ("221", "2"), ("241", "2"), ("259", "-58")];

#[test]
fn a_wider_tolerance_is_implied_and_a_narrower_one_is_escaped() {
    let old = [around(VOLT_VAR, Limit::Above, LEAST), around(VOLT_VAR, Limit::Below, MOST)];
    let wider = around(VOLT_VAR, Limit::Below, &[("208", "48"), ("221", "4"), ("241", "4"), ("259", "-56")]);
    assert_eq!(escape(&old, &wider, &[], &Facts::default()), Proof::Implied);
    let narrower = around(VOLT_VAR, Limit::Below, &[("208", "46"), ("221", "2"), ("240", "2"), ("258", "-58")]);
    let witness = escapes(&old, &narrower, &Facts::default());
    assert_eq!(witness.curve(setting(VOLT_VAR)).unwrap().last(), Some(&(Exact::from(259), Exact::from(-58))));
}

#[test]
fn the_curve_that_is_asked_for_point_by_point_is_held_against_the_lines() {
    let required = pinned(VOLT_VAR, &[("207", "44"), ("220", "0"), ("240", "0"), ("258", "-60")]);
    for line in [around(VOLT_VAR, Limit::Above, LEAST), around(VOLT_VAR, Limit::Below, MOST)] {
        assert_eq!(escape(&required, &line, &[], &Facts::default()), Proof::Implied);
    }
    let reversed = pinned(VOLT_VAR, &[("207", "-44"), ("220", "0"), ("240", "0"), ("258", "60")]);
    escapes(&reversed, &around(VOLT_VAR, Limit::Above, LEAST), &Facts::default());
    // points may be written in many ways within lines, so a demand on points is not implied
    let lines = [around(VOLT_VAR, Limit::Above, LEAST), around(VOLT_VAR, Limit::Below, MOST)];
    let count = Var { setting: setting(VOLT_VAR), part: Part::PointCount };
    escapes(&lines, &at_most(count, "4"), &Facts::default());
    escapes(&lines, &at_least(x(VOLT_VAR, 0), "206"), &Facts::default());
}

#[test]
fn lines_that_leave_nothing_between_them_contradict_each_other() {
    let least = around(VOLT_VAR, Limit::Above, LEAST);
    let low = around(VOLT_VAR, Limit::Below, &[("207", "44"), ("220", "0"), ("238", "-10"), ("258", "-60")]);
    let claims = [at_most(var("sustained-overvoltage/threshold"), "258"), least.clone(), around(VOLT_VAR, Limit::Below, MOST), low.clone()];
    assert_eq!(core(&claims, &Facts::default()), Some(vec![1, 3]), "at 238 V it would lie above -2 % and below -10 %");
    assert_eq!(satisfy(&[least, low], &Facts::default(), &[setting("volt-var/state")]), Ok(None));
}

#[test]
fn a_response_within_lines_still_obeys_the_ties_of_its_points() {
    let limit = var("sustained-overvoltage/threshold");
    let lines = [
        around(VOLT_WATT, Limit::Above, &[("253", "100"), ("260", "20")]),
        around(VOLT_WATT, Limit::Below, &[("254", "101"), ("261", "21")]),
    ];
    let mut claims = lines.to_vec();
    claims.push(above_by(limit, x(VOLT_WATT, 0), "1")); // it starts below the limit
    claims.push(at_most(limit, "258"));
    let witness =
        satisfy(&claims, &Facts::default(), &[setting("volt-watt/state"), setting("sustained-overvoltage/state")]).unwrap().unwrap();
    assert!(claims.iter().all(|claim| keeps(claim, &witness) == Some(true)), "{witness:?}");
    claims.push(at_most(limit, "200"));
    let asked = satisfy(&claims, &Facts::default(), &[setting("volt-watt/state"), setting("sustained-overvoltage/state")]);
    assert_eq!(asked, Err(Unproven::PointsAndResponse), "this response could be written with a point at 190 V");
}

#[test]
fn lines_in_per_unit_are_compared_before_the_nominal_voltage_is_known() {
    let least = |low: &str| around(VOLT_VAR, Limit::Above, &[("1.04 pu", "0"), (low, "-60")]);
    assert_eq!(escape(&[least("1.12 pu")], &least("1.10 pu"), &[], &Facts::default()), Proof::Implied);
    let witness = escapes(&[least("1.10 pu")], &least("1.12 pu"), &Facts::default());
    assert_eq!(witness.facts.number(FactId::NominalVoltage), Some(Exact::from(230)));
    let volts = around(VOLT_VAR, Limit::Above, &[("240", "0"), ("258", "-60")]);
    let open = Proof::Unproven(Unproven::ResponseDependsOn(FactId::NominalVoltage));
    assert_eq!(escape(&[volts], &least("1.12 pu"), &[], &Facts::default()), open);
}

/// Whole numbers on a small field: up to four points, steps among them.
fn any_line() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::vec((0..4i64, -3..4i64), 1..5).prop_map(|mut points| {
        points.sort_by_key(|(x, _)| *x);
        points
    })
}

fn any_claims() -> impl Strategy<Value = Vec<(bool, Vec<(i64, i64)>)>> {
    prop::collection::vec((any::<bool>(), any_line()), 1..5)
}

fn claim_of((is_lower, line): &(bool, Vec<(i64, i64)>)) -> Claim {
    let point = |(x, y): &(i64, i64)| Point { x: Amount::plain(Exact::from(*x)), y: Amount::plain(Exact::from(*y)) };
    let line: Line = line.iter().map(point).collect();
    Claim { on: Term::Var(var(VOLT_VAR)), limit: if *is_lower { Limit::Above(line) } else { Limit::Below(line) }, why: ProvenanceId(0) }
}

/// The level of a line a hair beside a grid point, so that every step is seen from both sides.
fn level(line: &[(i64, i64)], x: f64) -> f64 {
    let next = line.partition_point(|(at, _)| (*at as f64) < x);
    match (next.checked_sub(1).map(|n| line[n]), line.get(next)) {
        (Some((x0, y0)), Some((x1, y1))) => y0 as f64 + (y1 - y0) as f64 * (x - x0 as f64) / (x1 - x0) as f64,
        (Some((_, y)), None) | (None, Some(&(_, y))) => y as f64,
        (None, None) => f64::NAN,
    }
}

const HAIR: f64 = 1e-7;
const ROOM: f64 = 1e-5;

fn grid() -> impl Iterator<Item = f64> {
    (0..=6000).flat_map(|n| [f64::from(n) / 2000.0 - HAIR, f64::from(n) / 2000.0 + HAIR])
}

fn highest(lines: &[(bool, Vec<(i64, i64)>)], lower: bool, x: f64) -> Option<f64> {
    let sign = if lower { 1.0 } else { -1.0 };
    lines.iter().filter(|(is_lower, _)| *is_lower == lower).map(|(_, line)| sign * level(line, x)).reduce(f64::max).map(|n| n * sign)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, max_global_rejects: 100_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn lines_contradict_each_other_exactly_where_a_fine_grid_sees_it(lines in any_claims()) {
        let claims: Vec<Claim> = lines.iter().map(claim_of).collect();
        let gap = grid().filter_map(|x| Some(highest(&lines, true, x)? - highest(&lines, false, x)?)).fold(f64::MIN, f64::max);
        match core(&claims, &Facts::default()) {
            Some(two) => {
                prop_assert!(gap > ROOM);
                let [a, b] = two[..] else { panic!("{two:?}") };
                prop_assert!(lines[a].0 != lines[b].0, "one from below, one from above");
            }
            None => {
                prop_assert!(gap < ROOM);
                let witness = satisfy(&claims, &Facts::default(), &[setting("volt-var/state")]).unwrap().unwrap();
                prop_assert!(claims.iter().all(|claim| keeps(claim, &witness) == Some(true)), "{witness:?}");
            }
        }
    }

    #[test]
    fn a_line_is_escaped_exactly_where_a_fine_grid_sees_room_beyond_it(lines in any_claims(), new in (any::<bool>(), any_line())) {
        let claims: Vec<Claim> = lines.iter().map(claim_of).collect();
        prop_assume!(core(&claims, &Facts::default()).is_none());
        match escape(&claims, &claim_of(&new), &[], &Facts::default()) {
            Proof::Escapes(witness) => {
                prop_assert!(claims.iter().all(|claim| keeps(claim, &witness) == Some(true)), "{witness:?}");
                prop_assert_eq!(keeps(&claim_of(&new), &witness), Some(false), "{:?}", witness);
            }
            Proof::Implied => {
                let sign = if new.0 { 1.0 } else { -1.0 };
                let beyond = |x| highest(&lines, new.0, x).map_or(f64::MAX, |held| sign * (level(&new.1, x) - held));
                prop_assert!(grid().map(beyond).fold(f64::MIN, f64::max) < ROOM);
            }
            // lines that leave a single response, in thirds, have no example that numbers can write
            Proof::Unproven(why) => prop_assert_eq!(why, Unproven::TooManyDigits),
        }
    }
}
