//! What the numbers of displays count, and how they turn into the catalogue's own units.
//!
//! A conversion is a ratio of decimals, at times with √3. Where what comes of it is no short decimal
//! number (volts between lines, cycles of 60 Hz), the value stands for an interval of the display's
//! resolution, never narrower than what was shown; see [`Converted`].

use crate::catalogue::{Group, Shape};
use crate::claim::{Part, Var};
use crate::exact::Exact;
use crate::facts::{FactId, Facts};
use crate::files::{PercentOf, PowerBase};
use crate::quantity::Dimension;
use crate::slip::{Slip, one_of};

/// What a number on a display counts.
#[derive(Debug)]
pub struct Unit {
    /// As label maps name it: `V line-line`.
    pub word: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How displays and people write it behind the number, the usual way first.
    pub symbols: &'static [&'static str],
    scale: Scale,
}

/// How a number becomes one of the dimension's base units.
#[derive(Clone, Copy, Debug)]
enum Scale {
    /// So many base units each: mantissa and decimals.
    Each(i64, u32),
    /// Per cent of the nominal voltage.
    OfNominal,
    /// Divided by √3.
    LineLine,
    /// Cycles of so many hertz.
    Cycles(i64),
    /// Per cent of a rating.
    OfRating(PowerBase),
}

const fn unit(word: &'static str, dimension: Dimension, symbols: &'static [&'static str], scale: Scale) -> Unit {
    Unit { word, dimension, symbols, scale }
}

const ONE: Scale = Scale::Each(1, 0);
const THOUSAND: Scale = Scale::Each(1000, 0);
const THOUSANDTH: Scale = Scale::Each(1, 3);
const CYCLES: &[&str] = &["cycles", "cycle", "cyc"];
const PERCENT: &[&str] = &["%"];
const TO_EARTH: &str = "V neutral to earth";
const OF_APPARENT: Scale = Scale::OfRating(PowerBase::RatedApparentPower);
const OF_ACTIVE: Scale = Scale::OfRating(PowerBase::RatedActivePower);

static UNITS: [Unit; 32] = [
    unit("V line-neutral", Dimension::Voltage, &["V"], ONE),
    unit("V line-line", Dimension::Voltage, &["V"], Scale::LineLine),
    unit("% of nominal voltage", Dimension::Voltage, PERCENT, Scale::OfNominal),
    unit("Hz", Dimension::Frequency, &["Hz"], ONE),
    unit("mHz", Dimension::Frequency, &["mHz"], THOUSANDTH),
    unit("s", Dimension::Time, &["s"], ONE),
    unit("ms", Dimension::Time, &["ms"], THOUSANDTH),
    unit("min", Dimension::Time, &["min"], Scale::Each(60, 0)),
    unit("h", Dimension::Time, &["h"], Scale::Each(3600, 0)),
    unit("cycles of 50 Hz", Dimension::Time, CYCLES, Scale::Cycles(50)),
    unit("cycles of 60 Hz", Dimension::Time, CYCLES, Scale::Cycles(60)),
    unit("%", Dimension::Percent, PERCENT, ONE),
    unit("% of rated apparent power", Dimension::Percent, PERCENT, OF_APPARENT),
    unit("% of rated active power", Dimension::Percent, PERCENT, OF_ACTIVE),
    unit("W", Dimension::ActivePower, &["W"], ONE),
    unit("kW", Dimension::ActivePower, &["kW"], THOUSAND),
    unit("% of rated active power", Dimension::ActivePower, PERCENT, OF_ACTIVE),
    unit("VA", Dimension::ApparentPower, &["VA"], ONE),
    unit("kVA", Dimension::ApparentPower, &["kVA"], THOUSAND),
    unit("% of rated apparent power", Dimension::ApparentPower, PERCENT, OF_APPARENT),
    unit("A", Dimension::Current, &["A"], ONE),
    unit("mA", Dimension::Current, &["mA"], THOUSANDTH),
    unit("Hz/s", Dimension::FrequencyRate, &["Hz/s"], ONE),
    unit("mHz/s", Dimension::FrequencyRate, &["mHz/s"], THOUSANDTH),
    unit("deg", Dimension::Angle, &["deg", "°"], ONE),
    unit("%/min", Dimension::RampRate, &["%/min"], ONE),
    unit("%/s", Dimension::RampRate, &["%/s"], Scale::Each(60, 0)),
    unit("", Dimension::PowerFactor, &[], ONE),
    unit(TO_EARTH, Dimension::Voltage, &["V"], ONE),
    unit("kV line-neutral", Dimension::Voltage, &["kV"], THOUSAND),
    unit("kV line-line", Dimension::Voltage, &["kV"], Scale::LineLine),
    unit("", Dimension::Count, &[], ONE),
];

/// What a conversion has to know of a site and a device.
#[derive(Clone, Copy, Debug)]
pub struct Site<'f> {
    /// The facts of the site and of the device.
    pub facts: &'f Facts,
    /// Of what the standard takes percentages, where it is settled under which one the site stands.
    pub percent_of: Option<Option<PercentOf>>,
}

