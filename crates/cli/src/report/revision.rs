//! What `revision-check --format json` prints; the text is written from the same.

use super::diff::ChangeReport;
use rules::provenance::Standing;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What `revision-check --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RevisionReport {
    /// The older version.
    pub old: String,
    /// The newer version.
    pub new: String,
    /// The step that the newer version's number declares: `breaking`, `minor` or `patch`; absent for standards, whose editions do not count so.
    pub declared: Option<&'static str>,
    /// The step that the changes deserve, as far as that is shown.
    pub deserved: &'static str,
    /// The least version that takes the deserved step.
    pub least_version: Option<String>,
    /// Whether the declared step is at least the deserved one.
    pub enough: bool,
    /// How many changes could not be weighed, because a demand was not seen or the like, and may deserve a greater step than is declared.
    pub not_proven: usize,
    /// The changes, breaking ones first.
    pub changes: Vec<WeighedReport>,
}

/// A change and the step it deserves.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct WeighedReport {
    /// How the figure was known before; absent where none was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub was_basis: Option<Standing>,
    /// How the figure is known that is asked now; absent where none is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// The change.
    pub change: ChangeReport,
    /// Of a breaking change, a site that complied and no longer does.
    pub example: Option<ExampleReport>,
}

/// A site that complied and no longer does.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ExampleReport {
    /// The region that it is in.
    pub region: String,
    /// What the device holds of the setting, and how it is known.
    pub holds: String,
    /// The facts that it needed.
    pub facts: BTreeMap<&'static str, String>,
    /// The whole site, as a file that `check` reads.
    pub site: String,
}
