//! What a device or a site can hold at all: beyond it lies a slip of the pen, or a lie.

use super::{Amount, Dimension};
use crate::exact::Exact;
use crate::slip::Slip;

/// The greatest voltage in per unit: surges that any device rides through lie far below.
const MOST_PER_UNIT: i64 = 10;

impl Dimension {
    /// The least and the greatest value that a device or a site can hold, in base units: one row each, far
    /// beyond honest equipment (common practice, no source). Only what leans two ways may be negative: a
    /// level of power or of reactive power in per cent, an angle.
    #[must_use]
    pub const fn possible(self) -> (i64, i64) {
        match self {
            // the highest voltage that any network has lies near 1100 kV
            Self::Voltage => (0, 2_000_000),
            Self::Frequency => (0, 1_000),
            // a year and a day, in seconds
            Self::Time => (0, 366 * 86_400),
            Self::Percent => (-10_000, 10_000),
            // the largest power stations lie near 20 GW
            Self::ActivePower | Self::ApparentPower => (0, 100_000_000_000),
            Self::Current => (0, 1_000_000),
            Self::FrequencyRate => (0, 1_000),
            Self::Angle => (-360, 360),
            Self::PowerFactor => (0, 1),
            // from nothing to all within a thousandth of a second is 6 000 000 %/min
            Self::RampRate => (0, 10_000_000),
            // what is counted is there; the ratio of a current transformer is above one
            Self::Count => (1, 1_000_000),
            // a thousand kilometres of cable
            Self::Length => (0, 1_000_000),
            Self::Area => (0, 100_000),
            Self::Resistance => (0, 1_000_000),
            Self::ImpedancePerLength => (0, 1_000_000),
            Self::VoltageDrop => (0, 1_000_000),
        }
    }

    /// Reads a value that a device or a site holds, or a coordinate of one.
    ///
    /// # Errors
    /// What is wrong with the text, or that nothing can hold such a value.
    #[inline(always)]
    pub fn parse_held(self, text: &str) -> Result<Amount, Slip> {
        self.parse_within(text, self.possible())
    }

    /// Reads the value of a setting that is one quantity. None of the catalogue leans two ways: which way is a setting
    /// of its own (`direction`), so none lies below zero.
    ///
    /// # Errors
    /// See [`Self::parse_held`].
    #[inline(always)]
    pub fn parse_set(self, text: &str) -> Result<Amount, Slip> {
        let (least, most) = self.possible();
        self.parse_within(text, (least.max(0), most))
    }

    #[inline(always)]
    fn parse_within(self, text: &str, possible: (i64, i64)) -> Result<Amount, Slip> {
        let amount = self.parse(text)?;
        let (least, most) = if amount.of.is_some() { (0, MOST_PER_UNIT) } else { possible };
        if amount.number >= Exact::from(least) && amount.number <= Exact::from(most) {
            Ok(amount)
        } else {
            Err(self.impossible(text, amount, possible))
        }
    }

    /// Reads a plain quantity that is stated beside the settings of a device: measured, drawn or looked up. Power
    /// that flows in is negative; per unit is of nothing here.
    ///
    /// # Errors
    /// What is wrong with the text, or that nothing can be so.
    pub fn parse_plain_quantity(self, text: &str) -> Result<Amount, Slip> {
        let amount = self.parse(text)?;
        if amount.of.is_some() {
            return Err(Slip::new(format!("`{}` is not in volts", text.trim()), "multiply it by the nominal voltage that it counts from"));
        }
        let (least, most) = match (self, self.possible()) {
            (Self::ActivePower, (_, most)) => (-most, most),
            // cables say themselves what theirs may be
            (Self::Length | Self::Area | Self::Resistance | Self::ImpedancePerLength | Self::VoltageDrop, (_, most)) => (-most, most),
            (_, edges) => edges,
        };
        if amount.number >= Exact::from(least) && amount.number <= Exact::from(most) {
            Ok(amount)
        } else {
            Err(self.impossible(text, amount, self.possible()))
        }
    }

    #[cold]
    fn impossible(self, text: &str, amount: Amount, (least, most): (i64, i64)) -> Slip {
        let says = format!("no device and no site can hold `{}`", text.trim());
        let edges = if amount.of.is_some() {
            format!("0 pu to {MOST_PER_UNIT} pu")
        } else {
            format!("{} to {}", self.show(Exact::from(least)), self.show(Exact::from(most)))
        };
        Slip::new(says, format!("check sign and unit: {} lies within {edges}", self.a_name()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_holds_its_own_example_and_nothing_beyond_its_edges() {
        for dimension in Dimension::ALL {
            let held = |text: &str| dimension.parse_held(text);
            assert!(held(dimension.example()).is_ok(), "{}", dimension.name());
            if dimension == Dimension::PowerFactor {
                continue; // held narrower by its own reader
            }
            let (least, most) = dimension.possible();
            let unit = dimension.symbols().next().unwrap_or_default();
            for (number, held_at_all) in [(least, true), (least - 1, false)] {
                assert_eq!(held(&format!("{number} {unit}")).is_ok(), held_at_all, "{number} {unit}");
            }
            if most <= 999_999_999 {
                assert!(held(&format!("{most} {unit}")).is_ok() && held(&format!("{} {unit}", most + 1)).is_err(), "{most} {unit}");
            }
        }
        assert!(Dimension::ActivePower.parse_held("999999999 MW").is_err());
        assert!(Dimension::Voltage.parse_held("10 pu").is_ok() && Dimension::Voltage.parse_held("10.01 pu").is_err());
        assert!(Dimension::Voltage.parse_held("-0.1 pu").is_err());
        assert!(Dimension::Percent.parse_held("-60 %").is_ok() && Dimension::Percent.parse_set("-0.1 %").is_err());
        assert!(Dimension::Percent.parse_set("0 %").is_ok() && Dimension::Count.parse_set("0").is_err());
    }
}
