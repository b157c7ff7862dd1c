//! What `trip-map --format json` prints; tables and pictures are made from the same.

use rules::provenance::Figures;
use schemars::JsonSchema;
use serde::Serialize;

/// What `trip-map --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct TripMapReport {
    /// A map for each device, or for the requirements, of voltage and of frequency.
    pub maps: Vec<MapReport>,
}

/// One map.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MapReport {
    /// Site and device, or the requirements.
    pub of: String,
    /// `voltage` or `frequency`.
    pub measured: &'static str,
    /// The unit of thresholds: `V`, `Hz`, or `pu` where nobody says of how many volts.
    pub unit: &'static str,
    /// Whether the standard's withstand is known; else only the least delays of stages say how long to stay.
    pub withstand_known: bool,
    /// How the figures are known on which the stages rest.
    pub figures: Figures,
    /// The limit on the mean of the voltage; null where none is asked.
    pub mean: Option<MeanReport>,
    /// From the lowest values to the highest, without a gap.
    pub slices: Vec<SliceReport>,
    /// The stages that the device holds; empty for requirements.
    pub held: Vec<HeldStageReport>,
    /// What else makes the device leave, or keeps it from it, and is not on the map.
    pub left_out: Vec<String>,
}

/// Values that are treated alike.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SliceReport {
    /// The lower edge; null without end.
    pub from: Option<f64>,
    /// The upper edge; null without end.
    pub to: Option<f64>,
    /// Seconds for which the device has to stay on, at the lower and at the upper edge, with a straight line
    /// between; null for as long as it lasts.
    pub stays: [Option<f64>; 2],
    /// Seconds by which it must be off where a value stays; null where nobody says so.
    pub off_by: Option<f64>,
    /// The stages that act here.
    pub stages: Vec<&'static str>,
    /// Whether only the limit on the mean acts here: it has to stay on until the mean is above that.
    pub by_mean: bool,
}

/// A limit on a mean.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MeanReport {
    /// The function.
    pub stage: &'static str,
    /// The mean above which it may trip, and the one above which it must.
    pub above: [f64; 2],
    /// The window, in seconds.
    pub window: f64,
    /// Seconds after that by which it must be off; null where nobody says so.
    pub off_within: Option<f64>,
}

/// A stage that a device holds.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct HeldStageReport {
    /// The function, such as `overvoltage-1`.
    pub stage: &'static str,
    /// `below` or `above` its threshold.
    pub acts: &'static str,
    /// The threshold.
    pub threshold: f64,
    /// The least seconds before it may trip; null where nobody knows, and of a stage that looks at a mean.
    pub after: Option<f64>,
    /// The seconds by which it is off, where that is what the device states; null otherwise.
    pub off_by: Option<f64>,
    /// The window of the mean that it looks at, in seconds; null where it looks at moments.
    pub window: Option<f64>,
}
