//! What is counted of a log, day by day: enough to decide by, small, and added up in any order. No times of day.

mod histogram;

use crate::function::Function;
pub use crate::happened::Millis;
use crate::happened::OfDay;
use crate::hypotheses::Hypothesis;
use crate::reading::LeftOut;
use crate::within;
pub use histogram::{CELL_SHARE, CELL_VOLTS, Histogram};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How one rule fared under one set of errors.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct Tally {
    /// How long a device without the function would have lain outside, in milliseconds.
    #[serde(rename = "informative-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub informative: Millis,
    /// How long it could have.
    #[serde(rename = "exposed-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub exposed: Millis,
    /// How long the device lay above the band.
    #[serde(rename = "above-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub above: Millis,
    /// How long below it.
    #[serde(rename = "below-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub below: Millis,
    /// Blocks with an informative row.
    #[serde(deserialize_with = "within::blocks", skip_serializing_if = "within::is_no_block")]
    pub informative_blocks: u32,
    /// Blocks with a row outside.
    #[serde(deserialize_with = "within::blocks", skip_serializing_if = "within::is_no_block")]
    pub outside_blocks: u32,
    /// How far from what is asked, over the time outside, in thousandths of a watt or var times seconds.
    #[serde(rename = "missed-milli-s", deserialize_with = "within::missed", skip_serializing_if = "within::is_none")]
    pub missed: u64,
    /// The farthest, in thousandths of a watt or var.
    #[serde(rename = "farthest-milli", deserialize_with = "within::thousandths", skip_serializing_if = "within::is_none")]
    pub farthest: u64,
    /// What the informative rows answered to: least and greatest, in thousandths.
    #[serde(rename = "at-milli", deserialize_with = "within::range", skip_serializing_if = "Option::is_none")]
    pub at: Option<[i64; 2]>,
    /// And what was asked there.
    #[serde(rename = "asked-milli", deserialize_with = "within::range", skip_serializing_if = "Option::is_none")]
    pub asked: Option<[i64; 2]>,
}

impl Tally {
    fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// How long it lay outside.
    #[must_use]
    pub fn outside(&self) -> Millis {
        self.above + self.below
    }

    /// How long rows tell a device without the function from one with it: those that would, or where there are none
    /// those that could.
    #[must_use]
    pub fn telling(&self) -> Millis {
        if self.informative > 0 { self.informative } else { self.exposed }
    }

    /// Adds another.
    pub fn add(&mut self, other: &Self) {
        self.informative += other.informative;
        self.exposed += other.exposed;
        self.above += other.above;
        self.below += other.below;
        self.informative_blocks += other.informative_blocks;
        self.outside_blocks += other.outside_blocks;
        self.missed = self.missed.saturating_add(other.missed);
        self.farthest = self.farthest.max(other.farthest);
        self.at = wider(self.at, other.at);
        self.asked = wider(self.asked, other.asked);
    }
}

/// Both ranges in one.
#[must_use]
pub fn wider(one: Option<[i64; 2]>, other: Option<[i64; 2]>) -> Option<[i64; 2]> {
    match (one, other) {
        (Some([a, b]), Some([c, d])) => Some([a.min(c), b.max(d)]),
        (one, other) => one.or(other),
    }
}

/// A quantity in thousandths, so that sums are the same in any order.
#[must_use]
pub fn thousandths(value: f64) -> i64 {
    (value * 1e3).round() as i64
}

/// One rule on one day.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct RuleDay {
    /// How long rows could be used, in milliseconds.
    #[serde(rename = "usable-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub usable: Millis,
    /// What was read in them of what it answers to: least and greatest, in thousandths.
    #[serde(rename = "reached-milli", deserialize_with = "within::range", skip_serializing_if = "Option::is_none")]
    pub reached: Option<[i64; 2]>,
    /// For each set of constant errors.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub constant: Vec<Tally>,
    /// With any error in each row: outside for every voltage that may be followed and every way of counting vars.
    #[serde(skip_serializing_if = "Tally::is_empty")]
    pub any: Tally,
    /// How long it gave as much as its limit allows and no more, for limits that are the same at any voltage.
    #[serde(rename = "at-limit-ms", deserialize_with = "within::duration", skip_serializing_if = "within::is_none")]
    pub at_limit: Millis,
    /// Blocks with such a row.
    #[serde(deserialize_with = "within::blocks", skip_serializing_if = "within::is_no_block")]
    pub at_limit_blocks: u32,
    /// What was measured then: least and greatest, in thousandths.
    #[serde(rename = "reached-limit-milli", deserialize_with = "within::range", skip_serializing_if = "Option::is_none")]
    pub reached_limit: Option<[i64; 2]>,
}

impl RuleDay {
    fn impossible(&self) -> Option<&'static str> {
        let all = || self.constant.iter().chain([&self.any]);
        let within = [
            (self.at_limit <= self.usable, "at-limit-ms"),
            (all().all(|tally| tally.informative <= self.usable), "informative-ms"),
            (all().all(|tally| tally.exposed <= self.usable), "exposed-ms"),
            (all().all(|tally| tally.outside() <= self.usable), "above-ms"),
        ];
        within.into_iter().find(|(is_so, _)| !is_so).map(|(_, key)| key)
    }

    fn add(&mut self, other: &Self) {
        self.usable += other.usable;
        self.reached = wider(self.reached, other.reached);
        if self.constant.len() < other.constant.len() {
            self.constant.resize_with(other.constant.len(), Tally::default);
        }
        self.constant.iter_mut().zip(&other.constant).for_each(|(one, other)| one.add(other));
        self.any.add(&other.any);
        self.at_limit += other.at_limit;
        self.at_limit_blocks += other.at_limit_blocks;
        self.reached_limit = wider(self.reached_limit, other.reached_limit);
    }
}

