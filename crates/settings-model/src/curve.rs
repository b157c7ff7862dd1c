//! Curves as functions: the same response may be written with other points.

use crate::exact::Exact;
use crate::facts::Facts;
use crate::value::Point;

/// Points in base units at a site; `None` while a fact they depend on is unknown.
#[must_use]
pub fn at_site(points: &[Point], facts: &Facts) -> Option<Vec<(Exact, Exact)>> {
    points.iter().map(|p| Some((p.x.at(facts)?, p.y.at(facts)?))).collect()
}

/// The fewest points that describe the same function: flat outside its ends, straight between.
///
/// Points on the straight line between their neighbours go, and so do end points that only repeat
/// the flat end. Decided by cross products of exact numbers, never by division.
#[must_use]
pub fn fewest_points(points: &[(Exact, Exact)]) -> Vec<(Exact, Exact)> {
    let mut kept: Vec<(Exact, Exact)> = Vec::with_capacity(points.len());
    for &point in points {
        if kept.last() == Some(&point) {
            continue;
        }
        while let [.., a, b] = kept[..] {
            if !on_line(a, b, point) {
                break;
            }
            kept.pop();
        }
        kept.push(point);
    }
    while let [.., (_, before), (_, last)] = kept[..] {
        if before != last {
            break;
        }
        kept.pop();
    }
    let flat = kept.windows(2).take_while(|pair| pair[0].1 == pair[1].1).count();
    kept.drain(..flat);
    kept
}

/// Whether `b` lies on the straight line from `a` to `c`, between them.
fn on_line(a: (Exact, Exact), b: (Exact, Exact), c: (Exact, Exact)) -> bool {
    let straight = (b.0 - a.0) * (c.1 - a.1) == (c.0 - a.0) * (b.1 - a.1);
    let between = |low: Exact, mid: Exact, high: Exact| (low <= mid && mid <= high) || (low >= mid && mid >= high);
    straight && between(a.0, b.0, c.0) && between(a.1, b.1, c.1)
}

/// Whether two curves are the same function, whatever their points.
#[must_use]
pub fn same_response(one: &[(Exact, Exact)], other: &[(Exact, Exact)]) -> bool {
    let (one, other) = (fewest_points(one), fewest_points(other));
    // a constant keeps one point, and where it stands does not matter
    if let ([(_, y)], [(_, z)]) = (&one[..], &other[..]) { y == z } else { one == other }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(i64, i64)]) -> Vec<(Exact, Exact)> {
        points.iter().map(|(x, y)| (Exact::from(*x), Exact::from(*y))).collect()
    }

    #[test]
    fn points_that_add_nothing_do_not_change_the_response() {
        let plain = curve(&[(207, 44), (220, 0), (240, 0), (258, -60)]);
        let busy = curve(&[(190, 44), (207, 44), (220, 0), (230, 0), (240, 0), (249, -30), (258, -60), (265, -60)]);
        assert!(same_response(&plain, &busy));
        assert_eq!(fewest_points(&busy), plain);
        assert!(!same_response(&plain, &curve(&[(207, 44), (220, 0), (240, 0), (257, -60)])));
    }

    #[test]
    fn a_step_and_a_constant_are_told_apart() {
        let step = curve(&[(240, 100), (240, 20)]);
        assert_eq!(fewest_points(&step), step);
        assert!(same_response(&curve(&[(200, 0), (260, 0)]), &curve(&[(230, 0), (231, 0)])));
        assert!(!same_response(&curve(&[(200, 0), (260, 0)]), &curve(&[(200, 1), (260, 1)])));
    }

    /// The same line cut at thirds of a volt would fail in decimals that divide; these are exact.
    #[test]
    fn the_same_line_with_other_breakpoints_is_the_same_response() {
        let parse = |t: &str| Exact::parse(t).unwrap();
        let long = vec![(parse("253"), parse("100")), (parse("260"), parse("20"))];
        let cut =
            vec![(parse("253"), parse("100")), (parse("254.75"), parse("80")), (parse("256.5"), parse("60")), (parse("260"), parse("20"))];
        assert!(same_response(&long, &cut));
    }
}
