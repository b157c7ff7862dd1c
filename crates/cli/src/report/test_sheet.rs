//! What `test-sheet --format json` prints.

use record::Test;
use record::making::TestSheet;
use rules::provenance::Verdict;
use schemars::JsonSchema;
use serde::Serialize;

/// What `test-sheet --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct TestSheetReport<'s> {
    /// The site.
    pub site: &'s str,
    /// The day the question was asked for.
    pub as_of: String,
    /// What it stands under, in words.
    pub under: &'s str,
    /// What the tests came to; absent where no results were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Verdict>,
    /// The tests, device by device, in the order in which they are done.
    pub tests: &'s [Test],
    /// Tests that one would look for here and that no figure is known for, and why.
    pub without: &'s [String],
    /// What to mind.
    pub cautions: &'s [String],
}

impl<'s> TestSheetReport<'s> {
    /// What is to be said of a sheet.
    pub fn new(sheet: &'s TestSheet, as_of: jiff::civil::Date) -> Self {
        Self {
            site: &sheet.site,
            as_of: as_of.to_string(),
            under: &sheet.under,
            outcome: sheet.outcome,
            tests: &sheet.tests,
            without: &sheet.without,
            cautions: &sheet.cautions,
        }
    }
}
