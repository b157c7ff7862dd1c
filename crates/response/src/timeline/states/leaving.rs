//! Those that are on and leave: by a stage of their own, by one of a relay before them, or because they lost
//! what they keep a limit by.

use super::step::Step;
use super::{Arrival, Scene, States};
use crate::timeline::Micros;
use crate::timeline::condition::{Count, Window};
use crate::timeline::energy::{Bounds, Cause};
use crate::timeline::observation::Observation;
use crate::timeline::off::{Off, joined};
use crate::timeline::on::{On, nothing_given};
use crate::timeline::protection::Position;
use crate::timeline::story::MayTrip;

impl States {
    /// What those that are on may trip by.
    pub(super) fn trips_of(&self, step: &Step<'_>, windows: &[Window], emptied: Option<Micros>) -> Vec<MayTrip> {
        let Some(on) = &self.on else { return Vec::new() };
        let first = on.first();
        let trips = windows.iter().filter_map(|window| {
            let stage = &step.scene.protection.stages[window.stage];
            let from = window.between[0].max(first.saturating_add(stage.least));
            let until = window.between[1].min(emptied.unwrap_or(Micros::MAX));
            (from <= until).then(|| may_trip(window.stage, [from, until], step))
        });
        trips.collect()
    }

    /// What those that connect in this step may trip by: its condition began after they had.
    pub(super) fn trips_after(&self, arrival: &Arrival, step: &Step<'_>, windows: &[Window]) -> Vec<MayTrip> {
        let trips = windows.iter().filter_map(|window| {
            let from = window.between[0].max(arrival.between[0].saturating_add(step.scene.protection.stages[window.stage].least));
            (from <= window.between[1]).then(|| may_trip(window.stage, [from, window.between[1]], step))
        });
        trips.collect()
    }

    /// Those that leave by a stage of their own, or of each relay.
    pub(super) fn leave(&mut self, step: &Step<'_>, windows: &[Window], emptied: Option<Micros>, stay: &mut Vec<Off>) {
        let trips = self.trips_of(step, windows, emptied);
        let Some(on) = &self.on else { return };
        let relay_of = |trip: &MayTrip| step.scene.protection.stages[trip.stage].relay;
        let mut relays: Vec<Option<usize>> = trips.iter().map(relay_of).collect();
        relays.sort_unstable();
        relays.dedup();
        for relay in relays {
            let own: Vec<&MayTrip> = trips.iter().filter(|trip| relay_of(trip) == relay).collect();
            let edges = own.iter().flat_map(|trip| trip.between);
            let between = [edges.clone().min().unwrap_or(step.now.at), edges.max().unwrap_or(step.now.at)];
            let mut causes: Vec<_> = own.iter().map(|trip| Cause::Trip(trip.stage)).collect();
            causes.sort_unstable();
            let [first, last] = between.map(|at| self.left_at(on, at, &causes, step));
            stay.push(left(between, relay, causes, first.or(&last), step));
        }
        if self.may_leave_by_link {
            let between = [step.last.at, emptied.unwrap_or(step.now.at)];
            let [first, last] = between.map(|at| self.left_at(on, at, &[Cause::Link], step));
            stay.push(left(between, None, vec![Cause::Link], first.or(&last), step).held());
        }
    }

    /// What it comes to by the new value if one that is on leaves at a moment.
    pub(super) fn left_at(&self, on: &On, at: Micros, causes: &[Cause], step: &Step<'_>) -> Bounds {
        let mut on = on.clone();
        on.account(step.last, step.last.at, at, self.ceases, step.scene);
        let mut energy = on.energy;
        if at < step.now.at {
            energy.count_off(&nothing_given(step.last, step.scene.devices[0]), causes, [at, step.now.at]);
        }
        energy
    }

    /// Those that are on may leave because they lost what they need; those off then stay off.
    pub(super) fn leave_by_link(&mut self, step: &Step<'_>, all_are_on: bool, stay: &mut Vec<Off>) {
        if !self.may_leave_by_link {
            return;
        }
        let held: Vec<Off> = stay.iter().filter(|off| !off.is_held).map(|off| off.clone().held()).collect();
        stay.extend(held);
        if self.on.is_some() {
            self.story.may_leave_by_link(step.between(), all_are_on);
        }
    }

