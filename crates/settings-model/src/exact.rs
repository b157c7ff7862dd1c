//! Exact decimal numbers, so that `1.10 pu` of 230 V is 253 V and not 253.00000000000003 V.
//!
//! The trap: a decimal type rounds silently once a product needs more than 28 digits. Numbers are
//! therefore held to nine significant digits at the door ([`Exact::parse`]), which leaves room for
//! every product and cross-product that a verdict needs.

use rust_decimal::Decimal;
use std::cmp::Ordering;
use std::{fmt, hash, ops};

/// A decimal number that is compared and added exactly. It has no unit; see [`crate::quantity`].
#[derive(Clone, Copy, Eq, Default)]
pub struct Exact(Decimal);

/// Why a piece of text is not a number that the tool takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberError {
    /// Not digits with at most one decimal point and an optional leading sign.
    NotANumber,
    /// A comma where the decimal point belongs.
    DecimalComma,
    /// A typographic dash where the minus sign belongs.
    TypographicMinus,
    /// More significant digits, or more decimals, than [`Exact::MAX_DIGITS`].
    TooPrecise,
}

impl Exact {
    /// Zero.
    pub const ZERO: Self = Self(Decimal::ZERO);
    /// One.
    pub const ONE: Self = Self(Decimal::ONE);
    /// A hundred: the whole, in per cent.
    pub const HUNDRED: Self = Self(Decimal::ONE_HUNDRED);
    /// The most significant digits, and the most decimals, of a number in a file.
    pub const MAX_DIGITS: usize = 9;

    /// `mantissa` × 10^-`decimals`.
    #[must_use]
    pub fn new(mantissa: i64, decimals: u32) -> Self {
        Self(Decimal::new(mantissa, decimals))
    }

    /// The nearest binary number, for pictures and for what equipment does with its settings; never
    /// for a comparison that decides.
    #[must_use]
    pub fn approximate(self) -> f64 {
        rust_decimal::prelude::ToPrimitive::to_f64(&self.0).unwrap_or(f64::NAN)
    }

    /// A binary number to so many decimals, or to fewer where that were more than nine digits; a longer
    /// one to nine digits. `None` where it is no number, or has more than 20 digits.
    #[must_use]
    pub fn nearest(number: f64, decimals: u32) -> Option<Self> {
        let by_decimals = |decimals: u32| Self::parse(&format!("{number:.*}", decimals as usize)).ok();
        if let Some(near) = (0..=decimals).rev().find_map(by_decimals) {
            return Some(near);
        }
        let tens = (1..=11).find(|tens| (number / 10f64.powi(*tens)).abs() < 999_999_999.0)?;
        let short = Self::parse(&format!("{:.0}", number / 10f64.powi(tens))).ok()?;
        Some(short * Self(Decimal::from(10u64.pow(tens as u32))))
    }

