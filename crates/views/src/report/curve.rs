//! What `curve --format json` prints; tables and pictures are made from the same.

use rules::provenance::Figures;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::exact::Exact;

/// What `curve --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CurveReport {
    /// Each response.
    pub responses: Vec<ResponseReport>,
    /// With `--of power`: what each device gives with all its responses together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power: Option<Vec<PowerReport>>,
}

/// What a device gives with all its responses together.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct PowerReport {
    /// Site and device.
    pub of: String,
    /// What its source could give, in watts; below zero, what it would charge with.
    pub available: f64,
    /// In hertz.
    pub frequency: f64,
    /// At each voltage, ascending.
    pub points: Vec<PowerPoint>,
    /// What nobody stated, and how it was reckoned.
    pub taken_as: Vec<String>,
}

/// What a device gives at a voltage.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct PowerPoint {
    /// At its terminals, line to neutral, in volts.
    pub voltage: f64,
    /// In watts; below zero it charges.
    pub active: f64,
    /// In vars: above zero supplies, below absorbs.
    pub reactive: f64,
    /// What its reactive mode asked for before a limit cut it, in vars.
    pub reactive_asked: f64,
    /// In volt-amperes.
    pub apparent: f64,
    /// What keeps active power where it is.
    pub held_by: &'static str,
    /// Whether reactive power that locks in acted before, where that decides: then the voltage has two points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acted_before: Option<bool>,
}

/// One response of everything that was named.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ResponseReport {
    /// The function, as files name it.
    pub response: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What is measured.
    pub x: AxisReport,
    /// What follows.
    pub y: AxisReport,
    /// Where `y` of each curve was read, in the base unit of `x`, ascending.
    pub at: Vec<f64>,
    /// Of each, how many figures are asked, and how many of them nobody verified.
    pub asked: Vec<AskedReport>,
    /// Each curve: what is required, the edges of what complies and of what may be adjusted, and what devices hold.
    pub curves: Vec<CurveSeries>,
}

/// How the figures that are asked of one response are known.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AskedReport {
    /// Whose they are: site and device, or the requirements.
    pub of: String,
    /// How many figures are known in each way.
    pub figures: Figures,
}

/// An axis.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AxisReport {
    /// What it measures.
    pub title: &'static str,
    /// Its unit.
    pub unit: &'static str,
}

/// One curve.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CurveSeries {
    /// Whose it is: site and device, or the requirements.
    pub of: String,
    /// `required`, `lowest-that-complies`, `highest-that-complies`, `lowest-adjustable`, `highest-adjustable` or `held`.
    pub kind: &'static str,
    /// The points at which it bends, in base units; flat beyond the first and the last. Empty for edges.
    pub points: Vec<[f64; 2]>,
    /// Its level at each of `at`; at a step, as it is approached from below. Null where there is no limit.
    pub y: Vec<Option<f64>>,
    /// The same in watts or vars, where the rating is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power: Option<Vec<Option<f64>>>,
    /// Of what a device holds, how far inside what complies, in the unit of `y`; negative outside.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slack: Option<Vec<Option<f64>>>,
}

/// A number for a picture or for a program: at most nine digits pass unharmed.
#[must_use]
pub fn number(exact: Exact) -> f64 {
    exact.to_string().parse().unwrap_or(f64::NAN)
}
