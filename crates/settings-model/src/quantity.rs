//! Quantities: a number with a unit, as files write it and as people read it.
//!
//! `253 V` is plain; `1.10 pu` is a multiple of a site fact and stays symbolic until the fact is
//! known ([`Amount`]). Inside the tool every plain number is in its dimension's base unit.

use crate::exact::Exact;
use crate::facts::{FactId, Facts};
use crate::slip::{Slip, one_of, with_article};

mod possible;
mod slips;

/// What a quantity measures. Decides which units a file may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Base unit volt. Line to neutral unless a file says otherwise.
    Voltage,
    /// Base unit hertz.
    Frequency,
    /// Base unit second.
    Time,
    /// Per cent; of what is said by the standard.
    Percent,
    /// Base unit watt.
    ActivePower,
    /// Base unit volt-ampere.
    ApparentPower,
    /// Base unit ampere.
    Current,
    /// Base unit hertz per second.
    FrequencyRate,
    /// Base unit degree, of phase.
    Angle,
    /// A plain number from 0 to 1, without a unit; which way it leans is said beside it.
    PowerFactor,
    /// Base unit per cent per minute (per second would not be exact: 10 %/min is 0.1666… %/s).
    RampRate,
    /// A plain number without a unit.
    Count,
    /// Base unit metre.
    Length,
    /// Base unit square millimetre, of a conductor.
    Area,
    /// Base unit ohm: resistance or reactance.
    Resistance,
    /// Base unit ohm per kilometre.
    ImpedancePerLength,
    /// Base unit millivolt by ampere and metre of route.
    VoltageDrop,
}

/// A unit: how it is written, and its size in base units.
struct Unit {
    symbol: &'static str,
    size: (i64, u32),
    of: Option<FactId>,
}

impl Unit {
    #[inline(always)]
    fn amount(&self, number: Exact) -> Amount {
        let (mantissa, decimals) = self.size;
        let number = if self.size == (1, 0) { number } else { number * Exact::new(mantissa, decimals) };
        Amount { number, of: self.of }
    }
}

const fn unit(symbol: &'static str, mantissa: i64, decimals: u32) -> Unit {
    Unit { symbol, size: (mantissa, decimals), of: None }
}

const PER_UNIT_VOLTAGE: Unit = Unit { symbol: "pu", size: (1, 0), of: Some(FactId::NominalVoltage) };

