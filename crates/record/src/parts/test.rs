//! Tests on site: what was expected, what was measured, and what it came to.

use rules::provenance::Standing;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is tested.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The supply is opened: how long until it ceases.
    SupplyOpened,
    /// The supply returns: how long until it connects.
    SupplyReturned,
    /// After connecting: how fast its power rises.
    Ramp,
    /// Export is held to its limit while loads are switched.
    ExportLimit,
    /// The export sensor's lead is taken off.
    ExportSensorOff,
    /// Communication that limits come by is lost.
    CommunicationLost,
    /// A trip stage of a grid protection relay, by secondary injection.
    RelayStage,
    /// A trip stage of an inverter: not tested on site.
    TripStage,
}

/// One test.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Test {
    /// Its name on the sheet, `inverter-1/supply-opened`.
    pub name: String,
    /// What is tested.
    pub test: Kind,
    /// The device, or `installation`.
    pub device: String,
    /// In a few words.
    pub title: String,
    /// What to do.
    pub steps: Vec<String>,
    /// What has to come of it.
    pub expected: Vec<Expected>,
    /// What it came to.
    pub result: TestResult,
    /// Why, in words; what was measured against what was expected.
    pub says: String,
    /// What was measured.
    pub measured: Vec<Measured>,
    /// With which instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// When it was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What else was seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub saw: Option<String>,
    /// Why it was not done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_done: Option<String>,
    /// By when to try again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retry_by: Option<String>,
}

/// What a figure of a test is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Figure {
    /// Time until it ceased, or the relay operated.
    Time,
    /// Time until it connected again.
    Waited,
    /// How fast the power rose, or how long from nothing to rated power.
    Ramp,
    /// Most net export.
    Export,
    /// Where a stage picked up.
    PickUp,
    /// Where it let go, as a share of where it picked up.
    DropOff,
}

/// What has to come of a test.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Expected {
    /// Of which figure.
    pub figure: Figure,
    /// In words: `at most 2 s`.
    pub says: String,
    /// The setting that it is from.
    pub setting: String,
    /// Who asks for it.
    pub from: String,
    /// How sure that is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// How far a measurement may lie off, and why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Tolerance>,
    /// By what it can be shown.
    pub certainty: Certainty,
}

/// How far a measurement may lie off. It belongs to the test and never to the setting.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Tolerance {
    /// In words: `± 4 % of 6 kVA`.
    pub says: String,
    /// Where it is from.
    pub source: String,
    /// How sure that is.
    pub basis: Standing,
}

/// By what an expectation can be shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Certainty {
    /// By a measurement on site.
    Measured,
    /// Too short for a measurement by hand: the type test stands for it.
    TypeTest,
}

/// What a test came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TestResult {
    /// It came out as expected.
    Passed,
    /// It did not.
    Failed,
    /// It was done, and what was measured does not decide.
    NotProven,
    /// It was not done, or nothing is said of it.
    NotDone,
    /// It is not done on site: the type test stands for it.
    ByTypeTest,
}

/// A measurement.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Measured {
    /// What was measured.
    pub figure: Figure,
    /// The value, with its unit.
    pub value: String,
}
