//! Curves as functions: the same response may be written with other points.

mod deviation;
mod reading;

pub use deviation::{Beside, Deviation, largest_deviation};
pub use reading::{Reading, value_at};

use crate::exact::Exact;
use crate::facts::Facts;
use crate::value::Point;

/// Points in base units at a site; `None` while a fact they depend on is unknown.
#[must_use]
pub fn at_site(points: &[Point], facts: &Facts) -> Option<Vec<(Exact, Exact)>> {
    points.iter().map(|p| Some((p.x.at(facts)?, p.y.at(facts)?))).collect()
}

/// The first point that stands before the one in front of it on the measured axis, by its position from 0.
///
/// Points of several units have an order only at a site, where all are in base units.
#[must_use]
pub fn first_descent(points: &[(Exact, Exact)]) -> Option<usize> {
    points.windows(2).position(|pair| pair[0].0 > pair[1].0).map(|before| before + 1)
}

/// The fewest points that describe the same function: flat outside its ends, straight between.
///
/// Points on the straight line between their neighbours go, so do all but the first and the last at
/// one place, and end points that only repeat the flat end. Decided by cross products of exact numbers, never by division.
#[must_use]
pub fn fewest_points(points: &[(Exact, Exact)]) -> Vec<(Exact, Exact)> {
    let mut kept: Vec<(Exact, Exact)> = Vec::with_capacity(points.len());
    for &point in points {
        while let [.., a, b] = kept[..] {
            if !on_line(a, b, point) && !within_step(a, b, point) {
                break;
            }
            kept.pop();
        }
        if kept.last() != Some(&point) {
            kept.push(point);
        }
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

/// Whether `b` stands at one place with its neighbours: a step is what it is just below and just above.
fn within_step(a: (Exact, Exact), b: (Exact, Exact), c: (Exact, Exact)) -> bool {
    a.0 == b.0 && b.0 == c.0
}

/// Whether two curves are the same function, whatever their points.
#[must_use]
pub fn same_response(one: &[(Exact, Exact)], other: &[(Exact, Exact)]) -> bool {
    let (one, other) = (fewest_points(one), fewest_points(other));
    // a constant keeps one point, and where it stands does not matter
    if let ([(_, y)], [(_, z)]) = (&one[..], &other[..]) { y == z } else { one == other }
}

/// Where one response lies above another, and how far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Excess {
    /// The measured axis, where it is most.
    pub at: Exact,
    /// How far there; rounded, for showing only.
    pub by: Exact,
}

/// Where `upper` lies farthest above `lower`; `None` if it does so nowhere.
///
/// Both are straight between the breakpoints of either, so looking at those, from the left and from
/// the right, decides; each by cross products, so the same line with other points never differs.
#[must_use]
pub fn rises_above(upper: &[(Exact, Exact)], lower: &[(Exact, Exact)]) -> Option<Excess> {
    let breakpoints = upper.iter().chain(lower).map(|(x, _)| *x);
    // without a step both sides are one level
    let sides = if has_step(upper) || has_step(lower) { &[Side::Left, Side::Right][..] } else { &[Side::Left] };
    let above = breakpoints.flat_map(|x| sides.iter().map(move |side| (x, *side))).filter_map(|(x, side)| {
        let (high, low) = (Level::of(upper, x, side)?, Level::of(lower, x, side)?);
        high.lies_above(&low).then(|| Excess { at: x, by: high.shown() - low.shown() })
    });
    above.reduce(|most, other| if other.by > most.by { other } else { most })
}

/// Each place from the left and from the right, where two responses have to be looked at.
fn both_sides(places: impl IntoIterator<Item = Exact>) -> impl Iterator<Item = (Exact, Side)> {
    places.into_iter().flat_map(|x| [(x, Side::Left), (x, Side::Right)])
}

fn has_step(curve: &[(Exact, Exact)]) -> bool {
    curve.windows(2).any(|pair| pair[0].0 == pair[1].0)
}

/// From which side a place is approached: at a step the two differ.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

/// A level as `top` / `bottom`, never divided.
struct Level {
    top: Exact,
    bottom: Exact,
}

impl Level {
    /// `None` for a curve without points.
    fn of(curve: &[(Exact, Exact)], x: Exact, side: Side) -> Option<Self> {
        let flat = |(_, y): &(Exact, Exact)| Self { top: *y, bottom: Exact::ONE };
        let next = curve.partition_point(|(at, _)| *at < x);
        let here = curve[next..].iter().take_while(|(at, _)| *at == x);
        let reached = if side == Side::Left { here.take(1).last() } else { here.last() };
        if let Some(point) = reached {
            return Some(flat(point));
        }
        let (Some(before), Some(after)) = (next.checked_sub(1).map(|n| &curve[n]), curve.get(next)) else {
            return curve.get(next).or(curve.last()).map(flat);
        };
        let run = after.0 - before.0;
        Some(Self { top: before.1 * run + (after.1 - before.1) * (x - before.0), bottom: run })
    }

    fn lies_above(&self, other: &Self) -> bool {
        if self.bottom == other.bottom { self.top > other.top } else { self.top * other.bottom > other.top * self.bottom }
    }

    fn shown(&self) -> Exact {
        self.top.divided_roughly(self.bottom, 9).unwrap_or_default()
    }
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
        assert_eq!(fewest_points(&curve(&[(240, 100), (240, 150), (240, 20)])), step);
        assert_eq!(fewest_points(&curve(&[(230, 100), (240, 100), (240, 0), (240, 100)])), curve(&[(230, 100)]), "a step there and back");
        assert!(same_response(&curve(&[(200, 0), (260, 0)]), &curve(&[(230, 0), (231, 0)])));
        assert!(!same_response(&curve(&[(200, 0), (260, 0)]), &curve(&[(200, 1), (260, 1)])));
    }

    #[test]
    fn a_response_is_held_against_a_line_at_every_breakpoint_of_both() {
        let line = curve(&[(240, 0), (258, -60)]);
        let flat_too_early = curve(&[(240, 0), (243, -10), (252, -10), (258, -60)]);
        let above = rises_above(&flat_too_early, &line).unwrap();
        assert_eq!((above.at, above.by), (Exact::from(252), Exact::from(30)), "-10 against -40");
        assert_eq!(rises_above(&line, &flat_too_early), None);
        let step = curve(&[(240, 0), (250, 0), (250, -60), (258, -60)]);
        assert_eq!(rises_above(&step, &line).map(|e| e.at), Some(Exact::from(250)), "just before the step");
        assert_eq!(
            rises_above(&line, &step).map(|e| (e.at, e.by.rounded(2))),
            Some((Exact::from(250), Exact::new(2667, 2))),
            "just after it"
        );
        let beyond = rises_above(&curve(&[(100, 5), (110, 0)]), &curve(&[(240, 0), (258, 0)]));
        assert_eq!(beyond.map(|e| e.at), Some(Exact::from(100)), "curves are flat beyond their ends");
    }

    /// The same line cut at thirds of a volt would fail in decimals that divide; these are exact.
    #[test]
    fn the_same_line_with_other_breakpoints_is_the_same_response() {
        let parse = |t: &str| Exact::parse(t).unwrap();
        let long = vec![(parse("253"), parse("100")), (parse("260"), parse("20"))];
        let cut =
            vec![(parse("253"), parse("100")), (parse("254.75"), parse("80")), (parse("256.5"), parse("60")), (parse("260"), parse("20"))];
        assert!(same_response(&long, &cut));
        assert_eq!((rises_above(&long, &cut), rises_above(&cut, &long)), (None, None));
        let thirds = vec![(parse("253"), parse("100")), (parse("256"), parse("0"))];
        let off = vec![(parse("253"), parse("100")), (parse("254"), parse("66.6666667")), (parse("256"), parse("0"))];
        assert_eq!(rises_above(&off, &thirds).map(|e| e.at), Some(parse("254")), "by a third of a hundred-millionth");
        assert_eq!(rises_above(&thirds, &off), None);
    }
}
