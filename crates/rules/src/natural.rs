//! Choosing a number inside an interval that a person would find natural: an edge, or few digits.

use crate::ratio::{Digits, ten_to};
use crate::unproven::Unproven;

/// An end of an interval, in units of some power of ten; `open` leaves the end itself out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct End {
    pub at: i128,
    pub open: bool,
}

/// An interval in units of 10^-`decimals`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    pub low: Option<End>,
    pub high: Option<End>,
    pub decimals: u32,
}

impl Span {
    /// The edge that belongs to it, else the shortest number near an edge, or in the middle.
    pub(crate) fn at_an_edge(self) -> Result<Option<Digits>, Unproven> {
        let closed = |end: Option<End>| end.filter(|e| !e.open).map(|e| e.at);
        if let Some(edge) = closed(self.low).or(closed(self.high)) {
            return Ok(Some(Digits::from_units(edge, self.decimals)));
        }
        let near = match (self.low, self.high) {
            (Some(low), Some(high)) => low.at + (high.at - low.at) / 2,
            (Some(end), None) | (None, Some(end)) => end.at,
            (None, None) => 0,
        };
        self.near(near, self.decimals)
    }

    /// The number inside with the fewest decimals, at most `most`, and of those the one nearest to
    /// `near`. `None` if there is none.
    pub(crate) fn near(self, near: i128, most: u32) -> Result<Option<Digits>, Unproven> {
        for decimals in 0..=most.min(self.decimals) {
            let step = ten_to(self.decimals - decimals)?;
            let first = self.low.map_or(i128::MIN, |low| {
                let floor = low.at.div_euclid(step);
                floor + i128::from(low.open || floor * step != low.at)
            });
            let last = self.high.map_or(i128::MAX, |high| {
                let floor = high.at.div_euclid(step);
                floor - i128::from(high.open && floor * step == high.at)
            });
            if first <= last {
                let nearest = (near + step / 2).div_euclid(step).clamp(first, last);
                return Ok(Some(Digits::from_units(nearest, decimals)));
            }
        }
        Ok(None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(at: i128, open: bool) -> Option<End> {
        Some(End { at, open })
    }

    /// Intervals in hundredths, as (low, high, chosen).
    #[test]
    fn an_edge_comes_first_then_few_digits() {
        for (low, high, chosen) in [
            (end(25_300, true), end(26_500, false), "265"),
            (end(25_312, false), end(26_500, true), "253.12"),
            (end(25_300, true), None, "254"),
            (None, end(25_300, true), "252"),
            (None, end(25_350, true), "253"),
            (end(100, true), end(200, true), "1.5"),
            (end(101, true), end(103, true), "1.02"),
            (end(-150, true), end(-50, true), "-1"),
            (None, None, "0"),
        ] {
            let span = Span { low, high, decimals: 2 };
            let shown = span.at_an_edge().unwrap().unwrap().exact().unwrap().to_string();
            assert_eq!(shown, chosen, "{low:?} to {high:?}");
        }
        let none = Span { low: end(101, true), high: end(102, true), decimals: 2 };
        assert_eq!(none.at_an_edge(), Ok(None), "a hundredth has nothing inside but thousandths");
    }

    #[test]
    fn near_a_familiar_value() {
        let below = Span { low: end(0, true), high: end(23_000, true), decimals: 2 };
        assert_eq!(below.near(23_000, 2).unwrap(), Some(Digits { mantissa: 229, decimals: 0 }));
        let free = Span { low: end(0, true), high: None, decimals: 2 };
        assert_eq!(free.near(23_000, 2).unwrap(), Some(Digits { mantissa: 230, decimals: 0 }));
        let narrow = Span { low: end(22_940, true), high: end(22_980, true), decimals: 2 };
        assert_eq!(narrow.near(23_000, 2).unwrap(), Some(Digits { mantissa: 2297, decimals: 1 }));
        assert_eq!(narrow.near(23_000, 0).unwrap(), None);
    }
}
