//! Devices that are off: all of those that lawful ones may be, behind the same open relays.

use super::Micros;
use super::energy::{Bounds, Cause};
use super::observation::Observation;
use super::on::LONG_AGO;

/// Those that are off behind the same open relays.
#[derive(Clone, Debug)]
pub(super) struct Off {
    /// Of each relay, since when it may close again; `None` of one that is closed.
    pub relays: Vec<Option<Observation>>,
    /// Since when voltage and frequency have been where it may connect.
    pub observation: Observation,
    /// From when on it may observe: at the earliest and at the latest.
    pub free: [Micros; 2],
    /// Whether it stays off whatever the supply is.
    pub is_held: bool,
    /// Why it is off: one of these.
    pub causes: Vec<Cause>,
    pub energy: Bounds,
}

impl Off {
    /// Not connected yet when the log begins.
    pub fn from_the_start(relays: usize) -> Self {
        Self::since([LONG_AGO; 2], relays, vec![Cause::Start], Bounds::default())
    }

    /// Left between two moments.
    pub fn left(between: [Micros; 2], relays: usize, causes: Vec<Cause>, mut energy: Bounds) -> Self {
        energy.leave();
        Self::since(between, relays, causes, energy)
    }

    fn since(between: [Micros; 2], relays: usize, causes: Vec<Cause>, energy: Bounds) -> Self {
        Self { relays: vec![None; relays], observation: Observation::default(), free: between, is_held: false, causes, energy }
    }

    /// Whether every relay before it is closed, and nothing else holds it off.
    pub fn may_come_back(&self) -> bool {
        !self.is_held && self.relays.iter().all(Option::is_none)
    }

    /// Whether it may, and has not begun to observe though it left after this moment.
    pub fn may_observe_at_once(&self, after: Micros) -> bool {
        self.may_come_back() && self.observation.earliest.is_none() && self.free[1] >= after
    }

    /// The same behind a relay that opened.
    #[must_use]
    pub fn behind(mut self, relay: usize, observation: Observation) -> Self {
        self.relays[relay] = Some(observation);
        self.observation = Observation::default();
        self
    }

    /// The same, with nothing but what is lost to hold it off.
    #[must_use]
    pub fn held(mut self) -> Self {
        self.is_held = true;
        self.observation = Observation::default();
        self
    }

    /// Whether it waits for the same as another.
    fn is_like(&self, other: &Self) -> bool {
        self.is_held == other.is_held && self.relays.iter().zip(&other.relays).all(|(one, other)| one.is_some() == other.is_some())
    }

    fn or(self, other: Self) -> Self {
        let relays = self.relays.into_iter().zip(other.relays).map(|(one, other)| Some(one?.or(other?))).collect();
        Self {
            relays,
            observation: self.observation.or(other.observation),
            free: [self.free[0].min(other.free[0]), self.free[1].max(other.free[1])],
            is_held: self.is_held,
            causes: united(self.causes, &other.causes),
            energy: self.energy.or(&other.energy),
        }
    }
}

/// All of both, each once.
fn united(mut one: Vec<Cause>, other: &[Cause]) -> Vec<Cause> {
    one.extend(other);
    one.sort_unstable();
    one.dedup();
    one
}

/// Those that wait for the same are one: at most two for each set of relays.
pub(super) fn joined(all: Vec<Off>) -> Vec<Off> {
    if all.len() < 2 {
        return all;
    }
    let mut joined: Vec<Off> = Vec::new();
    for off in all {
        match joined.iter().position(|other| other.is_like(&off)) {
            Some(at) => {
                let other = joined.swap_remove(at);
                joined.push(other.or(off));
            }
            None => joined.push(off),
        }
    }
    joined
}
