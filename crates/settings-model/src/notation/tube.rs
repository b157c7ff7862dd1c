//! `response-within: [1 V, 2 %]`: how far a response may lie from the required one, as a line that
//! it nowhere lies below and one that it nowhere lies above.

use crate::catalogue::{SettingId, Shape};
use crate::claim::{Claim, Limit, Line, ProvenanceId, Term};
use crate::exact::Exact;
use crate::quantity::Amount;
use crate::slip::Slip;
use crate::value::Point;

/// How far a response may lie aside (the measured axis) and above or below (the following one).
struct Tolerance {
    aside: Amount,
    above: Amount,
}

/// The two claims that a response lies within a tolerance of the required curve.
///
/// A tolerance of the measured axis moves a curve that only falls, or only rises, as a whole; any
/// other would need crossings that no decimal number writes, and is refused.
///
/// # Errors
/// What is wrong with the texts, and how to mend it.
pub fn tube(setting: SettingId, required: &[Point], (aside, above): (&str, &str), why: ProvenanceId) -> Result<[Claim; 2], Slip> {
    let Shape::Curve { x, y } = setting.parameter().shape else {
        return Err(Slip::new("only a curve has a response", "leave `response-within` out"));
    };
    let tolerance = Tolerance { aside: x.parse(aside)?, above: y.parse(above)? };
    for (text, amount) in [(aside, tolerance.aside), (above, tolerance.above)] {
        if amount.number < Exact::ZERO {
            return Err(Slip::new(format!("`{text}` is below zero"), "a tolerance is meant to both sides; write it without a sign"));
        }
    }
    let like_points = |tolerance: Amount, axis: fn(&Point) -> Amount| required.iter().all(|point| axis(point).of == tolerance.of);
    if !(like_points(tolerance.aside, |p| p.x) && like_points(tolerance.above, |p| p.y)) {
        return Err(Slip::new(
            format!("`[{aside}, {above}]` is not in the units of the points"),
            "write points and tolerance alike, both in V or both in pu",
        ));
    }
    let rises = |pair: &[Point]| pair[0].y.number < pair[1].y.number;
    let falls = |pair: &[Point]| pair[0].y.number > pair[1].y.number;
    let rising = required.windows(2).any(rises);
    if rising && required.windows(2).any(falls) && tolerance.aside.number != Exact::ZERO {
        let help = format!("write `[0 {}, {above}]`, or split the demand", x.symbols().next().unwrap_or_default());
        return Err(Slip::new("a curve that rises and falls has no tolerance of its measured axis", help));
    }
    let on = Term::Var(setting.into());
    let aside = if rising { -tolerance.aside.number } else { tolerance.aside.number };
    Ok([
        Claim { on, limit: Limit::Above(moved(required, -aside, -tolerance.above.number)), why },
        Claim { on, limit: Limit::Below(moved(required, aside, tolerance.above.number)), why },
    ])
}

fn moved(points: &[Point], aside: Exact, up: Exact) -> Line {
    let by = |amount: Amount, by: Exact| Amount { number: amount.number + by, ..amount };
    points.iter().map(|point| Point { x: by(point.x, aside), y: by(point.y, up) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(points: &[(i64, i64)]) -> Vec<Point> {
        points.iter().map(|(x, y)| Point { x: Amount::plain(Exact::from(*x)), y: Amount::plain(Exact::from(*y)) }).collect()
    }

    fn lines(required: &[(i64, i64)], within: (&str, &str)) -> Result<[Vec<Point>; 2], Slip> {
        let setting = SettingId::named("volt-var/points").unwrap();
        tube(setting, &points(required), within, ProvenanceId(0)).map(|claims| {
            claims.map(|claim| match claim.limit {
                Limit::Above(line) | Limit::Below(line) => line.to_vec(),
                other => panic!("{other:?}"),
            })
        })
    }

    #[test]
    fn a_tolerance_of_both_axes_moves_the_whole_curve() {
        let falling = lines(&[(240, 0), (258, -60)], ("1 V", "2 %")).unwrap();
        assert_eq!(falling, [points(&[(239, -2), (257, -62)]), points(&[(241, 2), (259, -58)])]);
        let rising = lines(&[(207, 0), (220, 44)], ("1 V", "2 %")).unwrap();
        assert_eq!(rising, [points(&[(208, -2), (221, 42)]), points(&[(206, 2), (219, 46)])]);
    }

    #[test]
    fn what_has_no_meaning_is_refused() {
        let there_and_back = [(207, 0), (220, 44), (240, 0)];
        assert!(lines(&there_and_back, ("0 V", "2 %")).is_ok());
        for (required, within, says) in [
            (&there_and_back[..], ("1 V", "2 %"), "a curve that rises and falls"),
            (&there_and_back[..2], ("0.01 pu", "2 %"), "`[0.01 pu, 2 %]` is not in the units"),
            (&there_and_back[..2], ("-1 V", "2 %"), "`-1 V` is below zero"),
            (&there_and_back[..2], ("1", "2 %"), "`1` has no unit"),
        ] {
            let slip = lines(required, within).unwrap_err();
            assert!(slip.says.starts_with(says), "{slip:?}");
        }
    }
}
