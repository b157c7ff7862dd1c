//! What `exercise mark` and `exercise faults` print for programs; text and tables are written from the same.

use schemars::JsonSchema;
use serde::Serialize;

/// What `exercise faults --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FaultsReport {
    /// Every kind of fault.
    pub faults: Vec<FaultKindReport>,
}

/// A kind of fault.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FaultKindReport {
    /// Its name in diagnoses.
    pub name: &'static str,
    /// What happened.
    pub happened: &'static str,
    /// How it is told from others.
    pub looks_like: &'static str,
    /// What a class learns from it.
    pub teaches: &'static str,
    /// What is done about it.
    pub mended_by: &'static str,
}

/// What `exercise mark --format json` prints.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MarkReport {
    /// That nothing here is of a real site.
    pub training: &'static str,
    /// The exercise.
    pub exercise: String,
    /// What it was made from.
    pub made_from: String,
    /// The day for which it is marked.
    pub as_of: String,
    /// How many students came to what.
    pub summary: MarkSummary,
    /// The faults, those that were missed most first.
    pub faults: Vec<FaultMarkReport>,
    /// The students, in the order of the key.
    pub students: Vec<StudentReport>,
    /// Files that could not be marked, or that are nobody's; standard error says why.
    pub not_marked: Vec<String>,
}

/// How many students came to what.
#[derive(Clone, Copy, Default, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MarkSummary {
    /// All students of the key.
    pub students: usize,
    /// Everything found and mended, and nothing broken, left out or altered.
    pub all_right: usize,
    /// Something is amiss.
    pub not_all_right: usize,
    /// Their file could not be read.
    pub could_not_tell: usize,
    /// No file of theirs was there.
    pub not_handed_in: usize,
}

/// What the class made of one kind of fault.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FaultMarkReport {
    /// The fault.
    pub fault: String,
    /// How many students have it, of those whose files were marked.
    pub students: usize,
    /// How many found it.
    pub found: usize,
    /// How many mended all of it.
    pub mended: usize,
    /// How many named it where it was not.
    pub named_in_error: usize,
}

/// What one student's answer came to.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StudentReport {
    /// The student.
    pub student: String,
    /// The file that was marked.
    pub file: Option<String>,
    /// `all-right`, `not-all-right`, `could-not-tell` or `not-handed-in`.
    pub outcome: &'static str,
    /// One mark for each fault found and one for each mended, less one for each that was named and is not there and
    /// for each setting newly broken.
    pub marks: usize,
    /// The most marks that there are.
    pub out_of: usize,
    /// What the site comes to as it was left, as `check` has it.
    pub verdict: Option<&'static str>,
    /// Fault by fault.
    pub faults: Vec<StudentFaultReport>,
    /// Faults that were named, and are not there.
    pub named_in_error: Vec<String>,
    /// Settings that do not comply now and were no fault of the exercise.
    pub newly_broken: Vec<String>,
    /// Settings that have to be stated and are not.
    pub left_out: Vec<String>,
    /// What was changed beside `as-left` and the diagnosis; it was judged as it was issued.
    pub altered: Vec<String>,
}

/// What a student made of one fault.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct StudentFaultReport {
    /// The fault.
    pub fault: String,
    /// Whether it was named, with a setting that shows it.
    pub found: bool,
    /// How many of its settings were named.
    pub settings_named: usize,
    /// Whether every setting that it put wrong is right now.
    pub mended: bool,
    /// Setting by setting.
    pub settings: Vec<CorrectedReport>,
}

/// What became of a setting.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct CorrectedReport {
    /// Device and setting.
    pub setting: String,
    /// `right`, `wrong` or `not-stated`.
    pub outcome: &'static str,
    /// What was found.
    pub found: Option<String>,
    /// What it was left with.
    pub left: Option<String>,
    /// A value that is right.
    pub right: Option<String>,
}
