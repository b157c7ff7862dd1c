//! Rows that repeat each other to the last digit for so long that nothing was measured.

use super::Moment;
use crate::thresholds::{STUCK_FOR, STUCK_ROWS};
use std::collections::VecDeque;

/// Holds rows back until it is known whether they are stuck.
#[derive(Debug, Default)]
pub struct Stuck {
    run: VecDeque<Moment>,
    /// Whether the run is known to be stuck, so that none of it waits.
    is_stuck: bool,
    last: Option<Moment>,
}

impl Stuck {
    /// Takes in the next; hands on those of which it is known.
    pub fn push(&mut self, moment: Moment, is_on: bool, out: &mut Vec<Moment>) {
        let goes_on = is_on && self.last.is_some_and(|last| last.repeats(&moment));
        if !goes_on {
            self.end(out);
        }
        self.last = Some(moment);
        if self.is_stuck {
            out.push(Moment { is_stuck: true, ..moment });
            return;
        }
        self.run.push_back(moment);
        let lasted = self.run.front().map_or(0, |first| (moment.at - first.at) as u64 / 1_000);
        if self.run.len() >= STUCK_ROWS && lasted >= STUCK_FOR {
            self.is_stuck = true;
            out.extend(self.run.drain(..).map(|moment| Moment { is_stuck: true, ..moment }));
        }
    }

    /// Hands on what waits: the run is over.
    pub fn end(&mut self, out: &mut Vec<Moment>) {
        out.extend(self.run.drain(..));
        self.is_stuck = false;
    }
}
