//! What `verify --format json` prints.

use schemars::JsonSchema;
use serde::Serialize;

/// What `verify --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct VerifyReport {
    /// Every record, in the order given.
    pub records: Vec<RecordReport>,
}

/// One record.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RecordReport {
    /// Its file.
    pub file: String,
    /// The site; absent if it could not be read that far.
    pub site: Option<String>,
    /// The day that it was made for.
    pub as_of: Option<String>,
    /// What it says the site came to.
    pub verdict: Option<rules::provenance::Verdict>,
    /// The same in words; never plain "complies" where figures that nobody verified decided.
    pub headline: Option<String>,
    /// The worst of all checks.
    pub outcome: CheckOutcome,
    /// Whether somebody's seal or a register vouches for it. Without either, its parts fit together and no more
    /// is known: anyone can write another day, other values or other photos into it, and make it anew.
    pub vouched_for: bool,
    /// Each check.
    pub checks: Vec<CheckReport>,
}

/// What a check, or a record, came to; the later the worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CheckOutcome {
    /// It is as it was made.
    AsMade,
    /// It is not.
    NotAsMade,
    /// It could not be told.
    CouldNotTell,
}

/// What is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CheckKind {
    /// That it is a record, in the one form that it can be written in.
    Form,
    /// That its hash is the one that stands beside it.
    Hash,
    /// That each signature holds, and that it is signed by whom it has to be.
    Signature,
    /// That judging it again, against the very requirements that it names, comes to the same.
    JudgedAgain,
    /// That the register has it.
    Register,
}

impl CheckKind {
    /// In print.
    pub fn word(self) -> &'static str {
        match self {
            Self::Form => "form",
            Self::Hash => "hash",
            Self::Signature => "signature",
            Self::JudgedAgain => "judged again",
            Self::Register => "register",
        }
    }
}

/// One check.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CheckReport {
    /// What was checked.
    pub check: CheckKind,
    /// What it came to.
    pub outcome: CheckOutcome,
    /// The same in words.
    pub says: String,
    /// What differs, one by one.
    pub differs: Vec<String>,
}

impl CheckReport {
    /// A check with nothing to list.
    pub fn new(check: CheckKind, outcome: CheckOutcome, says: impl Into<String>) -> Self {
        Self { check, outcome, says: says.into(), differs: Vec::new() }
    }
}
