//! What `behaves --fleet --counters` writes: one line a device and day, enough to decide by without its rows.

use behaviour::counters::Day;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was counted of a device on one day. Lines add up in any order; none of them has a time of day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CountersLine {
    /// Always `behaviour-counters`.
    pub kind: CountersKind,
    /// The version of this form: 1.
    #[schemars(range(min = 1, max = 1))]
    pub version: u32,
    /// The site.
    pub site: String,
    /// The device.
    pub device: String,
    /// The day by the log's own clock, `2026-11-16`; its number where the log has no dates.
    pub day: String,
    /// What it was counted under.
    pub counted_under: CountedUnder,
    /// The log.
    pub log: CountedLog,
    /// What was counted.
    pub counts: Day,
}

/// The kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CountersKind {
    /// Counters of behaviour.
    BehaviourCounters,
}

/// What counters were counted under: they decide nothing under anything else.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CountedUnder {
    /// The version of the program.
    pub program: String,
    /// The day that requirements were asked for.
    pub as_of: String,
    /// SHA-256 over the settings, the requirements and what was stated of the log.
    pub sha256: String,
}

/// A log, as far as anything is decided by it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CountedLog {
    /// What its columns hold, by the words of `--columns`.
    pub columns: Vec<String>,
    /// Whether its heading says that it counts what is absorbed, or what is supplied.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counts_absorbed: Option<bool>,
    /// Its clock: seconds ahead of UTC; absent where it does not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub utc_offset_s: Option<i32>,
    /// Whether it has dates.
    pub has_dates: bool,
    /// The usual step between rows, in microseconds.
    pub step_us: i64,
    /// The longest step that is no gap.
    pub longest_step_us: i64,
    /// Whether values are means.
    pub are_means: bool,
    /// The steps in which volts, watts and vars are written, in thousandths.
    pub resolution_milli: [u32; 3],
    /// The highest frequency of all of it, in thousandths of a hertz.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest_frequency_milli: Option<u32>,
}
