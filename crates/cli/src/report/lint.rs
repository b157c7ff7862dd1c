//! What `lint --format json` prints.

use super::FindingReport;
use rules::lint::Linted;
use schemars::JsonSchema;
use serde::Serialize;
use settings_model::source::Sources;

/// What `lint --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LintReport {
    /// How many profiles were looked at.
    pub profiles: usize,
    /// Whether some file cannot be relied on.
    pub faulty: bool,
    /// What was found; `remark` is not a fault.
    pub findings: Vec<FindingReport>,
    /// What could not be checked, and why.
    pub not_checked: Vec<String>,
}

impl LintReport {
    /// The report, with places worked out.
    pub fn new(linted: &Linted, sources: &Sources) -> Self {
        Self {
            profiles: linted.profiles,
            faulty: linted.has_faults(),
            findings: linted.findings.iter().map(|finding| FindingReport::new(finding, sources)).collect(),
            not_checked: linted.not_checked.clone(),
        }
    }
}
