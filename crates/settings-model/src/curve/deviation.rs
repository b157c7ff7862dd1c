//! How far two responses are apart, and where it is most.

use super::{Level, Side, both_sides};
use crate::exact::Exact;
use std::cmp::Ordering;

/// Where two responses are farthest apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deviation {
    /// The measured axis: the lowest place where they are so far apart.
    pub at: Exact,
    /// At that place itself, or only just beside it.
    pub side: Beside,
    /// The first response there; rounded to nine decimals, for showing only.
    pub one: Exact,
    /// The second response there; rounded likewise.
    pub other: Exact,
    /// `other - one`, with its sign; rounded likewise.
    pub by: Exact,
}

/// Whether a deviation stands at a place or only beside it, because one of the two steps there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    /// At the place, from below and from above alike.
    At,
    /// As the place is approached from below.
    JustBelow,
    /// Just above the place.
    JustAbove,
}

/// Where two responses are farthest apart; `None` if they are the same response, or one has no points.
///
/// Both are straight between the breakpoints of either and flat beyond, so looking at those, from
/// below and from above, decides. Sizes are compared by cross products; of equal ones, the first.
#[must_use]
pub fn largest_deviation(one: &[(Exact, Exact)], other: &[(Exact, Exact)]) -> Option<Deviation> {
    let mut breakpoints: Vec<Exact> = one.iter().chain(other).map(|(x, _)| *x).collect();
    breakpoints.sort();
    breakpoints.dedup();
    let gaps = both_sides(breakpoints).filter_map(|(x, side)| Gap::of(one, other, x, side)).filter(|gap| gap.top != Exact::ZERO);
    let most = gaps.reduce(|most, gap| if gap.compared_by_size(&most).is_gt() { gap } else { most })?;
    Some(most.shown(one, other))
}

/// `other - one` at a place, as `top` / `bottom`, never divided.
struct Gap {
    at: Exact,
    side: Side,
    levels: [Level; 2],
    top: Exact,
    bottom: Exact,
}

impl Gap {
    fn of(one: &[(Exact, Exact)], other: &[(Exact, Exact)], at: Exact, side: Side) -> Option<Self> {
        let levels = [Level::of(one, at, side)?, Level::of(other, at, side)?];
        let [a, b] = &levels;
        let (top, bottom) = (b.top * a.bottom - a.top * b.bottom, a.bottom * b.bottom);
        Some(Self { at, side, levels, top, bottom })
    }

    /// By cross products; those of gaps too long to multiply are compared as they are shown.
    fn compared_by_size(&self, other: &Self) -> Ordering {
        let products = self.top.abs().checked_mul(other.bottom).zip(other.top.abs().checked_mul(self.bottom));
        products.map_or_else(|| self.rounded().abs().cmp(&other.rounded().abs()), |(one, other)| one.cmp(&other))
    }

    fn is_as_far_as(&self, other: &Self) -> bool {
        (self.top > Exact::ZERO) == (other.top > Exact::ZERO) && self.compared_by_size(other).is_eq()
    }

    fn rounded(&self) -> Exact {
        self.top.divided_roughly(self.bottom, 9).unwrap_or_default()
    }

    fn shown(&self, one: &[(Exact, Exact)], other: &[(Exact, Exact)]) -> Deviation {
        let opposite = if self.side == Side::Left { Side::Right } else { Side::Left };
        let alike = Gap::of(one, other, self.at, opposite).is_some_and(|gap| gap.is_as_far_as(self));
        let side = match self.side {
            _ if alike => Beside::At,
            Side::Left => Beside::JustBelow,
            Side::Right => Beside::JustAbove,
        };
        let [a, b] = &self.levels;
        Deviation { at: self.at, side, one: a.shown(), other: b.shown(), by: self.rounded() }
    }
}