impl Dimension {
    /// The base unit first, then the others.
    const fn units(self) -> &'static [Unit] {
        const VOLTAGE: &[Unit] = &[unit("V", 1, 0), unit("kV", 1000, 0), unit("mV", 1, 3), PER_UNIT_VOLTAGE];
        const FREQUENCY: &[Unit] = &[unit("Hz", 1, 0), unit("mHz", 1, 3)];
        const TIME: &[Unit] = &[unit("s", 1, 0), unit("ms", 1, 3), unit("min", 60, 0), unit("h", 3600, 0)];
        const PERCENT: &[Unit] = &[unit("%", 1, 0)];
        const ACTIVE_POWER: &[Unit] = &[unit("W", 1, 0), unit("kW", 1000, 0), unit("MW", 1_000_000, 0)];
        const APPARENT_POWER: &[Unit] = &[unit("VA", 1, 0), unit("kVA", 1000, 0), unit("MVA", 1_000_000, 0)];
        const CURRENT: &[Unit] = &[unit("A", 1, 0), unit("kA", 1000, 0), unit("mA", 1, 3)];
        const FREQUENCY_RATE: &[Unit] = &[unit("Hz/s", 1, 0), unit("mHz/s", 1, 3)];
        const ANGLE: &[Unit] = &[unit("deg", 1, 0), unit("°", 1, 0)];
        const RAMP_RATE: &[Unit] = &[unit("%/min", 1, 0), unit("%/s", 60, 0)];
        const COUNT: &[Unit] = &[unit("", 1, 0)];
        const LENGTH: &[Unit] = &[unit("m", 1, 0), unit("km", 1000, 0)];
        const AREA: &[Unit] = &[unit("mm2", 1, 0), unit("mm²", 1, 0)];
        const RESISTANCE: &[Unit] = &[unit("ohm", 1, 0), unit("mohm", 1, 3)];
        const IMPEDANCE_PER_LENGTH: &[Unit] = &[unit("ohm/km", 1, 0), unit("mohm/m", 1, 0)];
        const VOLTAGE_DROP: &[Unit] = &[unit("mV/A.m", 1, 0), unit("mV/A·m", 1, 0)];
        match self {
            Self::Voltage => VOLTAGE,
            Self::Frequency => FREQUENCY,
            Self::Time => TIME,
            Self::Percent => PERCENT,
            Self::ActivePower => ACTIVE_POWER,
            Self::ApparentPower => APPARENT_POWER,
            Self::Current => CURRENT,
            Self::FrequencyRate => FREQUENCY_RATE,
            Self::Angle => ANGLE,
            Self::RampRate => RAMP_RATE,
            Self::PowerFactor | Self::Count => COUNT,
            Self::Length => LENGTH,
            Self::Area => AREA,
            Self::Resistance => RESISTANCE,
            Self::ImpedancePerLength => IMPEDANCE_PER_LENGTH,
            Self::VoltageDrop => VOLTAGE_DROP,
        }
    }

    /// The dimension's name, for messages and schemas.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Voltage => "voltage",
            Self::Frequency => "frequency",
            Self::Time => "time",
            Self::Percent => "percentage",
            Self::ActivePower => "active power",
            Self::ApparentPower => "apparent power",
            Self::Current => "current",
            Self::FrequencyRate => "rate of change of frequency",
            Self::Angle => "angle",
            Self::PowerFactor => "power factor",
            Self::RampRate => "ramp rate",
            Self::Count => "count",
            Self::Length => "length",
            Self::Area => "cross-section",
            Self::Resistance => "resistance",
            Self::ImpedancePerLength => "resistance by length",
            Self::VoltageDrop => "voltage drop by ampere and metre",
        }
    }

    /// The same with its article: `a voltage`, `an active power`.
    #[must_use]
    pub fn a_name(self) -> String {
        with_article(self.name())
    }

    /// The unit in which a text ends, or else the base unit.
    #[must_use]
    pub fn unit_of(self, text: &str) -> &'static str {
        let last = text.rsplit(' ').next().unwrap_or_default();
        let units = self.units();
        units.iter().find(|unit| unit.symbol == last).map_or(units[0].symbol, |unit| unit.symbol)
    }

    /// Every dimension.
    pub const ALL: [Self; 17] = [
        Self::Voltage,
        Self::Frequency,
        Self::Time,
        Self::Percent,
        Self::ActivePower,
        Self::ApparentPower,
        Self::Current,
        Self::FrequencyRate,
        Self::Angle,
        Self::PowerFactor,
        Self::RampRate,
        Self::Count,
        Self::Length,
        Self::Area,
        Self::Resistance,
        Self::ImpedancePerLength,
        Self::VoltageDrop,
    ];

    /// The dimension of this [`name`](Self::name).
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.name() == name)
    }

    /// How a value might be written, for messages and editors.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Voltage => "253 V",
            Self::Frequency => "50.2 Hz",
            Self::Time => "200 ms",
            Self::Percent => "44 %",
            Self::ActivePower => "5 kW",
            Self::ApparentPower => "5 kVA",
            Self::Current => "20 A",
            Self::FrequencyRate => "4 Hz/s",
            Self::Angle => "60 deg",
            Self::PowerFactor => "0.95",
            Self::RampRate => "16.67 %/min",
            Self::Count => "3",
            Self::Length => "18 m",
            Self::Area => "6 mm2",
            Self::Resistance => "0.12 ohm",
            Self::ImpedancePerLength => "0.927 ohm/km",
            Self::VoltageDrop => "6.49 mV/A.m",
        }
    }

    /// Whether it is a plain number, which a file may write without quotes.
    #[must_use]
    pub fn is_unitless(self) -> bool {
        self.base().is_empty()
    }

    /// The units a file may use, base unit first.
    pub fn symbols(self) -> impl Iterator<Item = &'static str> {
        self.units().iter().map(|u| u.symbol).filter(|s| !s.is_empty())
    }

    /// Reads `253 V`, `1.10 pu`, `-60 %`.
    ///
    /// # Errors
    /// What is wrong with the text, and how to mend it.
    // Inlined down to the slot that it fills: a decimal handed on from call to call through memory
    // costs more than reading its digits.
    #[inline(always)]
    pub fn parse(self, text: &str) -> Result<Amount, Slip> {
        self.parse_plain(text).map_or_else(|| self.parse_any(text), Ok)
    }

    /// The common case, written as it should be; see [`Exact::leading`].
    #[inline(always)]
    fn parse_plain(self, text: &str) -> Option<Amount> {
        if self.is_unitless() {
            return None;
        }
        let (number, taken) = Exact::leading(text.as_bytes())?;
        let symbol = text.as_bytes()[taken..].strip_prefix(b" ")?;
        let unit = self.units().iter().find(|unit| unit.symbol.bytes().eq(symbol.iter().copied()))?;
        Some(unit.amount(number))
    }

    #[cold]
    fn parse_any(self, text: &str) -> Result<Amount, Slip> {
        let text = text.trim();
        let (number, symbol) = split(text);
        let Some(unit) = self.units().iter().find(|unit| unit.symbol == symbol) else {
            return Err(self.wrong_unit(text, number, symbol));
        };
        let number = Exact::parse(number).map_err(|error| self.wrong_number(text, number, error))?;
        if self == Self::PowerFactor && (number <= Exact::ZERO || number > Exact::ONE) {
            let help = "write it above 0 and at most 1, and write absorbing or supplying under `direction`";
            return Err(Slip::new(format!("`{text}` is no power factor"), help));
        }
        Ok(unit.amount(number))
    }

    /// The symbol of the base unit.
    fn base(self) -> &'static str {
        self.units()[0].symbol
    }

    /// `V, kV, mV or pu`.
    fn listed_units(self) -> String {
        one_of(&self.symbols().collect::<Vec<_>>())
    }

    /// A number of base units as people write it: `5 kW`, `0.2 s`, `24 h`, `253 V`.
    #[must_use]
    pub fn show(self, number: Exact) -> String {
        let thousand = Exact::from(1000);
        let (number, symbol) = match self {
            Self::Count | Self::PowerFactor => return number.to_string(),
            Self::ActivePower if number.abs() >= thousand => (number * Exact::new(1, 3), "kW"),
            Self::ApparentPower if number.abs() >= thousand => (number * Exact::new(1, 3), "kVA"),
            Self::Time if hours(number).is_some_and(|hours| hours >= Exact::from(2)) => (hours(number).unwrap_or_default(), "h"),
            _ => (number, self.base()),
        };
        format!("{number} {symbol}")
    }
}

