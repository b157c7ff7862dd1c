//! What the set of states comes to: the least and the most that any device does, gives and loses.

use super::{Change, MOST_CHANGES, Scene, State, States};
use crate::timeline::Micros;
use crate::timeline::condition::Condition;
use crate::timeline::energy::Bounds;

impl States {
    /// The least that any device may be doing, and the most.
    pub fn least_and_most(&self) -> [State; 2] {
        self.least_and_most
    }

    /// Notes what they may be doing at a value.
    pub(in crate::timeline) fn note(&mut self, at: Micros, scene: &Scene<'_>) {
        let [mut least, mut most] = match &self.on {
            Some(on) => on.states(at, self.ceases, scene),
            None => [State::Running, State::Waiting],
        };
        for off in &self.off {
            let is_observing = |is: bool| if is && off.may_come_back() { State::Observing } else { State::Waiting };
            least = least.min(is_observing(off.observation.latest.is_some()));
            most = most.max(is_observing(off.observation.earliest.is_some()));
        }
        let up = self.on.as_ref().map(|on| on.up(scene));
        for (n, state) in [least, most].into_iter().enumerate() {
            let before = self.least_and_most[n];
            if before == state && !self.changes[n].is_empty() {
                continue;
            }
            let came_up = up.map(|up| up[n]).filter(|_| before == State::Ramping && state == State::Running);
            let moment = came_up.or(self.turned[n]).unwrap_or(at).min(at);
            let moment = self.changes[n].last().map_or(at, |last| moment.max(last.at));
            if self.changes[n].len() < MOST_CHANGES {
                self.changes[n].push(Change { at: moment, to: state });
            }
        }
        self.least_and_most = [least, most];
        let is_free = self.off.is_empty() && !self.ceases && !self.may_leave_by_link;
        let stands = self.conditions.iter().any(Condition::may_stand);
        self.are_quiet = is_free && !stands && self.on.as_ref().is_some_and(|on| on.is_just_running(at, scene));
    }

    /// The least and the most that any gave, lost and charged.
    pub fn energy(&self) -> Bounds {
        let mut all = self.on.iter().map(|on| &on.energy).chain(self.off.iter().map(|off| &off.energy));
        let first = all.next().cloned().unwrap_or_default();
        all.fold(first, Bounds::or)
    }

    /// Watt-microseconds given, and microseconds held back: the least and the most of each.
    pub fn given_and_held_back(&self) -> [(f64, Micros); 2] {
        if let (Some(on), []) = (&self.on, self.off.as_slice()) {
            return on.energy.of_each().each_ref().map(|energy| (energy.given, energy.held_back));
        }
        let all = || self.on.iter().map(|on| &on.energy).chain(self.off.iter().map(|off| &off.energy)).map(Bounds::of_each);
        let least = all().map(|[least, _]| (least.given, least.held_back));
        let most = all().map(|[_, most]| (most.given, most.held_back));
        [
            least.reduce(|one, other| (one.0.min(other.0), one.1.min(other.1))).unwrap_or_default(),
            most.reduce(|one, other| (one.0.max(other.0), one.1.max(other.1))).unwrap_or_default(),
        ]
    }
}
