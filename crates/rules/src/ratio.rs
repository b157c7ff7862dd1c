//! Whole-number arithmetic behind the exact answers. Whatever would overflow is an error.

use crate::unproven::Unproven;
use settings_model::exact::Exact;
use std::cmp::Ordering;

/// 10 to the power of `decimals`.
pub(crate) fn ten_to(decimals: u32) -> Result<i128, Unproven> {
    10i128.checked_pow(decimals).ok_or(Unproven::TooManyDigits)
}

pub(crate) fn times(a: i128, b: i128) -> Result<i128, Unproven> {
    a.checked_mul(b).ok_or(Unproven::TooManyDigits)
}

pub(crate) fn plus(a: i128, b: i128) -> Result<i128, Unproven> {
    a.checked_add(b).ok_or(Unproven::TooManyDigits)
}

/// A decimal number as `mantissa` × 10^-`decimals`, with no trailing zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Digits {
    pub mantissa: i128,
    pub decimals: u32,
}

impl Digits {
    pub(crate) const ZERO: Self = Self { mantissa: 0, decimals: 0 };

    /// The digits of its shortest written form.
    pub(crate) fn of(number: Exact) -> Result<Self, Unproven> {
        if number == Exact::ZERO {
            return Ok(Self::ZERO);
        }
        let mut text = number.to_string();
        let decimals = match text.find('.') {
            None => 0,
            Some(point) => {
                text.remove(point);
                text.len() - point
            }
        };
        let mantissa = text.parse().map_err(|_| Unproven::TooManyDigits)?;
        Ok(Self { mantissa, decimals: u32::try_from(decimals).map_err(|_| Unproven::TooManyDigits)? })
    }

    /// As a whole number of units of 10^-`decimals`, which must be no coarser than its own.
    pub(crate) fn in_units(self, decimals: u32) -> Result<i128, Unproven> {
        times(self.mantissa, ten_to(decimals - self.decimals)?)
    }

    /// A whole number of units of 10^-`decimals`.
    pub(crate) fn from_units(mut mantissa: i128, mut decimals: u32) -> Self {
        while decimals > 0 && mantissa % 10 == 0 {
            mantissa /= 10;
            decimals -= 1;
        }
        Self { mantissa, decimals }
    }

    pub(crate) fn exact(self) -> Result<Exact, Unproven> {
        let mantissa = i64::try_from(self.mantissa).map_err(|_| Unproven::TooManyDigits)?;
        // A decimal number holds 28 decimals at most.
        if self.decimals > 28 { Err(Unproven::TooManyDigits) } else { Ok(Exact::new(mantissa, self.decimals)) }
    }
}

/// `top` / `bottom`, with a positive bottom.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ratio {
    pub top: i128,
    pub bottom: i128,
}

impl Ratio {
    pub(crate) const ZERO: Self = Self { top: 0, bottom: 1 };

    /// The quotient of two whole numbers, in lowest terms; the bottom must not be zero.
    pub(crate) fn new(top: i128, bottom: i128) -> Self {
        let divisor = gcd(top.unsigned_abs(), bottom.unsigned_abs()).cast_signed() * bottom.signum();
        Self { top: top / divisor, bottom: bottom / divisor }
    }

    pub(crate) fn whole(number: i128) -> Self {
        Self { top: number, bottom: 1 }
    }

    pub(crate) fn negative(self) -> Self {
        Self { top: -self.top, bottom: self.bottom }
    }

    pub(crate) fn minus(self, other: Self) -> Result<Self, Unproven> {
        let top = plus(times(self.top, other.bottom)?, -times(other.top, self.bottom)?)?;
        Ok(Self::new(top, times(self.bottom, other.bottom)?))
    }

    pub(crate) fn of(digits: Digits) -> Result<Self, Unproven> {
        Ok(Self { top: digits.mantissa, bottom: ten_to(digits.decimals)? })
    }

    /// Its digits, if the bottom is a power of ten.
    pub(crate) fn digits(self) -> Option<Digits> {
        let decimals = self.bottom.ilog10();
        (10i128.pow(decimals) == self.bottom).then_some(Digits { mantissa: self.top, decimals })
    }

    /// Exact order, by cross-multiplication.
    pub(crate) fn compare(self, other: Self) -> Result<Ordering, Unproven> {
        Ok(times(self.top, other.bottom)?.cmp(&times(other.top, self.bottom)?))
    }

    pub(crate) fn halfway(self, other: Self) -> Result<Self, Unproven> {
        let top = plus(times(self.top, other.bottom)?, times(other.top, self.bottom)?)?;
        Ok(Self::new(top, times(2, times(self.bottom, other.bottom)?)?))
    }
}

fn gcd(a: u128, b: u128) -> u128 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_those_of_the_shortest_form() {
        for (text, mantissa, decimals) in [("253.00", 253, 0), ("-0.50", -5, 1), ("1.10", 11, 1), ("120", 120, 0), ("0", 0, 0)] {
            let number = Exact::parse(text).unwrap();
            let digits = Digits::of(number).unwrap();
            assert_eq!(digits, Digits { mantissa, decimals }, "{text}");
            assert_eq!(digits.exact().unwrap(), number);
        }
        assert_eq!(Digits::from_units(25_300, 2), Digits { mantissa: 253, decimals: 0 });
    }

    #[test]
    fn ratios_keep_their_bottom_positive_and_compare_without_dividing() {
        let third = Ratio::new(-1, -3);
        assert_eq!((third.top, third.bottom), (1, 3));
        let nearly = Ratio::new(333_333_333_333, 1_000_000_000_000);
        assert_eq!(nearly.compare(third), Ok(Ordering::Less));
        assert_eq!(Ratio::new(1, i128::MAX).compare(Ratio::new(1, i128::MAX - 1)), Ok(Ordering::Less));
        assert_eq!(Ratio::new(i128::MAX, 2).compare(third), Err(Unproven::TooManyDigits));
    }
}
