//! Since when voltage and frequency have been where a device, or a relay, may come back.

use super::protection::Reconnection;
use super::{Micros, Sample};

/// When an observation began: at the earliest, and at the latest that is proven; neither of one that waits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Observation {
    pub earliest: Option<Micros>,
    pub latest: Option<Micros>,
}

/// When an observation ends between two values of the log.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ends {
    pub between: [Micros; 2],
    /// Whether it ends for certain.
    pub is_certain: bool,
}

impl Observation {
    /// What holds of either of two.
    pub fn or(self, other: Self) -> Self {
        Self {
            earliest: self.earliest.into_iter().chain(other.earliest).min(),
            latest: self.latest.zip(other.latest).map(|(one, other)| one.max(other)),
        }
    }

    /// Brings it up to a new value. What may observe since `could` began at once if both values are
    /// inside, and else between them.
    pub fn look(&mut self, was_inside: Option<bool>, is_inside: Option<bool>, now: Micros, last: Micros, could: [Micros; 2]) {
        match is_inside {
            Some(false) => *self = Self::default(),
            Some(true) => {
                let began = if was_inside == Some(true) { could } else { [could[0].max(last), now] };
                self.earliest.get_or_insert(began[0]);
                self.latest.get_or_insert(began[1]);
            }
            // what the log does not say may be inside or not
            None => {
                self.earliest.get_or_insert(could[0].max(last));
                self.latest = None;
            }
        }
    }

    /// When it ends in the step to a new value; `free` says from when no stage stands any more: for all
    /// that is proven, and for certain.
    pub fn ends(&self, wait: [Micros; 2], [last, now]: [Micros; 2], is_inside: Option<bool>, free: [Option<Micros>; 2]) -> Option<Ends> {
        // just before a value outside it may still end
        let limit = if is_inside == Some(true) { now } else { now - 1 };
        let earliest = self.earliest?.saturating_add(wait[0]).max(last).max(free[0]?);
        let latest = self.latest.map(|latest| latest.saturating_add(wait[1]).max(last));
        let certain = latest.zip(free[1]).map(|(latest, free)| latest.max(free)).filter(|at| *at <= now && is_inside == Some(true));
        (earliest <= limit).then(|| Ends { between: [earliest, certain.unwrap_or(limit)], is_certain: certain.is_some() })
    }
}

impl Reconnection {
    /// The shortest and the longest time for which both have to be inside.
    pub(super) fn wait(&self) -> [Micros; 2] {
        [self.observation[0], self.observation[1].saturating_add(self.random)]
    }

    /// Whether both lie outside of one edge at two values, and so all the way from one to the other.
    pub(super) fn stays_outside(&self, [last, to]: [&Sample; 2], phases: usize) -> bool {
        let outside = |[from, until]: [f64; 2], [low, high]: [f64; 2]| from.max(until) < low || from.min(until) > high;
        let of_phase = |phase: usize| outside([last.voltage[phase], to.voltage[phase]], self.voltage);
        (0..phases).any(of_phase) || outside([last.frequency, to.frequency], self.frequency)
    }

    /// Whether voltage and frequency are inside; `None` where the log does not say.
    pub(super) fn is_inside(&self, sample: &Sample, phases: usize) -> Option<bool> {
        let outside = |value: f64, [low, high]: [f64; 2]| value < low || value > high;
        let is_outside = sample.voltage[..phases].iter().any(|v| outside(*v, self.voltage)) || outside(sample.frequency, self.frequency);
        if is_outside { Some(false) } else { self.holds(sample, phases).then_some(true) }
    }
}
