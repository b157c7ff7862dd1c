//! The catalogue of settings: the one list that drives parsing, schemas, checking and printing.
//!
//! A setting is a *parameter* of a *function*, written `overvoltage-1/threshold`. The code knows a
//! few shapes; which settings exist, and what each means, is this table. A new setting of a known
//! shape is one row here and its numbers in `profiles/`.

mod connection;
mod frequency_response;
mod functions;
mod installation;
mod limits;
mod rows;
mod setting_id;
mod trips;
mod voltage_response;
mod withstand;

pub use functions::FUNCTIONS;
pub use setting_id::{COUNT, MEANINGS_OF_TIME, SettingId};
pub use voltage_response::REFERENCE;

use crate::quantity::Dimension;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What holds settings, or is rated: requirements speak of one of these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[repr(u8)]
pub enum Equipment {
    /// An inverter.
    Inverter,
    /// A relay that protects the connection as a whole.
    GridProtectionRelay,
    /// The installation: what is added up over devices, calculated, or built once for the site.
    Installation,
}

impl Equipment {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Inverter, Self::GridProtectionRelay, Self::Installation];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        ["inverter", "grid-protection-relay", "installation"][self as usize]
    }
}

/// What functions have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Group {
    /// Disconnects past a threshold.
    Trip,
    /// Rides through.
    Withstand,
    /// Connects, reconnects, ramps.
    Connection,
    /// Answers to the voltage, and fixed reactive modes.
    VoltageResponse,
    /// Answers to the frequency.
    FrequencyResponse,
    /// Limits what flows.
    Limit,
    /// Figures of the installation.
    Installation,
}

/// A function of a device, or a figure of the installation.
#[derive(Clone, Copy, Debug)]
pub struct Function {
    /// Its key in files.
    pub key: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What it does, in one sentence.
    pub meaning: &'static str,
    /// What may have it.
    pub held_by: &'static [Equipment],
    /// Its settings, in the order in which people read them.
    pub parameters: &'static [Parameter],
}

/// One setting of a function.
#[derive(Clone, Copy, Debug)]
pub struct Parameter {
    /// Its key in files.
    pub key: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What it means: measurement basis, sign, of what a percentage is taken.
    pub meaning: &'static str,
    /// What values it takes.
    pub shape: Shape,
    /// How a device comes to have it.
    pub held_by: HeldBy,
    /// What follows when it lies above what is required.
    pub above: Harm,
    /// What follows when it lies below, or is not the word required.
    pub below: Harm,
    /// What to do where it is not as required, if entering a value does not mend it.
    pub to_do: Option<&'static str>,
}

/// What values a setting takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// One quantity.
    Quantity(Dimension),
    /// One of a few words.
    Choice(&'static [&'static str]),
    /// Points of a piecewise-linear curve, ascending in `x`; flat outside its ends.
    Curve {
        /// The axis that is measured.
        x: Dimension,
        /// The axis that follows.
        y: Dimension,
    },
}

/// How a device comes to have a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeldBy {
    /// It can be set, or comes with the region that is selected.
    Setting,
    /// Nobody sets it: the type test of the certified device shows it.
    TypeTest,
    /// Nobody sets it: it is calculated for the site, which states it.
    Calculated,
    /// Nobody sets or states it: it is added up from the devices of the site.
    AddedUp,
    /// A device's display shows it without saying which of several meanings it has.
    AmbiguousDisplay,
}

/// What follows when a setting is not as required. Ordered by how much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Harm {
    /// People and equipment are protected less than required.
    ProtectsLess,
    /// More may flow into the network than was approved.
    ExportBreach,
    /// More is installed than is allowed there.
    OverRated,
    /// The phases are loaded unevenly.
    Unbalances,
    /// The network's voltage or frequency is supported less than required.
    SupportsLess,
    /// The device may connect when it should wait.
    ConnectsTooSoon,
    /// The device disconnects when it should stay.
    DropsOutTooEasily,
    /// The owner loses energy without need.
    GivesUpEnergy,
    /// It differs from what is required.
    Departs,
}

impl Harm {
    /// For people, as the end of a sentence.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::ProtectsLess => "protects less than required",
            Self::ExportBreach => "may export more than approved",
            Self::OverRated => "more is installed than is allowed",
            Self::Unbalances => "loads the phases unevenly",
            Self::SupportsLess => "supports the network less than required",
            Self::ConnectsTooSoon => "may connect when it should wait",
            Self::DropsOutTooEasily => "trips too early",
            Self::GivesUpEnergy => "gives up energy without need",
            Self::Departs => "differs from what is required",
        }
    }
}

/// The states of a function. Unknown is not a state.
pub const STATES: &[&str] = &["absent", "off", "enabled"];
/// Index of `enabled` in [`STATES`].
pub const ENABLED: u8 = 2;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_setting_is_found_by_its_own_name_and_by_no_other() {
        let mut names: Vec<String> = SettingId::all().map(|id| id.to_string()).collect();
        for id in SettingId::all() {
            assert_eq!(SettingId::named(&id.to_string()), Some(id));
        }
        names.sort();
        names.dedup();
        assert_eq!(names.len(), COUNT);
        assert_eq!(SettingId::named("overvoltage-1/points"), None);
    }

    #[test]
    fn keys_are_plain_words_that_any_yaml_reader_takes_as_text() {
        for id in SettingId::all() {
            for key in [id.function().key, id.parameter().key] {
                assert!(key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{key}");
                assert!(!matches!(key, "on" | "off" | "yes" | "no" | "y" | "n"), "{key} is a truth value to YAML 1.1");
            }
        }
    }

    #[test]
    fn a_state_knows_its_function_and_the_function_its_state() {
        let threshold = SettingId::named("overvoltage-2/threshold").unwrap();
        let state = threshold.state().unwrap();
        assert!(state.is_state() && !threshold.is_state());
        assert_eq!(state.to_string(), "overvoltage-2/state");
        assert_eq!(SettingId::named("reconnection/observation-time").unwrap().state(), None);
        assert_eq!(STATES[usize::from(ENABLED)], "enabled");
    }
}
