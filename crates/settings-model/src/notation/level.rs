//! Levels and times of a scenario: by themselves, or counted from what is required of a device, so that
//! one scenario fits every standard: `175 V`, `nominal + 5 V`, `undervoltage-1/threshold - 5 V`,
//! `undervoltage-1/stays-on - 100 ms`.

use crate::catalogue::{SettingId, Shape};
use crate::exact::Exact;
use crate::facts::FactId;
use crate::finding::nearest;
use crate::quantity::{Amount, Dimension};
use crate::slip::Slip;

/// From what a level or a time is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountedFrom {
    /// From nothing: the quantity itself.
    Nothing,
    /// The nominal voltage or frequency.
    Nominal,
    /// What is required of a setting.
    Setting(SettingId),
    /// How long a device stays on at least before a stage may trip; the stage by its threshold.
    StaysOn(SettingId),
    /// By when a stage has to have tripped; the stage by its threshold.
    OffBy(SettingId),
}

/// A level, or a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// From what it is counted.
    pub from: CountedFrom,
    /// How far from there, or the quantity itself.
    pub plus: Amount,
}

/// The parameter of a stage that all stages have.
const THRESHOLD: &str = "threshold";
/// How long a device stays on before a stage may trip.
const STAYS_ON: &str = "stays-on";
/// By when a stage has to have tripped.
const OFF_BY: &str = "off-by";

/// Reads a level or a time. A power may be a percentage: of rated active power.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn level(dimension: Dimension, text: &str) -> Result<Level, Slip> {
    let text = text.trim();
    let starts_with_number = text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.'));
    if starts_with_number || text.is_empty() {
        return Ok(Level { from: CountedFrom::Nothing, plus: amount(dimension, text)? });
    }
    let (name, plus) = match text.split_once(' ') {
        None => (text, Amount::plain(Exact::ZERO)),
        Some((name, rest)) => (name, difference(dimension, text, rest.trim_start())?),
    };
    Ok(Level { from: counted_from(dimension, name)?, plus })
}

fn amount(dimension: Dimension, text: &str) -> Result<Amount, Slip> {
    if dimension == Dimension::ActivePower && text.ends_with('%') {
        let share = Dimension::Percent.parse(text)?.number;
        return Ok(Amount::times(share * Exact::new(1, 2), FactId::RatedPower));
    }
    dimension.parse(text)
}

fn difference(dimension: Dimension, text: &str, rest: &str) -> Result<Amount, Slip> {
    let (sign, rest) = match (rest.strip_prefix('+'), rest.strip_prefix('-')) {
        (Some(rest), _) => (Exact::ONE, rest),
        (_, Some(rest)) => (-Exact::ONE, rest),
        _ => {
            let help = format!("write how far from there, as `+ {}`, or nothing", dimension.example());
            return Err(Slip::new(format!("`{text}` goes on with neither + nor -"), help));
        }
    };
    let amount = amount(dimension, rest.trim())?;
    Ok(Amount { number: sign * amount.number, ..amount })
}

fn counted_from(dimension: Dimension, name: &str) -> Result<CountedFrom, Slip> {
    if name == "nominal" && matches!(dimension, Dimension::Voltage | Dimension::Frequency) {
        return Ok(CountedFrom::Nominal);
    }
    if let Some((function, time)) = name.split_once('/').filter(|(_, time)| matches!(*time, STAYS_ON | OFF_BY)) {
        let stage = SettingId::find(function, THRESHOLD).filter(|_| dimension == Dimension::Time);
        let stage = stage.ok_or_else(|| unknown(dimension, name))?;
        return Ok(if time == STAYS_ON { CountedFrom::StaysOn(stage) } else { CountedFrom::OffBy(stage) });
    }
    match SettingId::named(name) {
        Some(setting) if setting.parameter().shape == Shape::Quantity(dimension) => Ok(CountedFrom::Setting(setting)),
        Some(setting) => {
            let says = format!("`{name}` is {}, and {} belongs here", setting.parameter().title, dimension.a_name());
            Err(Slip::new(says, format!("name a setting that is {}, or write `{}`", dimension.a_name(), dimension.example())))
        }
        None => Err(unknown(dimension, name)),
    }
}

fn unknown(dimension: Dimension, name: &str) -> Slip {
    let says = format!("`{name}` is nothing that {} is counted from", dimension.a_name());
    let settings = SettingId::all().filter(|setting| setting.parameter().shape == Shape::Quantity(dimension)).map(|s| s.to_string());
    let stages = SettingId::all().filter(|setting| setting.parameter().key == THRESHOLD && dimension == Dimension::Time);
    let times = stages.flat_map(|stage| [STAYS_ON, OFF_BY].map(|time| format!("{}/{time}", stage.function().key)));
    let known: Vec<String> = settings.chain(times).chain(["nominal".to_owned()]).collect();
    match nearest(name, known.iter().map(String::as_str)) {
        Some(meant) => Slip::new(says, format!("did you mean `{meant}`?")),
        None => Slip::new(says, format!("write `{}`, or name a setting such as `{}`", dimension.example(), known[0])),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_read_as_meant() {
        let threshold = SettingId::of("undervoltage-1", "threshold");
        let volts = |number: &str| Amount::plain(Exact::parse(number).unwrap());
        for (dimension, text, from, plus) in [
            (Dimension::Voltage, "175 V", CountedFrom::Nothing, volts("175")),
            (Dimension::Voltage, "nominal", CountedFrom::Nominal, volts("0")),
            (Dimension::Voltage, "undervoltage-1/threshold - 5 V", CountedFrom::Setting(threshold), volts("-5")),
            (Dimension::Voltage, "nominal + 0.02 pu", CountedFrom::Nominal, Amount::times(Exact::new(2, 2), FactId::NominalVoltage)),
            (Dimension::Time, "undervoltage-1/stays-on - 100 ms", CountedFrom::StaysOn(threshold), volts("-0.1")),
            (Dimension::Time, "undervoltage-1/off-by + 500 ms", CountedFrom::OffBy(threshold), volts("0.5")),
            (Dimension::ActivePower, "80 %", CountedFrom::Nothing, Amount::times(Exact::new(8, 1), FactId::RatedPower)),
        ] {
            assert_eq!(level(dimension, text), Ok(Level { from, plus }), "{text}");
        }
    }

    #[test]
    fn what_is_no_level_is_refused_with_its_remedy() {
        for (dimension, text, help) in [
            (Dimension::Voltage, "undervoltage-1/treshold", "did you mean `undervoltage-1/threshold`?"),
            (Dimension::Voltage, "undervoltage-1/threshold 5 V", "write how far from there, as `+ 253 V`, or nothing"),
            (Dimension::Time, "undervoltage-1/stay-on", "did you mean `undervoltage-1/stays-on`?"),
            (Dimension::Frequency, "undervoltage-1/threshold", "name a setting that is a frequency, or write `50.2 Hz`"),
            (Dimension::Voltage, "undervoltage-1/stays-on", "write `253 V`, or name a setting such as `undervoltage-1/threshold`"),
        ] {
            assert_eq!(level(dimension, text).unwrap_err().help, help, "{text}");
        }
    }
}
