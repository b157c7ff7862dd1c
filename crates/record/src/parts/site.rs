//! Which site, and what it stands under.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which site.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Site {
    /// Its own name or number.
    pub name: String,
    /// The network operator, as its profiles name it; absent where a site stands under a standard alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub network: Option<String>,
    /// Who answers for it.
    pub answerable: Answerable,
    /// The dates that decide which version of a requirement governs.
    pub dates: Dates,
    /// What kind of work was done, in the word of site files.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub work: Option<String>,
    /// What it is exempted from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exemption: Option<Exemption>,
    /// Its supply.
    pub supply: Supply,
    /// Export as approved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub export: Option<Export>,
}

/// Names of teams, not of people.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Answerable {
    /// The company.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub company: Option<String>,
    /// The branch.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub branch: Option<String>,
    /// The crew.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crew: Option<String>,
}

/// Dates of a site, as `2026-02-03`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Dates {
    /// Application to connect.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub applied: Option<String>,
    /// The operator's approval.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub approved: Option<String>,
    /// The last day on which that approval holds while nothing is installed, where it lapses.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub approved_until: Option<String>,
    /// Installation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub installed: Option<String>,
    /// The last alteration.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub altered: Option<String>,
}

/// An exemption that the network operator granted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Exemption {
    /// The operator's reference.
    pub reference: String,
    /// The reason given.
    pub reason: String,
}

/// The supply of a site.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Supply {
    /// The network operator's number of the connection point.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub connection_point: Option<String>,
    /// Phases.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phases: Option<u8>,
    /// Nominal voltage, line to neutral.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal: Option<String>,
}

/// Export as approved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Export {
    /// How it is limited, in the word of site files.
    pub kind: String,
    /// Net export of the whole site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub approved: Option<String>,
    /// The approval's reference.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
}

/// Against what a site was judged.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Requirement {
    /// The region, as its standard names it.
    pub region: String,
    /// All of it in words.
    pub under: String,
    /// The layers, lowest first.
    pub layers: Vec<Layer>,
    /// Every profile that had a part in it, by content: layers, label maps, what offices read.
    pub profiles: Vec<Pin>,
}

/// One layer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Layer {
    /// Its name in print, with edition or issue.
    pub title: String,
    /// The key of its standard or network.
    pub key: String,
    /// Its edition or version.
    pub version: String,
}

/// A profile by content.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Pin {
    /// Such as `overlays/quillbrook/3.0.0`.
    pub profile: String,
    /// SHA-256 of its file, as `sha256sum` prints it.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: String,
}

/// A departure that the network operator approved for this site alone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Approval {
    /// The setting, as the site's file names it.
    pub setting: String,
    /// What is asked instead, in the site file's words.
    pub asks: String,
    /// The operator's reference.
    pub reference: String,
    /// The role that approved it.
    pub role: String,
    /// When.
    pub granted: String,
    /// The last day on which it holds; absent where it does not end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<String>,
}