    /// Relays that may open before those that are off.
    pub(super) fn open<'w>(&mut self, step: &Step<'_>, windows: impl Iterator<Item = &'w Window>, stay: &mut Vec<Off>) {
        for window in windows {
            let Some(relay) = step.scene.protection.stages[window.stage].relay else { continue };
            let is_closed = |off: &Off| off.relays[relay].is_none();
            if !stay.iter().any(is_closed) {
                continue;
            }
            let all_are_behind = self.on.is_none() && stay.iter().all(is_closed);
            let opened: Vec<Off> = stay
                .iter()
                .filter(|off| is_closed(off))
                .map(|off| off.clone().behind(relay, opened(relay, window.between, step)))
                .collect();
            if window.must.is_some() {
                stay.retain(|off| !is_closed(off));
            }
            stay.extend(opened);
            let mut trip = may_trip(window.stage, window.between, step);
            trip.between[1] = window.must.map_or(trip.between[1], |must| trip.between[1].min(must));
            self.story.may_open(trip, all_are_behind, window.must.is_some() && self.on.is_none());
        }
    }

    /// From this moment on those that are on may leave, because they lost what they need.
    pub fn may_hold_off(&mut self, at: Micros) {
        self.may_leave_by_link = true;
        self.are_quiet = false;
        if self.on.is_some() {
            self.story.may_leave_by_link([at; 2], self.off.is_empty());
        }
    }

    /// By this moment all of them have.
    pub fn hold_off(&mut self, at: Micros, scene: &Scene<'_>) {
        self.turned = [None; 2];
        self.may_leave_by_link = true;
        let mut off: Vec<Off> = std::mem::take(&mut self.off).into_iter().map(Off::held).collect();
        if let Some(on) = self.on.take() {
            let causes = vec![Cause::Link];
            off.push(Off::left([at; 2], scene.protection.relays.len(), causes, on.energy).held());
            self.story.link_is_over(true);
        }
        self.off = joined(off);
        self.note(at, scene);
    }

    /// What was lost is back.
    pub fn let_go(&mut self, at: Micros, scene: &Scene<'_>) {
        self.turned = [None; 2];
        self.may_leave_by_link = false;
        self.story.link_is_over(false);
        for off in self.off.iter_mut().filter(|off| off.is_held) {
            off.is_held = false;
            off.free = [at, Micros::MAX];
        }
        self.off = joined(std::mem::take(&mut self.off));
        self.note(at, scene);
    }
}

/// One that left by a stage of its own, or behind a relay that opened.
pub(super) fn left(between: [Micros; 2], relay: Option<usize>, causes: Vec<Cause>, energy: Bounds, step: &Step<'_>) -> Off {
    let off = Off::left(between, step.scene.protection.relays.len(), causes, energy);
    match relay {
        Some(relay) => off.behind(relay, opened(relay, between, step)),
        None => off,
    }
}

/// Since when a relay that opened between two moments may close again.
fn opened(relay: usize, between: [Micros; 2], step: &Step<'_>) -> Observation {
    let mut observation = Observation::default();
    let [was_inside, is_inside] = [step.last, step.now].map(|sample| step.scene.is_inside(Some(relay), sample));
    observation.look(was_inside, is_inside, step.now.at, step.last.at, between);
    observation
}

fn may_trip(place: usize, between: [Micros; 2], step: &Step<'_>) -> MayTrip {
    let stage = &step.scene.protection.stages[place];
    if let Some(mean) = &step.scene.means[place] {
        return MayTrip { stage: place, between, value: mean.mean().unwrap_or(f64::NAN), is_seen: true, most: stage.most };
    }
    let phases = step.scene.phases_of(stage);
    let outside = [step.now, step.last].into_iter().find(|sample| stage.is_outside(sample, phases));
    let shows = |sample| matches!(stage.standing(sample, phases, Count::AtMost), Position::Outside | Position::Near);
    MayTrip {
        stage: place,
        between,
        // what does not lie past the threshold is no reason
        value: outside.map_or(f64::NAN, |sample| stage.value(sample, phases)),
        is_seen: shows(step.now) || shows(step.last),
        most: stage.most,
    }
}
