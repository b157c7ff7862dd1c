//! What a record says. Every type here is read and written; a key that is unknown is refused, so that
//! nothing of a record is passed over in silence.
//!
//! Quantities are text with their units: canonical numbers are binary floating point, and only small
//! whole numbers are left to them. Text for people is as the program said it when the record was made.

mod device;
mod evidence;
mod finding;
mod site;
mod test;

pub use device::{Certified, Device, Moment, RecordedValue, SettingHeld, SettingState};
pub use evidence::{Found, Given, GivenText, Instrument, Missing, Photo, Registration, Worker};
pub use finding::{Because, Finding, Place};
pub use site::{Answerable, Approval, Dates, Exemption, Export, Layer, Pin, Requirement, Site, Supply};
pub use test::{Certainty, Expected, Figure, Kind as TestKind, Measured, Test, TestResult, Tolerance};

use rules::provenance::{Figures, Judgement, Standing, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of the format of records. It moves when a key is added or takes another meaning. In 2 a
/// finding says how the figures are known that decide it.
pub const FORMAT: u32 = 2;

/// What a record is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RecordKind {
    /// The end of a job at one site.
    CloseOut,
}

/// The record of one job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Record {
    /// Always `close-out`.
    pub kind: RecordKind,
    /// The version of this format.
    pub format: u32,
    /// By what it was made, and for which day.
    pub made: Made,
    /// Which site.
    pub site: Site,
    /// Against what it was judged.
    pub requirement: Requirement,
    /// What it came to.
    pub verdict: CameTo,
    /// Each device, and the installation as a whole where anything is asked of it.
    pub devices: Vec<Device>,
    /// What was found wrong or could not be shown, gravest first.
    pub findings: Vec<Finding>,
    /// What is asked, but was not seen by those who wrote the profiles, and so was not checked.
    pub not_checked: Vec<String>,
    /// Departures that the network operator approved for this site alone.
    pub approvals: Vec<Approval>,
    /// Tests on site, done or not.
    pub tests: Vec<Test>,
    /// Tests that one would look for at such a site and that no figure is known for, and why.
    pub not_planned: Vec<String>,
    /// Photos, by hash, tied to what they prove.
    pub photos: Vec<Photo>,
    /// With what was measured.
    pub instruments: Vec<Instrument>,
    /// Who did the work, by role and licence; absent where nobody said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub work: Option<Worker>,
    /// What has to be told to a register or an operator, and by when.
    pub registrations: Vec<Registration>,
    /// Evidence that a record should have and this one lacks.
    pub missing: Vec<Missing>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// What all of this was made from, word for word, so that it can be judged again.
    pub given: Given,
}

/// By what a record was made, and for which day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Made {
    /// The program.
    pub tool: String,
    /// Its version.
    pub version: String,
    /// The day that the question was asked for.
    pub as_of: String,
}

/// What a record came to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CameTo {
    /// The worst of the three below.
    pub outcome: Verdict,
    /// The same in words; never plain where figures that nobody verified decided.
    pub headline: String,
    /// What the settings came to.
    pub settings: Verdict,
    /// What the tests on site came to.
    pub tests: Verdict,
    /// Whether photos and the particulars that identify the work are there.
    pub evidence: Verdict,
    /// How many required figures are known in each way.
    pub figures: Figures,
    /// How the surest of the figures is known that the settings break; absent where they break none, or
    /// something else than a figure decides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub broken_by: Option<Standing>,
    /// How the required values are known, in words.
    pub known_by: String,
}

impl CameTo {
    /// What the settings came to, and by which figures.
    #[must_use]
    pub fn settings(&self) -> Judgement {
        Judgement { verdict: self.settings, figures: self.figures, broken_by: self.broken_by }
    }

    /// What it came to as a whole, and by which figures: a test that failed needs none of them.
    #[must_use]
    pub fn whole(&self) -> Judgement {
        let is_by_settings = self.settings == self.outcome && self.tests != Verdict::DoesNotComply;
        Judgement { verdict: self.outcome, figures: self.figures, broken_by: self.broken_by.filter(|_| is_by_settings) }
    }

    /// Each part in words, with its name.
    #[must_use]
    pub fn parts(&self) -> [(&'static str, &'static str); 3] {
        [("settings", self.settings().headline()), ("tests", self.tests_say()), ("evidence", self.evidence_says())]
    }

    /// What the tests on site came to, in words.
    #[must_use]
    pub fn tests_say(&self) -> &'static str {
        if self.tests == Verdict::Complies { "as expected" } else { self.tests.phrase() }
    }

    /// Whether the evidence is there, in words.
    #[must_use]
    pub fn evidence_says(&self) -> &'static str {
        if self.evidence == Verdict::Complies { "complete" } else { self.evidence.phrase() }
    }
}