/// What a conversion lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lacks {
    /// A fact of the site or the device.
    Fact(FactId),
    /// The standard does not say of what its percentages are.
    PercentOf,
}

/// Base units are what is shown × `times` / `over`, / √3 for volts between lines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ratio {
    times: Exact,
    over: Exact,
    between_lines: bool,
}

/// √3 to nineteen digits; what is made with it is told in nine, and as an interval.
const ROOT_THREE: fn() -> Exact = || Exact::new(1_732_050_807_568_877_294, 18);

/// Which kind of power a percentage is of, where it is one of power.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Axis {
    Active,
    Reactive,
}

/// Of what a part of a setting is a percentage: `None` where it is not one of power.
fn axis(var: Var) -> Option<Axis> {
    if var.setting.group() != Group::VoltageResponse || dimension(var) != Some(Dimension::Percent) {
        return None;
    }
    Some(match (var.setting.function().key, var.part) {
        ("volt-watt" | "volt-watt-charging" | "power-dependent-power-factor", _) | ("watt-var", Part::X(_)) => Axis::Active,
        _ => Axis::Reactive,
    })
}

/// What a part of a setting measures; `None` of words.
pub(super) fn dimension(var: Var) -> Option<Dimension> {
    match (var.setting.parameter().shape, var.part) {
        (Shape::Quantity(dimension), Part::Whole) => Some(dimension),
        (Shape::Curve { x, .. }, Part::X(_)) => Some(x),
        (Shape::Curve { y, .. }, Part::Y(_)) => Some(y),
        _ => None,
    }
}

