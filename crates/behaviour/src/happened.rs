//! What may happen at a time, and how often it did.

use crate::within;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How long, in milliseconds.
pub type Millis = u64;

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Happened {
    /// It gave power when every lawful device had left.
    StayedOn,
    /// It left when every lawful device had.
    Left,
    /// It had left, and gave power again when every lawful device still waited.
    CameBackEarly,
    /// It waited as long as every lawful device does, and came back.
    Waited,
    /// It gave more than any lawful device that is coming back.
    RoseTooFast,
    /// It came back no faster than a lawful device.
    RoseInTime,
    /// It gave more than any lawful device at a high frequency.
    AboveAtHighFrequency,
    /// It gave no more than a lawful device at a high frequency, with more available.
    FellAtHighFrequency,
    /// It stopped, and nothing in the log asks it to.
    StoppedUnexplained,
}

/// How often, how long, and by how much at the most in thousandths of a watt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Often {
    /// How many times.
    #[serde(deserialize_with = "within::times")]
    pub times: u32,
    /// How long in all, in milliseconds.
    #[serde(rename = "lasted-ms", deserialize_with = "within::duration")]
    pub lasted: Millis,
}

/// Everything that happened on a day.
pub type OfDay = BTreeMap<Happened, Often>;
