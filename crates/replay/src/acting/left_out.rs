//! What the play of a device leaves out: settings that are known and that nothing here acts by.
//!
//! The one list that every verb asks which shows what a device does.

use super::values::Values;
use settings_model::catalogue::{SettingId, Shape};
use settings_model::value::Value;

/// What is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Play {
    /// What it gives at one voltage and frequency, once it has answered in full.
    Moment,
    /// What it does as voltage and frequency move.
    Time,
    /// How long it stays on, against voltage or frequency.
    Stages,
}

/// A setting that is left out.
struct LeftOut {
    setting: &'static str,
    /// Of which plays.
    of: &'static [Play],
    /// The word that makes it matter, of a choice.
    word: Option<&'static str>,
    /// What is played instead.
    says: &'static str,
}

const fn row(setting: &'static str, of: &'static [Play], says: &'static str) -> LeftOut {
    LeftOut { setting, of, word: None, says }
}

const POWER: &[Play] = &[Play::Moment, Play::Time];
const TIME: &[Play] = &[Play::Time];
const STAGES: &[Play] = &[Play::Stages];
const ALL: &[Play] = &[Play::Moment, Play::Time, Play::Stages];

/// Every one, in the order in which they are told.
const LEFT_OUT: [LeftOut; 11] = [
    row(
        "over-frequency-response/return-lower-frequency",
        TIME,
        "response to high frequency: the window in which power moves back is not played; it is assumed to move back at the start",
    ),
    row("start-of-generation/observation-time", TIME, "start without a trip before it: not played; it is assumed to have run before"),
    row(
        "volt-var/least-power-factor",
        POWER,
        "volt-var: its least power factor is not played; the curve is used whatever active power there is",
    ),
    LeftOut {
        setting: "volt-var/reference-follows",
        of: POWER,
        word: Some("enabled"),
        says: "volt-var: its reference follows the voltage; that is not played, and the curve is assumed to stay where it is",
    },
    row("generation-limit/hard", POWER, "generation limit: its hard limit, above which the device disconnects, is not played"),
    row("export-limit/hard-limit", POWER, "export limit: its hard limit, above which the device disconnects, is not played"),
    row("phase-balance/limit", ALL, "phase balance of the device: not played; no difference between its phases is assumed to limit it"),
    row("rate-of-change-of-frequency/threshold", STAGES, "rate of change of frequency: not on this map"),
    row("vector-shift/threshold", STAGES, "vector shift: not on this map"),
    row("remote-trip/state", STAGES, "trip by a signal from outside: not on this map"),
    row("active-anti-islanding/disconnection", STAGES, "active anti-islanding: not on this map"),
];

/// What the play of a device leaves out, each as a sentence that begins with its function.
pub fn left_out(values: &Values<'_>, play: Play) -> Vec<String> {
    let plays = LEFT_OUT.iter().filter(|row| row.of.contains(&play));
    plays.filter(|row| is_known(values, row)).map(|row| row.says.to_owned()).collect()
}

/// Whether it is known, would act, and has the word that makes it matter.
fn is_known(values: &Values<'_>, row: &LeftOut) -> bool {
    let Some(id) = SettingId::named(row.setting) else { return false };
    let Some(value) = values.value(id) else { return false };
    let has_word = row.word.is_none_or(|word| match (value, id.parameter().shape) {
        (Value::Word(at), Shape::Choice(words)) => words.get(usize::from(*at)) == Some(&word),
        _ => false,
    });
    has_word && values.is_enabled(id.function().key) != Some(false)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_of_a_setting() {
        for row in &LEFT_OUT {
            let id = SettingId::named(row.setting).unwrap_or_else(|| panic!("{}", row.setting));
            let title = id.function().title.to_lowercase();
            assert!(row.says.starts_with(&title), "{title}: {}", row.says);
        }
    }
}
