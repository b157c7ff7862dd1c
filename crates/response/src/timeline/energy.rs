//! What was given and what was lost, by cause.

use super::Micros;
use crate::operating_point::Cap;
use std::collections::BTreeMap;

/// To what energy was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// It had not connected yet.
    Start,
    /// Off and coming back after this stage tripped.
    Trip(usize),
    /// It gave nothing for a moment.
    Ceased,
    /// A cap.
    Cap(Cap),
    /// A cap on what storage charges with.
    Charging(Cap),
    /// It was off after a part that the log does not say.
    Gap,
    /// Off and coming back after it lost what it needs to keep a limit.
    Link,
}

impl Cause {
    /// Whether an answer or a limit keeps power back that a rating would allow.
    #[must_use]
    pub fn holds_back(self) -> bool {
        matches!(self, Self::Cap(Cap::VoltWatt | Cap::Frequency | Cap::ExportLimit | Cap::GenerationLimit | Cap::ReactivePower))
    }
}

/// Watt-microseconds given and lost, and how long.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energy {
    /// What could have been given.
    pub available: f64,
    /// What was given.
    pub given: f64,
    /// What storage wanted to charge with.
    pub wanted: f64,
    /// What it charged with.
    pub charged: f64,
    /// What was not, by cause.
    pub lost: BTreeMap<Cause, Lost>,
    /// For how long something other than its ratings held it back while it was on.
    pub held_back: Micros,
}

/// What one cause took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lost {
    /// Watt-microseconds; 0 where the log does not say what was available.
    pub energy: f64,
    /// For how long.
    pub lasted: Micros,
    /// The smallest share of what was available that was left.
    pub least_left: f64,
    /// First and last moment.
    pub between: [Micros; 2],
    /// How many times; two that less than a minute parts are one.
    pub times: u64,
    /// The longest of them.
    pub longest: [Micros; 2],
    /// When the one that goes on began.
    began: Micros,
}

/// What parts two losses.
const APART: Micros = 60_000_000;

impl Energy {
    /// Counts a stretch in which `watts` were lost to a cause, and `left` of what was available was left.
    pub(super) fn lose(&mut self, cause: Cause, watts: f64, left: f64, from: Micros, until: Micros) {
        if cause.holds_back() {
            self.held_back += until - from;
        }
        let lost = self.lost.entry(cause).or_insert(Lost {
            energy: 0.0,
            lasted: 0,
            least_left: f64::INFINITY,
            between: [from, from],
            times: 0,
            longest: [from, from],
            began: from,
        });
        if lost.times == 0 || from - lost.between[1] > APART {
            lost.times += 1;
            lost.began = from;
        }
        lost.energy += watts * (until - from) as f64;
        lost.lasted += until - from;
        lost.least_left = lost.least_left.min(left);
        lost.between[1] = until;
        if until - lost.began > lost.longest[1] - lost.longest[0] {
            lost.longest = [lost.began, until];
        }
    }
}