    /// Reads `-12.50`; refuses exponents, separators and more than nine digits.
    ///
    /// # Errors
    /// [`NumberError`] says which of the usual slips it was.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
        let (mut mantissa, mut decimals, mut significant, mut point) = (0i64, 0u32, 0usize, false);
        for byte in digits.bytes() {
            match byte {
                b'0'..=b'9' => {
                    significant += usize::from(significant > 0 || byte != b'0');
                    decimals += u32::from(point);
                    if significant > Self::MAX_DIGITS || decimals as usize > Self::MAX_DIGITS {
                        return Err(NumberError::TooPrecise);
                    }
                    mantissa = mantissa * 10 + i64::from(byte - b'0');
                }
                b'.' if !point => point = true,
                b',' => return Err(NumberError::DecimalComma),
                _ if text.starts_with(['−', '–', '—']) => return Err(NumberError::TypographicMinus),
                _ => return Err(NumberError::NotANumber),
            }
        }
        let first_and_last_are_digits = digits.starts_with(|c: char| c.is_ascii_digit()) && digits.ends_with(|c: char| c.is_ascii_digit());
        if !first_and_last_are_digits {
            return Err(NumberError::NotANumber);
        }
        let sign = if text.starts_with('-') { -1 } else { 1 };
        Ok(Self(Decimal::new(sign * mantissa, decimals)))
    }

    /// The plain decimal number that a text begins with, and how many bytes it takes: the common case
    /// of [`Self::parse`], in one pass. `None` sends the caller to the slow and talkative way.
    #[must_use]
    #[inline(always)]
    pub(crate) fn leading(text: &[u8]) -> Option<(Self, usize)> {
        let negative = text.first() == Some(&b'-');
        let start = usize::from(negative);
        let (mut mantissa, whole) = digits(&text[start..], 0);
        let (mut end, mut decimals) = (start + whole, 0);
        if text.get(end) == Some(&b'.') {
            (mantissa, decimals) = digits(&text[end + 1..], mantissa);
            end += 1 + decimals;
        }
        let is_plain = whole > 0 && text[end - 1] != b'.' && whole + decimals <= Self::MAX_DIGITS;
        // nine digits fit the lowest of the decimal's three parts
        is_plain.then(|| (Self(Decimal::from_parts(mantissa, 0, 0, negative && mantissa > 0, decimals as u32)), end))
    }

    /// Half of it, exactly.
    #[must_use]
    pub fn half(self) -> Self {
        Self(self.0 * Decimal::new(5, 1))
    }

    /// More decimals than any number has.
    pub const MOST_DECIMALS: u32 = Decimal::MAX_SCALE;

    /// Without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// `self / divisor` cut to `decimals` places. For showing and for choosing a number inside an
    /// interval, never for a verdict: the quotient need not be exact. `None` when dividing by zero.
    #[must_use]
    pub fn divided_roughly(self, divisor: Self, decimals: u32) -> Option<Self> {
        Some(Self(self.0.checked_div(divisor.0)?.round_dp(decimals).normalize()))
    }

    /// The product; `None` where it is too long to be held (about 28 digits before the point).
    #[must_use]
    pub(crate) fn checked_mul(self, other: Self) -> Option<Self> {
        self.0.checked_mul(other.0).map(Self)
    }

    /// Rounded to nine significant digits and nine decimals, and how large one in the last place is.
    #[must_use]
    pub fn nine_digits(self) -> (Self, Self) {
        let mut decimals = Self::MAX_DIGITS as u32;
        let mut ten = Self::ONE;
        while self.abs() >= ten && decimals > 0 {
            (ten, decimals) = (ten * Self::from(10), decimals - 1);
        }
        (self.rounded(decimals), Self::new(1, decimals))
    }

    /// Rounded to `decimals` places, for showing only.
    #[must_use]
    pub fn rounded(self, decimals: u32) -> Self {
        Self(self.0.round_dp(decimals).normalize())
    }
}

/// The digits that a text begins with, appended to those of a number before, and how many there are;
/// the number is good while all of them are nine at most.
#[inline]
fn digits(text: &[u8], before: u32) -> (u32, usize) {
    let (mut number, mut count) = (before, 0);
    while let Some(digit @ b'0'..=b'9') = text.get(count) {
        number = number.wrapping_mul(10).wrapping_add(u32::from(digit - b'0'));
        count += 1;
    }
    (number, count)
}

/// As numbers, so `1.5` is `1.50`; of two with equally many decimals, quickly.
impl Ord for Exact {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        if self.0.scale() == other.0.scale() { self.0.mantissa().cmp(&other.0.mantissa()) } else { self.0.cmp(&other.0) }
    }
}
impl PartialOrd for Exact {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Exact {
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl hash::Hash for Exact {
    fn hash<H: hash::Hasher>(&self, state: &mut H) {
        self.0.hash(state);
    }
}

impl From<i64> for Exact {
    fn from(whole: i64) -> Self {
        Self(Decimal::from(whole))
    }
}

impl ops::Add for Exact {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl ops::Sub for Exact {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl ops::Mul for Exact {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self(self.0 * other.0)
    }
}
impl ops::Neg for Exact {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// The shortest decimal form: `253`, not `253.0`.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shortest = self.0.normalize();
        fmt::Display::fmt(&if shortest.is_zero() { Decimal::ZERO } else { shortest }, f)
    }
}
impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_binary_number_of_many_digits_is_never_nothing() {
        let shown = |number: f64| Exact::nearest(number, 3).map(|near| near.to_string());
        assert_eq!(shown(4.2566).as_deref(), Some("4.257"));
        assert_eq!(shown(-1_234_567.125).as_deref(), Some("-1234567.12"));
        assert_eq!(shown(1_234_567_890_123.0).as_deref(), Some("1234567890000"));
        assert_eq!([f64::NAN, f64::INFINITY, 1e300].map(shown), [None, None, None]);
    }

