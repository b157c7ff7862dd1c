//! What `behaves --format json` prints.

use schemars::JsonSchema;
use serde::Serialize;

/// What a device did, against what it is set to do.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct BehavesReport {
    /// The site.
    pub site: String,
    /// The device.
    pub device: String,
    /// Whose settings it was held against: `as-left` or `as-found`.
    pub settings: &'static str,
    /// What came of all functions together.
    pub answer: DeviceAnswer,
    /// The same in words.
    pub headline: String,
    /// The log.
    pub log: BehavesLog,
    /// How exact its meter was taken to be.
    pub accuracy: AccuracyReport,
    /// How far a response may lie off.
    pub tolerance: ToleranceReport,
    /// Rated apparent power, in volt-amperes.
    pub rated: f64,
    /// Function by function, against what is set and against what is required.
    pub functions: Vec<FunctionReport>,
    /// What the two together say, function by function, where they differ.
    pub together: Vec<String>,
    /// How the figures that are required are known, where nobody verified some; absent where all are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unverified: Option<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Where something departs: what to look at, in this order.
    pub look_into: Vec<String>,
    /// The same, for the top of a page.
    #[serde(skip)]
    pub look_into_briefly: Vec<&'static str>,
    /// Which part of the log was judged, where it is not all of it; in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<String>,
    /// What nobody should forget.
    pub cautions: Vec<&'static str>,
}

impl BehavesReport {
    /// Whether every function that was asked about behaves.
    pub fn is_fine(&self) -> bool {
        self.answer == DeviceAnswer::Behaves
    }
}

/// What came of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DeviceAnswer {
    /// Every function that was asked about behaves.
    Behaves,
    /// Some behave; the others are not shown by this log, or not judged.
    BehavesAsFarAsShown,
    /// Some function departs.
    Departs,
    /// Nothing is shown.
    NotShown,
}

/// A log.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct BehavesLog {
    /// Its file.
    pub file: String,
    /// Rows that were read.
    pub rows: u64,
    /// Days on which it has rows.
    pub days: usize,
    /// Seconds between rows.
    pub step: f64,
    /// `means` or `samples`.
    pub values: &'static str,
    /// Where it was measured: `terminals`, `switchboard`, `supply` or `not-stated`.
    pub measured_at: &'static str,
    /// What each column was taken for.
    pub columns: Vec<String>,
    /// How long was not used, by reason.
    pub left_out: Vec<LeftOutTime>,
    /// What has to be known of it.
    pub notes: Vec<String>,
}

/// How long was not used, and why.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LeftOutTime {
    /// `blank`, `implausible`, `beyond-rating`, `stuck`, `beside-gap`, `off`, `low-power` or `unsteady`.
    pub reason: &'static str,
    /// In words.
    pub says: &'static str,
    /// How long.
    pub minutes: f64,
}

/// How exact a meter is.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct AccuracyReport {
    /// Volts, either way.
    pub volts: f64,
    /// Watts, either way.
    pub watts: f64,
    /// Vars, either way.
    pub vars: f64,
    /// Who says so of voltage: `stated`, `published`, `from-memory` or `assumed`.
    pub of_volts: &'static str,
    /// And of powers.
    pub of_powers: &'static str,
    /// In words.
    pub says: String,
}

/// How far a response may lie off.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ToleranceReport {
    /// Per cent of the rating, either way.
    pub percent_of_rating: f64,
    /// Who says so.
    pub source: String,
}

/// One function against one set of settings.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FunctionReport {
    /// Its key.
    pub function: &'static str,
    /// For people.
    pub title: &'static str,
    /// What it is held against: `as-set` or `required`.
    pub against: &'static str,
    /// `behaves`, `departs`, `not-shown`, `not-set`, or `not-judged`: this version does not judge it, it is not there, or not of several
    /// inverters together.
    pub answer: &'static str,
    /// `certain`, or `likely` where it rests on an assumption; absent of what is not shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sure: Option<&'static str>,
    /// What it rests on where it is only likely, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rests_on: Vec<&'static str>,
    /// Since when it departs, or until when it did, where the device changed within the log; in words, with the date.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub changed: Option<String>,
    /// How far it departs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub size: Option<SizeReport>,
    /// What it looks like, where it departs and that can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub looks_like: Option<LooksLike>,
    /// When it lay outside whatever the meter's errors: the longest first; empty with `--no-times`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub times: Vec<TimesReport>,
    /// How many more such times there were.
    #[serde(skip_serializing_if = "is_none")]
    pub more_times: u64,
    /// How long rows could be used, would have shown a device without the function, and lay outside.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<MinutesReport>,
    /// Blocks of ten minutes (of one, where rows are 2 s apart or less) that the answer rests on.
    #[serde(skip_serializing_if = "is_none")]
    pub blocks: u64,
    /// Events that it rests on, of what has to happen at a time.
    #[serde(skip_serializing_if = "is_none")]
    pub events: u64,
    /// What happened, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub happened: Vec<String>,
    /// Days that it rests on.
    #[serde(skip_serializing_if = "is_none")]
    pub days: u64,
    /// The stretch over which it was shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shown_over: Option<RangeReport>,
    /// What the log reached.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reached: Option<RangeReport>,
    /// Which constant errors of the meter explain a function that behaves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub explained_by: Option<ExplainedReport>,
    /// What would show it, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needs: Option<String>,
}

fn is_none(count: &u64) -> bool {
    *count == 0
}

/// How far a function departs.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct SizeReport {
    /// On average over the time outside, as a share of the rating in per cent.
    pub typical_percent: f64,
    /// At the most.
    pub farthest_percent: f64,
    /// In watts, vars or volt-amperes, on average.
    pub typical: f64,
    /// `W`, `var` or `VA`.
    pub unit: &'static str,
    /// In words: `less absorbed than set`.
    pub direction: String,
}

/// What a response that departs looks like.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LooksLike {
    /// In words.
    pub says: String,
    /// What it looks like, where one curve alone explains the log.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How far reactive power lies from that on average, in per cent of the rating.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub misfit_percent: Option<f64>,
    /// How much of the time it lies outside of it, in per cent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outside_percent: Option<f64>,
    /// Curves that explain the log alike.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_told_apart: Vec<String>,
}

/// One stretch outside.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct TimesReport {
    /// From when, by the log's clock.
    pub from: String,
    /// Until when.
    pub to: String,
    /// The farthest from what is asked, in watts, vars or volt-amperes.
    pub farthest: f64,
}

/// How long.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct MinutesReport {
    /// Rows could be used.
    pub usable: f64,
    /// A device without the function would have lain outside.
    pub informative: f64,
    /// The device lay outside.
    pub outside: f64,
}

/// From a value to a value.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RangeReport {
    /// The least.
    pub low: f64,
    /// The greatest.
    pub high: f64,
    /// `V` or `W`.
    pub unit: &'static str,
}

/// Which errors explain a log.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct ExplainedReport {
    /// What may have to be added to the voltage read, in volts.
    pub voltage_error: [f64; 2],
    /// What the terminals may lie above it at rated power, in volts.
    pub rise: [f64; 2],
    /// Which voltage it follows, of several phases.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub follows: Vec<&'static str>,
}
