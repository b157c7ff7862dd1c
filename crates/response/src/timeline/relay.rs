//! A grid protection relay: a device of its own, whose stages open the supply of all that sits behind it.

use super::protection::Reconnection;
use super::track::{Bias, Scene, State, Track};
use super::{Micros, Sample};

/// A relay; its stages stand among those of the device behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Relay {
    /// How many phases of a sample it looks at.
    pub phases: usize,
    /// When it closes again; its ramp means nothing.
    pub reconnection: Reconnection,
}

/// Where and when a stage that has picked up lets go, so that its time counts from zero again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DropOff {
    /// Where the value has to be back: nearest to the threshold and farthest from it, where nobody
    /// knows which.
    pub at: [f64; 2],
    /// For how long it has to be back, at the least and at the most.
    pub reset: [Micros; 2],
}

impl DropOff {
    /// At the threshold itself, at once: a stage of an inverter.
    #[must_use]
    pub fn at_threshold(threshold: f64) -> Self {
        Self { at: [threshold; 2], reset: [0; 2] }
    }

    pub(super) fn at(&self, bias: Bias) -> f64 {
        self.at[bias.of_most()]
    }

    pub(super) fn reset(&self, bias: Bias) -> Micros {
        self.reset[bias.of_most()]
    }
}

/// Whether a relay lets power through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Breaker {
    /// Since this moment.
    Closed(Micros),
    /// Voltage or frequency lie outside where it may close.
    Waiting,
    /// It counts from this moment how long both have been inside.
    Observing(Micros),
}

impl Breaker {
    pub fn is_closed(self) -> bool {
        matches!(self, Self::Closed(_))
    }
}

/// A track behind relays.
impl Track {
    /// Whether every relay before it is closed, and nothing else holds it off.
    pub(super) fn may_come_back(&self) -> bool {
        !self.is_held_off && self.breakers.iter().all(|breaker| breaker.is_closed())
    }

    /// A stage of a relay opens it: what sits behind is off, if it was not already.
    pub(super) fn open(&mut self, due: Micros, stage: usize, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        let Some(relay) = scene.protection.stages[stage].relay else { return };
        let held = &scene.protection.relays[relay];
        let holds = |sample| held.reconnection.holds(sample, held.phases);
        self.breakers[relay] = if holds(last) && holds(now) { Breaker::Observing(due) } else { Breaker::Waiting };
        let value = self.value_of(stage, last, now, scene);
        if self.state.is_on() {
            self.leave(due, stage, value);
            return;
        }
        self.turn(due, State::Waiting, None);
        if let Some(change) = self.changes.last_mut().filter(|change| change.at == due) {
            change.opened = Some((stage, value));
        }
    }

    /// A relay closes: what sits behind begins to observe.
    pub(super) fn close(&mut self, due: Micros, relay: usize, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        self.breakers[relay] = Breaker::Closed(due);
        if !self.may_come_back() {
            return;
        }
        self.turn(due, State::Waiting, None);
        let holds = |sample| scene.protection.reconnection.holds(sample, scene.phases);
        if holds(last) && holds(now) {
            self.turn(due, State::Observing, None);
        }
    }

    /// What a new value changes for relays that are open; `before` is when the value before was.
    pub(super) fn look_at_breakers(&mut self, before: Micros, now: &Sample, scene: &Scene<'_>) {
        for (breaker, relay) in self.breakers.iter_mut().zip(&scene.protection.relays) {
            match (*breaker, relay.reconnection.holds(now, relay.phases)) {
                (Breaker::Observing(_), false) => *breaker = Breaker::Waiting,
                (Breaker::Waiting, true) => {
                    let began = if self.bias == Bias::OffSoonest { now.at } else { before };
                    *breaker = Breaker::Observing(began);
                }
                _ => {}
            }
        }
    }

    /// The log says nothing between two moments: every relay closes as soon as it may. When the last did;
    /// later than `until` where one does not.
    pub(super) fn close_in_a_gap(&mut self, from: Micros, until: Micros, scene: &Scene<'_>) -> Micros {
        let mut supplied = from;
        for (breaker, relay) in self.breakers.iter_mut().zip(&scene.protection.relays) {
            let since = match *breaker {
                Breaker::Closed(_) => continue,
                Breaker::Observing(since) => since,
                Breaker::Waiting => from,
            };
            let due = since.saturating_add(relay.reconnection.observation[0]).max(from);
            *breaker = if due <= until { Breaker::Closed(due) } else { Breaker::Observing(since) };
            supplied = supplied.max(due);
        }
        supplied
    }
}