    #[test]
    fn products_are_exact_where_binary_floating_point_is_not() {
        let pu = Exact::parse("1.10").unwrap();
        assert_eq!(pu * Exact::from(230), Exact::from(253));
        assert_ne!(1.10_f64 * 230.0, 253.0);
    }

    #[test]
    fn the_usual_slips_are_told_apart() {
        for (text, error) in [
            ("264,5", NumberError::DecimalComma),
            ("−60", NumberError::TypographicMinus),
            ("1e3", NumberError::NotANumber),
            (".5", NumberError::NotANumber),
            ("5.", NumberError::NotANumber),
            ("", NumberError::NotANumber),
            ("-", NumberError::NotANumber),
            ("1.2.3", NumberError::NotANumber),
            ("1234567890", NumberError::TooPrecise),
            ("0.0000000001", NumberError::TooPrecise),
        ] {
            assert_eq!(Exact::parse(text), Err(error), "{text}");
        }
        assert_eq!(Exact::parse("-0.50").unwrap(), Exact::new(-5, 1));
        assert_eq!(Exact::parse("000123456789").unwrap(), Exact::from(123_456_789));
        assert_eq!(Exact::parse("-0").unwrap().to_string(), "0");
    }

    /// The quick way says what the slow way says, or nothing.
    #[test]
    fn the_quick_way_to_read_agrees_with_the_slow_one() {
        for text in [
            "0",
            "-0",
            "-60",
            "50.15",
            "0.5",
            "007",
            "1.50",
            "999999999",
            "9999.99999",
            "1234567890",
            "1.2345678901",
            ".5",
            "5.",
            "-",
            "",
            "1.2.3",
        ] {
            let quick = Exact::leading(text.as_bytes()).filter(|(_, taken)| *taken == text.len()).map(|(number, _)| number);
            assert!(quick.is_none() || quick == Exact::parse(text).ok(), "{text}");
        }
        assert_eq!(Exact::leading(b"-12.50 V"), Some((Exact::new(-125, 1), 6)));
    }

    #[test]
    fn decimals_that_are_only_zeros_change_nothing() {
        let hash = |n: Exact| hash::BuildHasher::hash_one(&hash::BuildHasherDefault::<hash::DefaultHasher>::default(), n);
        let alike = [("1.5", "1.50"), ("0", "-0"), ("0.0", "0"), ("-60", "-60.000")];
        for (one, other) in alike.map(|(one, other)| (Exact::parse(one).unwrap(), Exact::parse(other).unwrap())) {
            assert_eq!((one, one.cmp(&other), hash(one)), (other, Ordering::Equal, hash(other)));
            assert!(one < other + Exact::new(1, 9) && other > one - Exact::new(1, 9));
        }
        assert_eq!(-Exact::ZERO, Exact::ZERO);
        assert_eq!(hash(-Exact::ZERO), hash(Exact::ZERO));
    }

    /// The widest cross-product of a curve comparison: nine digits by nine, times ten.
    #[test]
    fn nine_digits_leave_room_for_cross_products() {
        let widest = Exact::from(999_999_999) * Exact::new(999_999_999, 9);
        let by_hand = Exact(Decimal::from_i128_with_scale(999_999_998_000_000_001 * 9_999_999_999, 9));
        assert_eq!(widest * Exact::from(9_999_999_999), by_hand);
    }
}
