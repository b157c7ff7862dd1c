//! What `identify --format json` prints.

use rules::provenance::Figures;
use schemars::JsonSchema;
use serde::Serialize;

/// What `identify --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct IdentifyReport {
    /// That the site was made for a lesson; absent for any other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub training: Option<&'static str>,
    /// The site.
    pub site: String,
    /// Each device that has as-left settings.
    pub devices: Vec<IdentifiedDevice>,
}

/// What one device's values are like.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct IdentifiedDevice {
    /// Its name in the site's file.
    pub device: String,
    /// How many values are stated.
    pub stated: usize,
    /// Everything at hand with which some value agrees, the likest first.
    pub candidates: Vec<CandidateReport>,
}

/// How a device's values compare with a region of a standard, or a network's version in it.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CandidateReport {
    /// Its name in print.
    pub title: String,
    /// The base standard and edition.
    pub standard: String,
    /// The region.
    pub region: String,
    /// The network, where it is one.
    pub network: Option<String>,
    /// The network's version.
    pub version: Option<String>,
    /// Stated settings that it asks for, and that are so.
    pub agree: Vec<String>,
    /// Stated settings that it asks for otherwise.
    pub differ: Vec<String>,
    /// How the figures are known that they were compared with.
    pub figures: Figures,
}
