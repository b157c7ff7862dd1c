//! What marks a site as made for a lesson, and what a student writes into it.

use super::pieces::Text;
use schemars::JsonSchema;
use serde::Deserialize;

/// What stands on everything that is said of a site made for a lesson. It is said here and nowhere else.
pub const NOTICE: &str = "TRAINING, NOT FOR SITE USE";

/// A site that was made for a lesson: no device holds what it says, and nothing may be set by it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Training<'a> {
    /// The exercise that it belongs to, as its answer key names it.
    #[serde(borrow)]
    pub exercise: Text<'a>,
    /// Whose it is: a number, or a name that the trainer chose.
    #[serde(borrow)]
    pub student: Option<Text<'a>>,
    /// What the student takes to be wrong, written in by hand.
    #[serde(borrow, default)]
    pub diagnosis: Vec<Diagnosed<'a>>,
}

/// One fault that a student names.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Diagnosed<'a> {
    /// The fault, by its name in `asleft exercise faults`.
    #[serde(borrow)]
    pub fault: Text<'a>,
    /// The settings that show it, such as `overvoltage-1/threshold` or `region-selected`, with the device in
    /// front where several are meant apart.
    #[serde(borrow)]
    #[schemars(length(min = 1))]
    pub settings: Vec<Text<'a>>,
}
