//! What `scenario --format json` prints; text and pictures are made from the same.

use super::events::EventsReport;
use schemars::JsonSchema;
use serde::Serialize;

/// What `scenario --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ScenarioReport {
    /// What happens, and what it teaches.
    pub scenario: ScenarioTold,
    /// What the devices did, as `events` tells of a log.
    pub timeline: EventsReport,
}

/// A scenario as it was played.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ScenarioTold {
    /// Its name among those shipped, or its file.
    pub name: String,
    /// Its name in print.
    pub title: String,
    /// What a class learns from it.
    pub teaches: String,
    /// Where its figures come from.
    pub source: String,
    /// How long it lasts, in seconds.
    pub seconds: f64,
    /// What happens, one after another.
    pub steps: Vec<StepTold>,
}

/// A stretch in which everything stays, or moves in a straight line.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StepTold {
    /// When it begins, in seconds.
    pub from: f64,
    /// When it ends.
    pub to: f64,
    /// What the class is told.
    pub says: Option<String>,
    /// Voltage of each phase as it begins and as it ends, in volts.
    pub voltage: [[f64; 3]; 2],
    /// Frequency as it begins and as it ends, in hertz.
    pub frequency: [f64; 2],
    /// What the source could give as it begins and as it ends, in watts; below zero, what storage would charge with.
    pub available: [f64; 2],
    /// What the site itself uses as it begins and as it ends, in watts.
    pub own_use: [f64; 2],
    /// What is lost as it begins: `communication`, `export-sensor`.
    pub loses: Vec<&'static str>,
    /// What comes back as it begins.
    pub regains: Vec<&'static str>,
}