/// One day.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct Day {
    /// Rows.
    #[serde(deserialize_with = "within::rows")]
    pub rows: u64,
    /// How long they stand for, in milliseconds.
    #[serde(rename = "read-ms", deserialize_with = "within::duration")]
    pub read: Millis,
    /// How long was not used, by reason.
    #[serde(rename = "left-out-ms", deserialize_with = "within::durations", skip_serializing_if = "BTreeMap::is_empty")]
    pub left_out: BTreeMap<LeftOut, Millis>,
    /// Rule by rule, in the order of the rules.
    pub rules: Vec<RuleDay>,
    /// What happened at a time: trips, waits, answers to frequency.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub happened: OfDay,
    /// (V, Q) of loaded rows; vars by the log's own sign.
    #[serde(rename = "vars-by-volts-ms", skip_serializing_if = "Histogram::is_empty")]
    pub vars_by_volts: Histogram,
    /// (V, P) of rows that give.
    #[serde(rename = "watts-by-volts-ms", skip_serializing_if = "Histogram::is_empty")]
    pub watts_by_volts: Histogram,
}

impl Day {
    /// What cannot be so of one day, as the key of what is too much; what was read and counted one by one is within its
    /// bounds already.
    #[must_use]
    pub fn impossible(&self) -> Option<&'static str> {
        let sum = |histogram: &Histogram| histogram.0.values().sum::<Millis>();
        let within = [
            (self.read <= within::DAY, "read-ms"),
            (self.left_out.values().all(|lasted| *lasted <= self.read), "left-out-ms"),
            (sum(&self.vars_by_volts) <= self.read, "vars-by-volts-ms"),
            (sum(&self.watts_by_volts) <= self.read, "watts-by-volts-ms"),
            (self.rules.iter().all(|rule| rule.usable <= self.read), "usable-ms"),
        ];
        let of_rules = self.rules.iter().find_map(RuleDay::impossible);
        within.into_iter().find(|(is_so, _)| !is_so).map(|(_, key)| key).or(of_rules)
    }

    /// Adds another part of the same day, or another day.
    pub fn add(&mut self, other: &Self) {
        self.add_numbers(other);
        self.vars_by_volts.add(&other.vars_by_volts);
        self.watts_by_volts.add(&other.watts_by_volts);
    }

    /// The same of all but the histograms, which cost more than all else.
    fn add_numbers(&mut self, other: &Self) {
        self.rows += other.rows;
        self.read += other.read;
        other.left_out.iter().for_each(|(why, lasted)| *self.left_out.entry(*why).or_default() += lasted);
        if self.rules.len() < other.rules.len() {
            self.rules.resize_with(other.rules.len(), RuleDay::default);
        }
        self.rules.iter_mut().zip(&other.rules).for_each(|(one, other)| one.add(other));
        for (happened, often) in &other.happened {
            let own = self.happened.entry(*happened).or_default();
            own.times += often.times;
            own.lasted += often.lasted;
        }
    }
}

/// What was counted of a device, day by day.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Counters {
    /// Each day, counted from 1970 or from the log's own nought.
    pub days: BTreeMap<i32, Day>,
    /// Whose rules they are, and what was tried of each: counters of other rules or errors cannot be added.
    pub counted: Vec<Counted>,
}

/// What a rule was counted under.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Counted {
    /// Which.
    pub function: Function,
    /// Its curve.
    pub points: Vec<[f64; 2]>,
    /// The constant errors, in the order of the tallies.
    pub tried: Vec<Hypothesis>,
}

/// Counters that cannot be added: other rules, or other errors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OtherRules;

impl Counters {
    /// Adds those of other days, or of other parts of them.
    ///
    /// # Errors
    /// Where they were counted under other rules or errors.
    pub fn add(&mut self, other: &Self) -> Result<(), OtherRules> {
        if self.counted != other.counted {
            return Err(OtherRules);
        }
        other.days.iter().for_each(|(day, counted)| self.days.entry(*day).or_default().add(counted));
        Ok(())
    }

    /// Those of some days.
    #[must_use]
    pub fn only(&self, is_meant: impl Fn(i32) -> bool) -> Self {
        let days = self.days.iter().filter(|(day, _)| is_meant(**day));
        Self { days: days.map(|(day, counted)| (*day, counted.clone())).collect(), counted: self.counted.clone() }
    }

    /// Takes in what happened at a time.
    pub fn take_in(&mut self, happened: BTreeMap<i32, OfDay>) {
        happened.into_iter().for_each(|(day, of)| self.days.entry(day).or_default().happened = of);
    }

    /// All days in one, without their histograms.
    #[must_use]
    pub fn numbers(&self) -> Day {
        let mut total = Day::default();
        self.days.values().for_each(|day| total.add_numbers(day));
        total
    }

    /// Watts by volts of all days.
    #[must_use]
    pub fn watts_by_volts(&self) -> Histogram {
        let mut total = Histogram::default();
        self.days.values().for_each(|day| total.add(&day.watts_by_volts));
        total
    }

    /// All days in one.
    #[must_use]
    pub fn total(&self) -> Day {
        let mut total = Day::default();
        self.days.values().for_each(|day| total.add(day));
        total
    }
}
