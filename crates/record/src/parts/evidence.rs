//! How all of it is known: photos, instruments, the people by role, and what is missing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A photo.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Photo {
    /// Its number or name, as the site's file uses it.
    pub name: String,
    /// The name of its file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The hash that the commissioning file states.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub stated_sha256: Option<String>,
    /// The hash of the file that was there.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: Option<String>,
    /// Whether the file was there, and was the one meant.
    pub found: Found,
    /// What it proves: `inverter-1/as-left/sustained-overvoltage/threshold`.
    pub proves: Vec<String>,
}

/// Whether a photo's file was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// It was there, with the hash stated, or no hash was stated.
    There,
    /// No folder of photos was given: nobody looked.
    NotLookedFor,
    /// It is named, and was not there.
    NotThere,
    /// It was there with another hash than stated.
    AnotherHash,
    /// It was there, and nothing names it.
    NotNamed,
    /// A setting names it, and the commissioning file does not.
    NotListed,
}

/// An instrument.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Instrument {
    /// Its name in the commissioning file.
    pub name: String,
    /// What it is.
    pub what: String,
    /// Its serial number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// When it was last calibrated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated: Option<String>,
    /// Until when that holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration_ends: Option<String>,
}

/// Who did the work.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Worker {
    /// The role, such as `licensed electrician`.
    pub role: String,
    /// When the work ended.
    pub date: String,
    /// The licence number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub licence: Option<String>,
    /// The number of an accreditation besides.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accreditation: Option<String>,
    /// The number of the certificate that was issued for the work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
}

/// Something to tell a register or an operator.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Registration {
    /// What is to be told.
    pub what: String,
    /// To whom.
    pub to: String,
    /// By when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// When it was done; absent while it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub done: Option<String>,
    /// Its reference.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
}

impl Registration {
    /// Whether it is done, or by when it is due; `as_of` is the day that is asked about, as `2026-02-03`.
    #[must_use]
    pub fn stands(&self, as_of: &str) -> String {
        match (&self.done, &self.by) {
            (Some(done), Some(by)) if by < done => format!("done on {done}, LATE: was due by {by}"),
            (Some(done), Some(by)) => format!("done on {done}, due by {by}"),
            (Some(done), None) => format!("done on {done}"),
            (None, Some(by)) if by.as_str() < as_of => format!("OVERDUE: was due by {by}"),
            (None, Some(by)) => format!("due by {by}"),
            (None, None) => "due, no day stated".to_owned(),
        }
    }
}

/// Evidence that a record should have.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Missing {
    /// What is missing.
    pub what: String,
    /// The device, where it is about one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub device: Option<String>,
    /// Where to write it.
    pub mend: String,
}

/// What a record was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Given {
    /// The site's file.
    pub site: GivenText,
    /// The sheet filled by hand that says what its devices hold, where there was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<GivenText>,
    /// What that sheet's columns are called, where they have names of their own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columns: Option<GivenText>,
    /// The commissioning file, where there was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub commissioning: Option<GivenText>,
}

/// A text, word for word.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct GivenText {
    /// The name of its file, without folders.
    pub name: String,
    /// SHA-256 of its bytes, as `sha256sum` prints it.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: String,
    /// The text.
    pub text: String,
}

impl Given {
    /// Every text, the site's file first.
    pub fn texts(&self) -> impl Iterator<Item = &GivenText> {
        [Some(&self.site), self.sheet.as_ref(), self.columns.as_ref(), self.commissioning.as_ref()].into_iter().flatten()
    }
}