/// A time in whole hours, if that is what it is.
fn hours(seconds: Exact) -> Option<Exact> {
    let hours = seconds.divided_roughly(Exact::from(3600), 0)?;
    (hours * Exact::from(3600) == seconds).then_some(hours)
}

/// The number in front and the unit behind; the space between may be missing.
fn split(text: &str) -> (&str, &str) {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '−' | '–' | '—');
    let end = text.find(|c| !is_number(c)).unwrap_or(text.len());
    (&text[..end], text[end..].trim_start())
}

/// A number of base units, or a multiple of one site fact (`1.10 pu` is 1.10 × nominal voltage).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Amount {
    /// Base units, or the multiplier.
    pub number: Exact,
    /// The fact it multiplies.
    pub of: Option<FactId>,
}

impl Amount {
    /// A plain number of base units.
    #[must_use]
    pub fn plain(number: Exact) -> Self {
        Self { number, of: None }
    }

    /// A multiple of a fact.
    #[must_use]
    pub fn times(number: Exact, fact: FactId) -> Self {
        Self { number, of: Some(fact) }
    }

    /// In base units at a site; `None` while the fact it depends on is unknown.
    #[must_use]
    pub fn at(self, facts: &Facts) -> Option<Exact> {
        match self.of {
            None => Some(self.number),
            Some(fact) => facts.number(fact).map(|base| self.number * base),
        }
    }

    /// For people: `253 V`, `1.1 pu`, or `1 × approved export`.
    #[must_use]
    pub fn show(self, dimension: Dimension) -> String {
        match self.of {
            None => dimension.show(self.number),
            Some(FactId::NominalVoltage) => format!("{} pu", self.number),
            Some(fact) if self.number == Exact::ONE => format!("the {}", fact.row().title),
            Some(fact) => format!("{} × the {}", self.number, fact.row().title),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_exact_multiples_of_the_base() {
        for (dimension, text, number) in [
            (Dimension::Voltage, "0.253 kV", "253"),
            (Dimension::Time, "200 ms", "0.2"),
            (Dimension::Time, "10 min", "600"),
            (Dimension::Percent, "-60%", "-60"),
            (Dimension::RampRate, "0.16 %/s", "9.6"),
            (Dimension::ApparentPower, "5 kVA", "5000"),
            (Dimension::Count, "3", "3"),
        ] {
            let amount = dimension.parse(text).unwrap();
            assert_eq!((amount.number.to_string(), amount.of), (number.to_owned(), None), "{text}");
        }
    }

    #[test]
    fn per_unit_waits_for_the_nominal_voltage() {
        let amount = Dimension::Voltage.parse("1.10 pu").unwrap();
        let mut facts = Facts::default();
        assert_eq!(amount.at(&facts), None);
        facts.set_number(FactId::NominalVoltage, Exact::from(230));
        assert_eq!(amount.at(&facts), Some(Exact::from(253)));
    }

    #[test]
    fn large_powers_are_shown_in_thousands() {
        assert_eq!(Dimension::ActivePower.show(Exact::from(5000)), "5 kW");
        assert_eq!(Dimension::ActivePower.show(Exact::from(500)), "500 W");
        assert_eq!(Dimension::RampRate.show(Exact::new(1667, 2)), "16.67 %/min");
        let times = [600, 3600, 7200, 86_400, 86_401].map(|seconds| Dimension::Time.show(Exact::from(seconds)));
        assert_eq!(times, ["600 s", "3600 s", "2 h", "24 h", "86401 s"]);
    }
}