impl Unit {
    /// The unit of a part of a setting that a label map names.
    ///
    /// # Errors
    /// What is wrong with the word, and what may stand in its place.
    pub fn named(var: Var, word: &str) -> Result<&'static Self, Slip> {
        let is_displacement = var.setting.function().key == "neutral-voltage-displacement";
        let fits = |unit: &&Self| match axis(var) {
            None if unit.dimension == Dimension::Voltage => (unit.word == TO_EARTH) == is_displacement,
            Some(_) => matches!(unit.scale, Scale::OfRating(_)),
            None => unit.dimension != Dimension::Percent || !matches!(unit.scale, Scale::OfRating(_)),
        };
        let of_part = || UNITS.iter().filter(|unit| Some(unit.dimension) == dimension(var)).filter(fits);
        let known: Vec<&str> = of_part().map(|unit| unit.word).collect();
        of_part().find(|unit| unit.word == word.trim()).ok_or_else(|| {
            let says = match word.trim() {
                "" => "the label does not say what its number counts".to_owned(),
                word => format!("`{word}` is not what such a number counts"),
            };
            Slip::new(says, format!("write `unit: …`: {}", one_of(&known.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>())))
        })
    }

    /// A number with the unit behind, as a display shows it.
    #[must_use]
    pub fn show(&self, number: Exact) -> String {
        match self.symbols {
            [] => number.to_string(),
            [_, one, ..] if matches!(self.scale, Scale::Cycles(_)) && number == Exact::ONE => format!("{number} {one}"),
            [symbol, ..] => format!("{number} {symbol}"),
        }
    }

    pub(super) fn ratio(&self, var: Var, site: Site<'_>) -> Result<Ratio, Lacks> {
        let number = |fact| site.facts.number(fact).filter(|number| *number > Exact::ZERO).ok_or(Lacks::Fact(fact));
        let plain = |times, over| Ratio { times, over, between_lines: false };
        Ok(match self.scale {
            Scale::Each(mantissa, decimals) => plain(Exact::new(mantissa, decimals), Exact::ONE),
            Scale::OfNominal => plain(number(FactId::NominalVoltage)?, Exact::HUNDRED),
            Scale::LineLine => {
                let times = if self.symbols[0] == "kV" { 1000 } else { 1 };
                Ratio { between_lines: true, ..plain(Exact::from(times), Exact::ONE) }
            }
            Scale::Cycles(hertz) => plain(Exact::ONE, Exact::from(hertz)),
            Scale::OfRating(shown) => match (axis(var), site.percent_of) {
                (None, _) => plain(number(shown.fact())?, Exact::HUNDRED),
                // what the site stands under is reported by itself
                (Some(_), None) => plain(Exact::ONE, Exact::ONE),
                (Some(axis), Some(of)) => {
                    let of = of.ok_or(Lacks::PercentOf)?;
                    let asked = if axis == Axis::Active { of.active } else { of.reactive };
                    if asked == shown { plain(Exact::ONE, Exact::ONE) } else { plain(number(shown.fact())?, number(asked.fact())?) }
                }
            },
        })
    }
}

/// What a number on a display comes to in base units, in nine digits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Converted {
    /// The number.
    pub(super) number: Exact,
    /// What it may be off by: nothing where it is a short decimal number.
    pub(super) off_by: Exact,
}

impl Ratio {
    /// What is shown, in base units. `None` where numbers run out of room.
    pub(super) fn to_base(self, shown: Exact) -> Option<Converted> {
        let product = shown.checked_mul(self.times)?;
        let root = if self.between_lines { ROOT_THREE() } else { Exact::ONE };
        let quotient = product.divided_roughly(root, 18)?.divided_roughly(self.over, 18)?;
        let (number, last_place) = quotient.nine_digits();
        let exact = !self.between_lines && number.checked_mul(self.over)? == product;
        Some(Converted { number, off_by: if exact || product == Exact::ZERO { Exact::ZERO } else { last_place } })
    }

    /// A distance between two values shown, in base units, never too small.
    pub(super) fn step_to_base(self, resolution: Exact, off_by: Exact) -> Option<Exact> {
        let step = self.to_base(resolution)?;
        let (number, last_place) = (step.number + step.off_by + off_by + off_by).nine_digits();
        Some(if off_by == Exact::ZERO { number } else { number + last_place })
    }

    /// Base units as they are shown, to `decimals` places, and whether that is all of them.
    pub(super) fn to_shown(self, base: Exact) -> Option<Converted> {
        let product = base.checked_mul(self.over)?;
        let root = if self.between_lines { ROOT_THREE() } else { Exact::ONE };
        let shown = product.checked_mul(root)?.divided_roughly(self.times, 12)?;
        let exact = !self.between_lines && shown.checked_mul(self.times)? == product;
        Some(Converted { number: shown, off_by: if exact || product == Exact::ZERO { Exact::ZERO } else { Exact::new(1, 9) } })
    }
}

/// The multiple of a step that is nearest to a number.
pub(super) fn nearest_multiple(number: Exact, step: Exact) -> Option<Exact> {
    number.divided_roughly(step, 0)?.checked_mul(step)
}
