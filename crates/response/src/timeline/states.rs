//! The states that lawful devices may be in, carried from value to value: on, and off behind each set of
//! relays. Every lawful device is in one of them, and happenings are what leads from one to another.
//!
//! Its size is bounded: devices that wait for the same are one, with intervals for what differs.

mod leaving;
mod returning;
mod state;
mod step;
mod telling;

pub use state::{Change, State};
pub(super) use step::Scene;

use super::condition::{Condition, Window, of_mean};
use super::energy::{Bounds, Cause};
use super::observation::Observation;
use super::off::{Off, joined};
use super::on::On;
use super::protection::Protection;
use super::story::Story;
use super::{Micros, Sample};
use crate::device::Device;
use leaving::left;
use step::Step;

/// How many changes are kept.
const MOST_CHANGES: usize = 50_000;

/// The states that lawful devices may be in.
#[derive(Clone, Debug)]
pub(super) struct States {
    pub(super) on: Option<On>,
    pub(super) off: Vec<Off>,
    pub(super) conditions: Vec<Condition>,
    /// Whether those that are on give nothing for a moment.
    ceases: bool,
    /// Whether those that are on may leave because they lost what they need.
    may_leave_by_link: bool,
    pub story: Story,
    /// The least that any may be doing, and the most.
    pub changes: [Vec<Change>; 2],
    /// Whether all are on and give what there is, and no stage may stand: until a value that is not calm.
    are_quiet: bool,
    /// What those were at the last value.
    least_and_most: [State; 2],
    /// When they changed in this step, where it is not at the value itself.
    turned: [Option<Micros>; 2],
}

/// Those that connect in a step.
struct Arrival {
    on: On,
    between: [Micros; 2],
    /// What it comes to by the new value if they do not.
    as_off: Bounds,
}

impl States {
    pub fn new(in_service: Option<bool>, protection: &Protection) -> Self {
        let off = Off::from_the_start(protection.relays.len());
        Self {
            on: in_service.unwrap_or(true).then(On::always),
            off: if in_service == Some(true) { Vec::new() } else { vec![off] },
            conditions: vec![Condition::default(); protection.stages.len()],
            ceases: false,
            may_leave_by_link: false,
            story: Story::default(),
            changes: [Vec::new(), Vec::new()],
            are_quiet: false,
            least_and_most: [State::Waiting; 2],
            turned: [None; 2],
        }
    }

    /// The first value of the log, or the first after a gap.
    pub fn begin(&mut self, sample: &Sample, scene: &Scene<'_>) {
        for (condition, stage) in self.conditions.iter_mut().zip(&scene.protection.stages) {
            condition.begin(stage, sample, scene.phases_of(stage));
        }
        for off in &mut self.off {
            let look = |relay, observation: &mut Observation| {
                observation.look(None, scene.is_inside(relay, sample), sample.at, sample.at, [sample.at; 2]);
            };
            off.relays.iter_mut().enumerate().for_each(|(n, relay)| relay.iter_mut().for_each(|relay| look(Some(n), relay)));
            if off.may_come_back() {
                look(None, &mut off.observation);
            }
        }
        self.ceases = scene.protection.ceasing.acts(sample, scene.phases);
        self.note(sample.at, scene);
    }

    /// Whether all are on, give what there is but for their ratings, and no stage may stand.
    pub fn are_just_running(&self) -> bool {
        self.are_quiet
    }

    /// A value like the last, where nothing happens.
    pub fn run_on(&mut self, last: &Sample, until: Micros, device: &Device) {
        if let Some(on) = &mut self.on {
            on.run_on(last, until, device);
        }
    }

    /// The next value.
    pub fn step(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        let windows = self.windows(last, now, scene);
        let step = Step { last, now, scene };
        self.turned = [None; 2];
        if self.off.is_empty() && windows.is_empty() && !self.may_leave_by_link {
            if let Some(on) = &mut self.on {
                on.account(last, last.at, now.at, self.ceases, scene);
            }
        } else if windows.is_empty() && self.just_wait(&step) {
            self.off.iter_mut().for_each(|off| step.stay_off(off));
        } else {
            self.pass(&step, &windows);
        }
        self.ceases = scene.protection.ceasing.acts(now, scene.phases);
        self.note(now.at, scene);
    }

    /// Whether none is on.
    pub fn are_all_off(&self) -> bool {
        self.on.is_none()
    }

