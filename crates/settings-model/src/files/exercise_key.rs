//! The answer key of an exercise: which faults each student's site has, and what is right.

use super::Kind;
use super::pieces::{Day, Named, Text};
use super::site::Pin;
use schemars::JsonSchema;
use serde::Deserialize;
use std::borrow::Cow;

/// The answers of one exercise. Kept apart from what students are given.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ExerciseKeyFile<'a> {
    /// Always `exercise-key`.
    pub kind: Kind,
    /// The name that the students' files carry.
    #[serde(borrow)]
    pub exercise: Text<'a>,
    /// What the faults were drawn by: a whole number. With it and the day the same files can be made again.
    pub seed: u64,
    /// The day for which the sites were made, and for which they are marked.
    pub as_of: Day,
    /// What was named on the command line: a standard's region, a network's version or a model site.
    #[serde(borrow)]
    pub made_from: Text<'a>,
    /// The fewest faults that a student has.
    pub fewest: u8,
    /// The most faults that a student has.
    pub most: u8,
    /// By which profiles the sites are judged, lowest layer first: name and content.
    #[serde(borrow)]
    #[schemars(length(min = 1))]
    pub pinned: Vec<Pin<'a>>,
    /// The answers, student by student.
    #[serde(borrow)]
    #[schemars(extend("minProperties" = 1))]
    pub students: Named<Text<'a>, StudentKey<'a>>,
}

/// The answers for one student.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct StudentKey<'a> {
    /// The name of the student's file.
    #[serde(borrow)]
    pub file: Text<'a>,
    /// What is wrong there.
    #[serde(borrow)]
    #[schemars(length(min = 1))]
    pub faults: Vec<FaultKey<'a>>,
    /// The file as the student was given it, word for word: what was changed outside `as-left` is told by it.
    #[serde(borrow)]
    #[schemars(length(min = 1))]
    pub issued: Cow<'a, str>,
}

/// One fault of a student's site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct FaultKey<'a> {
    /// Its name, as in `asleft exercise faults`.
    #[serde(borrow)]
    pub fault: Text<'a>,
    /// The settings that it put wrong.
    #[serde(borrow)]
    #[schemars(length(min = 1))]
    pub settings: Vec<TouchedKey<'a>>,
}

/// A setting that a fault put wrong.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct TouchedKey<'a> {
    /// The device's name in the site's file.
    #[serde(borrow)]
    pub device: Text<'a>,
    /// The setting, such as `overvoltage-1/threshold`, or `region-selected`.
    #[serde(borrow)]
    pub setting: Text<'a>,
    /// What the student finds, for people; absent where nothing is stated.
    #[serde(borrow)]
    pub found: Option<Text<'a>>,
    /// A value that is right, for people; absent where nothing has to be stated.
    #[serde(borrow)]
    pub right: Option<Text<'a>>,
}
