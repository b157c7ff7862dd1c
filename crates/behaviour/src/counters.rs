//! What is counted of a log, day by day: enough to decide by, small, and added up in any order. No times of day.

use crate::function::Function;
pub use crate::happened::Millis;
use crate::happened::OfDay;
use crate::hypotheses::Hypothesis;
use crate::reading::LeftOut;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How one rule fared under one set of errors.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
pub struct Tally {
    /// How long a device without the function would have lain outside.
    pub informative: Millis,
    /// How long it could have.
    pub exposed: Millis,
    /// How long the device lay above the band.
    pub above: Millis,
    /// How long below it.
    pub below: Millis,
    /// Blocks with an informative row.
    pub informative_blocks: u32,
    /// Blocks with a row outside.
    pub outside_blocks: u32,
    /// How far from what is asked, over the time outside, in thousandths of a watt or var times seconds.
    pub missed: u64,
    /// The farthest, in thousandths of a watt or var.
    pub farthest: u64,
    /// What the informative rows answered to: least and greatest, in thousandths.
    pub at: Option<[i64; 2]>,
    /// And what was asked there.
    pub asked: Option<[i64; 2]>,
}

impl Tally {
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
        self.missed += other.missed;
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
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
pub struct RuleDay {
    /// How long rows could be used.
    pub usable: Millis,
    /// What was read in them of what it answers to: least and greatest, in thousandths.
    pub reached: Option<[i64; 2]>,
    /// For each set of constant errors.
    pub constant: Vec<Tally>,
    /// With any error in each row: outside for every voltage that may be followed and every way of counting vars.
    pub any: Tally,
    /// How long it gave as much as its limit allows and no more, for limits that are the same at any voltage.
    pub at_limit: Millis,
    /// Blocks with such a row.
    pub at_limit_blocks: u32,
    /// What was measured then: least and greatest, in thousandths.
    pub reached_limit: Option<[i64; 2]>,
}

impl RuleDay {
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

/// How long at which (voltage, power): sparse.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Histogram(#[serde(with = "cells")] pub BTreeMap<(i16, i16), Millis>);

/// The width of a cell in volts.
pub const CELL_VOLTS: f64 = 0.25;
/// Its height as a share of rated apparent power.
pub const CELL_SHARE: f64 = 0.01;

impl Histogram {
    /// Counts a row.
    pub fn count(&mut self, volts: f64, share: f64, lasted: Millis) {
        let cell = ((volts / CELL_VOLTS).floor() as i16, (share / CELL_SHARE).floor() as i16);
        *self.0.entry(cell).or_default() += lasted;
    }

    /// The middle of each cell, and how long.
    pub fn cells(&self) -> impl Iterator<Item = (f64, f64, Millis)> + '_ {
        self.0.iter().map(|((x, y), lasted)| ((f64::from(*x) + 0.5) * CELL_VOLTS, (f64::from(*y) + 0.5) * CELL_SHARE, *lasted))
    }

    fn add(&mut self, other: &Self) {
        other.0.iter().for_each(|(cell, lasted)| *self.0.entry(*cell).or_default() += lasted);
    }
}

/// A histogram as a list: a map's keys are text in JSON.
mod cells {
    use super::Millis;
    use serde::{Deserialize, Deserializer, Serializer};
    use std::collections::BTreeMap;

    type Cells = BTreeMap<(i16, i16), Millis>;

    pub fn serialize<S: Serializer>(cells: &Cells, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(cells.iter().map(|((x, y), lasted)| (x, y, lasted)))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Cells, D::Error> {
        let list = Vec::<(i16, i16, Millis)>::deserialize(deserializer)?;
        Ok(list.into_iter().map(|(x, y, lasted)| ((x, y), lasted)).collect())
    }
}

/// One day.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
pub struct Day {
    /// Rows.
    pub rows: u64,
    /// How long they stand for.
    pub read: Millis,
    /// How long was not used, by reason.
    pub left_out: BTreeMap<LeftOut, Millis>,
    /// Rule by rule, in the order of the rules.
    pub rules: Vec<RuleDay>,
    /// What happened at a time: trips, waits, answers to frequency.
    pub happened: OfDay,
    /// (V, Q) of loaded rows; vars by the log's own sign.
    pub vars_by_volts: Histogram,
    /// (V, P) of rows that give.
    pub watts_by_volts: Histogram,
}

impl Day {
    /// Adds another part of the same day, or another day.
    pub fn add(&mut self, other: &Self) {
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
        self.vars_by_volts.add(&other.vars_by_volts);
        self.watts_by_volts.add(&other.watts_by_volts);
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

    /// All days in one.
    #[must_use]
    pub fn total(&self) -> Day {
        let mut total = Day::default();
        self.days.values().for_each(|day| total.add(day));
        total
    }
}
