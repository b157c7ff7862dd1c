//! How long the condition of a stage has lasted.
//!
//! A stage of an inverter counts from zero as soon as one value lies inside. A stage of a relay lets go
//! only beyond its drop-off, and counts from zero only once it has let go for its reset time. What its
//! count does meanwhile differs between relays: at the most it counts on, at the least it holds the count.

use super::condition::Count;
use super::protection::{Position, Stage};
use super::{Micros, Sample};

/// The count of one stage.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Timer {
    since: Option<Micros>,
    /// The shortest least time of the values since then; only where it counts the most.
    least: Option<Micros>,
    /// Since when the stage has let go, while it still counts.
    back: Option<Micros>,
}

impl Timer {
    /// Since when it counts.
    pub fn since(&self) -> Option<Micros> {
        self.since
    }

    /// How long the condition has to last before the stage may trip, by the values so far.
    pub fn least(&self, stage: &Stage) -> Micros {
        self.least.unwrap_or(stage.least)
    }

    pub fn is_running(&self) -> bool {
        self.since.is_some()
    }

    /// A log begins with a value outside.
    pub fn begin(&mut self, at: Micros) {
        self.since.get_or_insert(at);
    }

    /// A log begins with a value inside, and the stage may have let go just then.
    pub fn begin_released(&mut self, since: Micros, at: Micros) {
        if self.since.is_none() {
            (self.since, self.back) = (Some(since), Some(at));
        }
    }

    /// Brings the count up to a new value, before it is looked at who trips.
    pub fn watch(&mut self, stage: &Stage, last: &Sample, now: &Sample, phases: usize, count: Count) {
        let standing = stage.standing(now, phases, count);
        let is_outside = standing == Position::Outside;
        match count {
            // it may have begun right after the value before
            Count::AtMost if is_outside || standing == Position::Unknown => {
                self.since.get_or_insert(last.at);
                // what the log does not say may lie outside, as far as it can
                let least = if is_outside { stage.least_at(now, phases) } else { stage.least };
                self.least = Some(self.least.map_or(least, |before| before.min(least)));
            }
            Count::AtMost => {}
            Count::AtLeast => {
                // values that lie further apart than the stage takes do not prove that it lasted
                if now.at - last.at > stage.most {
                    *self = Self::default();
                }
                if is_outside {
                    let held = self.back.take().map_or(0, |back| now.at - back);
                    let is_reset = held > 0 && held >= stage.drop_off.reset(count);
                    self.since = Some(self.since.filter(|_| !is_reset).map_or(now.at, |since| since + held));
                }
            }
        }
    }

    /// Whether the stage may still be picked up when the new value comes.
    pub fn may_trip(&self, stage: &Stage, now: &Sample, phases: usize, count: Count) -> bool {
        let standing = stage.standing(now, phases, count);
        match count {
            Count::AtMost => self.back.is_none() || matches!(standing, Position::Outside | Position::Unknown),
            Count::AtLeast => standing == Position::Outside || (standing == Position::Near && self.back.is_none()),
        }
    }

    /// What the new value itself changes.
    pub fn look(&mut self, stage: &Stage, last: &Sample, now: &Sample, phases: usize, count: Count) {
        match stage.standing(now, phases, count) {
            Position::Outside => self.back = None,
            // one that has let go picks up again at its threshold only
            Position::Near => {}
            // what the log does not say may go on
            Position::Unknown if count == Count::AtMost => self.back = None,
            Position::Unknown => *self = Self::default(),
            Position::Inside => {
                // nobody knows when it came back between two values
                self.back.get_or_insert(if count == Count::AtMost { now.at } else { last.at });
            }
        }
        if self.back.is_some_and(|back| now.at - back >= stage.drop_off.reset(count)) {
            *self = Self::default();
        }
    }
}
