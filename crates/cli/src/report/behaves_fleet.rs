//! What `behaves --fleet` prints for programs.

use super::behaves::DeviceAnswer;
use schemars::JsonSchema;
use serde::Serialize;

/// What the devices of many sites did; with `--format ndjson`, each of its devices is a line.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct BehavesFleetReport {
    /// The day the question was asked for.
    pub as_of: String,
    /// How many devices came to each answer.
    pub summary: FleetSummary,
    /// What the order of devices goes by, the first first.
    pub order: Vec<String>,
    /// Function by function, against what is set.
    pub by_function: Vec<FunctionCount>,
    /// By the crew that answers for a site.
    pub by_crew: Vec<GroupCount>,
    /// By network operator.
    pub by_network: Vec<GroupCount>,
    /// By model and firmware.
    pub by_family: Vec<GroupCount>,
    /// Every device: those that depart first, in the order in which to look at them, then the others by name.
    pub devices: Vec<DeviceLine>,
    /// Logs of sites that nobody named: they were not judged.
    pub logs_without_site: Vec<String>,
    /// What could not be read, and why.
    pub not_read: Vec<String>,
    /// Files of folders that are no logs.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// What nobody should forget.
    pub cautions: Vec<&'static str>,
}

/// How many devices came to each answer.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FleetSummary {
    /// Sites that were named.
    pub sites: usize,
    /// Devices of which something is told.
    pub devices: usize,
    /// Every function that was asked about behaves.
    pub behaves: usize,
    /// Some behave; the others are not shown.
    pub behaves_as_far_as_shown: usize,
    /// Some function departs.
    pub departs: usize,
    /// Nothing is shown.
    pub not_shown: usize,
    /// Sites, and inverters of a site, without a log.
    pub no_log: usize,
    /// The question could not be put.
    pub could_not_tell: usize,
    /// Devices with required figures that nobody verified.
    pub with_unverified_figures: usize,
}

/// What came of a device in a fleet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FleetAnswer {
    /// Some function departs.
    Departs,
    /// The question could not be put.
    CouldNotTell,
    /// There is no log of the site.
    NoLog,
    /// Nothing is shown.
    NotShown,
    /// Some functions behave; the others are not shown, or not judged.
    BehavesAsFarAsShown,
    /// Every function that was asked about behaves.
    Behaves,
}

impl FleetAnswer {
    /// Whether its log shows something.
    pub fn is_assessed(self) -> bool {
        matches!(self, Self::Departs | Self::Behaves | Self::BehavesAsFarAsShown)
    }
}

impl From<DeviceAnswer> for FleetAnswer {
    fn from(answer: DeviceAnswer) -> Self {
        match answer {
            DeviceAnswer::Behaves => Self::Behaves,
            DeviceAnswer::BehavesAsFarAsShown => Self::BehavesAsFarAsShown,
            DeviceAnswer::Departs => Self::Departs,
            DeviceAnswer::NotShown => Self::NotShown,
        }
    }
}

/// One device.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct DeviceLine {
    /// The site.
    pub site: String,
    /// The device; absent where nobody could tell which.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub device: Option<String>,
    /// The site's file.
    pub file: String,
    /// Its line, where a file holds one site a line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The file of its log; absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub log: Option<String>,
    /// The company, branch and crew that answer for the site.
    pub answerable: [String; 3],
    /// The network operator; absent where a site stands under a standard alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub network: Option<String>,
    /// Model and firmware; absent where the site's file does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// Rated apparent power, in volt-amperes; 0 where nothing was judged.
    pub rated: f64,
    /// What came of it.
    pub answer: FleetAnswer,
    /// Why the question could not be put.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// Rows that were read.
    pub rows: u64,
    /// Days on which the log has rows.
    pub days: usize,
    /// How much of the time was no measurement: blank, implausible or stuck, in per cent.
    pub unsound_percent: f64,
    /// Function by function, against what is set and against what is required.
    pub functions: Vec<FunctionLine>,
    /// Why it is looked at before others; absent where nothing departs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rank: Option<RankReport>,
    /// How the figures that are required are known, where nobody verified some.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unverified: Option<String>,
}

/// One function of a device in a fleet.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FunctionLine {
    /// Its key.
    pub function: &'static str,
    /// What it is held against: `as-set` or `required`.
    pub against: &'static str,
    /// `behaves`, `departs`, `not-shown`, `not-set` or `not-judged`.
    pub answer: &'static str,
    /// `certain` or `likely`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sure: Option<&'static str>,
    /// How far it departs on average, in per cent of the rating.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub typical_percent: Option<f64>,
    /// Which way: `less absorbed than set`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// How long it lay outside, in minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes_outside: Option<f64>,
    /// What it looks like, where one curve alone explains the log.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub looks_like: Option<String>,
    /// What would show it, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needs: Option<String>,
}

/// Why a device is looked at before others: by `order`, then `certain` first, then by `missed-kvah`, the greatest first.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct RankReport {
    /// The kind of departure, from 1: `order` of the whole answer says what each is.
    pub order: usize,
    /// The same in words.
    pub because: &'static str,
    /// The function that departs so.
    pub function: &'static str,
    /// Whether it is certain.
    pub certain: bool,
    /// How far it departs on average, times the hours outside, in kilovolt-ampere-hours; of what has to happen at a time
    /// the whole rating counts.
    pub missed_kvah: f64,
}

/// What devices came to in one function.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FunctionCount {
    /// Its key.
    pub function: &'static str,
    /// For people.
    pub title: &'static str,
    /// Devices whose log shows it.
    pub assessed: usize,
    /// Of those, the ones that behave.
    pub behaves: usize,
    /// Of those, the ones that depart.
    pub departs: usize,
    /// Of those, certainly.
    pub departs_certainly: usize,
    /// Devices whose log does not show it.
    pub not_shown: usize,
    /// How many certain departures there may be, at the most on average, though all behaved.
    pub expected_certain: f64,
    /// How many departures of either kind.
    pub expected: f64,
}

/// What devices of a group came to.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct GroupCount {
    /// The group; empty where a site's file does not say.
    pub name: String,
    /// Devices.
    pub devices: usize,
    /// Those whose log shows something.
    pub assessed: usize,
    /// Those that depart.
    pub departs: usize,
    /// Between which shares of such devices depart, in per cent: the exact interval of 95 % (Clopper and Pearson 1934), where
    /// enough were assessed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub departs_percent: Option<[f64; 2]>,
}