    /// Whether nothing can happen on the way to a value, if everything moves there in a straight line.
    pub fn stay_quiet(&self, last: &Sample, to: &Sample, scene: &Scene<'_>) -> bool {
        let of_moments = self.conditions.iter().zip(&scene.protection.stages).zip(scene.means).filter(|(_, mean)| mean.is_none());
        let mut at_rest = of_moments.map(|((condition, stage), _)| condition.stays_at_rest(stage, [last, to], scene.phases_of(stage)));
        let may_turn = self.may_leave_by_link || self.ceases || scene.protection.ceasing.acts(to, scene.phases);
        let goes_on = match &self.on {
            Some(on) => self.off.is_empty() && on.goes_on([last, to], scene),
            None => self.goes_on_waiting(&Step { last, now: to, scene }),
        };
        !may_turn && goes_on && at_rest.all(|is_at_rest| is_at_rest)
    }

    /// Goes there; `before` is the last value before the end, so that each held until the next.
    pub fn glide(&mut self, first: &Sample, before: &Sample, to: &Sample, scene: &Scene<'_>) {
        let middle = Sample { at: first.at, ..first.between(before) };
        self.turned = [None; 2];
        if let Some(on) = &mut self.on {
            on.account(&middle, first.at, to.at, false, scene);
        }
        let step = Step { last: &middle, now: to, scene };
        self.off.iter_mut().for_each(|off| step.stay_off(off));
        self.note(to.at, scene);
    }

    /// When each stage may trip on the way to a value.
    fn windows(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) -> Vec<Window> {
        let mut windows = Vec::new();
        for (n, (condition, stage)) in self.conditions.iter_mut().zip(&scene.protection.stages).enumerate() {
            windows.extend(match &scene.means[n] {
                Some(mean) => of_mean(n, stage, mean, [last.at, now.at], scene.values_are_means),
                None => condition.step(n, stage, [last, now], scene.phases_of(stage)),
            });
        }
        windows
    }

    /// A step in which something may happen.
    fn pass(&mut self, step: &Step<'_>, windows: &[Window]) {
        let (was_on, was_off) = (self.on.is_some(), !self.off.is_empty());
        let own = |window: &&Window| step.scene.protection.stages[window.stage].relay.is_none();
        let (mut stay, arrivals, broken_off) = self.come_back(step);
        for arrival in &arrivals {
            self.story.connects(arrival.between, !was_on);
            self.turned[1].get_or_insert(arrival.between[0]);
        }
        let must = windows.iter().filter(|_| was_on).filter_map(|window| Some((window.must?, window.stage))).min();
        let emptied = must.map(|(at, _)| at);
        self.leave(step, windows, emptied, &mut stay);
        let all_are_on = was_on && !was_off;
        let mut trips = self.trips_of(step, windows, emptied);
        // as if none had left
        let gone_on = self.on.take().map(|mut on| {
            on.account(step.last, step.last.at, step.now.at, self.ceases, step.scene);
            on
        });
        // only those that leave in this step, or were let go before it, ask what one that stayed on gave
        let is_asked = !windows.is_empty() || stay.iter().any(|off| off.may_observe_at_once(step.last.at));
        let all_along = gone_on.as_ref().filter(|_| is_asked).map(|on| on.energy.clone());
        self.on = gone_on.filter(|_| emptied.is_none());
        for arrival in arrivals {
            let late = self.trips_after(&arrival, step, windows);
            for trip in &late {
                let relay = step.scene.protection.stages[trip.stage].relay;
                let energy = arrival.as_off.clone().or(&arrival.on.energy);
                stay.push(left(trip.between, relay, vec![Cause::Trip(trip.stage)], energy, step));
            }
            if !was_on {
                trips.extend(late);
            }
            if emptied.is_none() {
                self.on = Some(match self.on.take() {
                    Some(on) => on.or(arrival.on),
                    None => arrival.on,
                });
            }
        }
        trips.sort_by_key(|trip| trip.between[0]);
        self.story.may_trip(&trips, all_are_on, emptied);
        if let Some(first) = trips.iter().map(|trip| trip.between[0]).min() {
            self.turned[0].get_or_insert(first);
        }
        if let Some(at) = emptied {
            self.turned[1] = Some(at);
        }
        self.leave_by_link(step, all_are_on, &mut stay);
        self.open(step, windows.iter().filter(|window| !own(window)), &mut stay);
        self.observe_at_once(step, &mut stay, all_along.as_ref(), was_on);
        self.off = joined(stay);
        let all_broken = self.on.is_none() && self.off.iter().all(|off| off.may_come_back() && off.observation.earliest.is_none());
        if let Some(is_proven) = broken_off {
            let by = step.scene.protection.reconnection.broken_off(step.now, step.scene.phases);
            self.story.breaks_off(step.now.at, Some(by), is_proven && all_broken);
        }
        if self.off.is_empty() {
            self.story.all_are_on();
        }
    }
}
