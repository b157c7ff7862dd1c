//! Devices that are on: all of those that lawful ones may be, between the one that gives least and the
//! one that gives most.

use super::energy::{Bounds, Cause, Flow};
use super::frequency_memory::FrequencyMemory;
use super::states::{Scene, State};
use super::{Micros, Sample};
use crate::device::Device;
use crate::operating_point::{Cap, Conditions};

/// One end of those that are on.
#[derive(Clone, Debug, Default)]
struct Lane {
    /// When it connected, and its ramp began.
    connected: Micros,
    memory: FrequencyMemory,
}

/// Those that are on.
#[derive(Clone, Debug)]
pub(super) struct On {
    /// The one that connected last, and the one that connected first.
    lanes: [Lane; 2],
    pub energy: Bounds,
}

/// How far power may bend between two values that are passed over at once, of rated active power: it is less than what is
/// ever printed.
const STRAIGHT: f64 = 1e-4;

/// Before any log.
pub(super) const LONG_AGO: Micros = Micros::MIN / 4;

impl On {
    /// In service long before the log begins.
    pub fn always() -> Self {
        Self::since([LONG_AGO; 2], Bounds::default())
    }

    /// Connected between two moments.
    pub fn since([first, last]: [Micros; 2], energy: Bounds) -> Self {
        Self { lanes: [last, first].map(|connected| Lane { connected, ..Lane::default() }), energy }
    }

    /// What holds of either of two.
    pub fn or(mut self, other: Self) -> Self {
        let [late, early] = other.lanes;
        if late.connected > self.lanes[0].connected {
            // a level that an answer holds is not forgotten for it
            self.lanes[0].connected = late.connected;
        }
        if early.connected < self.lanes[1].connected || early.memory.is_quiet() {
            self.lanes[1] = Lane { connected: early.connected.min(self.lanes[1].connected), memory: early.memory };
        }
        self.energy = self.energy.or(&other.energy);
        self
    }

    /// Whether all give what there is but for their ratings.
    pub fn is_just_running(&self, at: Micros, scene: &Scene<'_>) -> bool {
        self.lanes.iter().all(|lane| lane.memory.is_quiet() && self.is_up(lane, at, scene))
    }

    fn is_up(&self, lane: &Lane, at: Micros, scene: &Scene<'_>) -> bool {
        at - lane.connected >= scene.protection.reconnection.ramp
    }

    /// When the first of them connected.
    pub fn first(&self) -> Micros {
        self.lanes[1].connected
    }

    /// When each is up, or was.
    pub fn up(&self, scene: &Scene<'_>) -> [Micros; 2] {
        [0, 1].map(|n| self.lanes[n].connected + scene.protection.reconnection.ramp)
    }

    /// What each does at a moment.
    pub fn states(&self, at: Micros, ceases: bool, scene: &Scene<'_>) -> [State; 2] {
        [0, 1].map(|n| match self.is_up(&self.lanes[n], at, scene) {
            _ if ceases => State::Ceased,
            true => State::Running,
            false => State::Ramping,
        })
    }

    /// The answers of both ends forget, where the log says nothing.
    pub fn forget(&mut self) {
        self.lanes.iter_mut().for_each(|lane| lane.memory.forget());
    }

    /// Nothing happened and nothing is limited but by ratings.
    pub fn run_on(&mut self, last: &Sample, until: Micros, device: &Device) {
        if last.available.is_nan() {
            return;
        }
        let most = device.ratings.active.min(device.ratings.apparent);
        if last.available <= most {
            return self.energy.give_all(last.available, until - last.at);
        }
        let cap = if device.ratings.active <= device.ratings.apparent { Cap::RatedActive } else { Cap::RatedApparent };
        let available = last.available;
        let flow = Flow { is_known: true, available, wanted: 0.0, given: available.min(most), cause: Some(Cause::Cap(cap)) };
        self.energy.count(&flow, [last.at, until]);
    }

    /// Whether one cause keeps power back at two values, power moves in a straight line from one to the other, and no
    /// answer with a memory acts.
    pub fn goes_on(&self, [one, other]: [&Sample; 2], scene: &Scene<'_>) -> bool {
        let device = scene.devices[0];
        let is_quiet = self.lanes.iter().all(|lane| lane.memory.is_quiet());
        let middle = Sample { at: i64::midpoint(one.at, other.at), ..one.between(other) };
        let flow = |lane: &Lane, sample: &Sample| lane.clone().flow(sample, [sample.at; 2], false, scene, device);
        let is_straight = |lane: &Lane| {
            let [from, between, to] = [one, &middle, other].map(|sample| flow(lane, sample));
            let bend = between.given - f64::midpoint(from.given, to.given);
            from.cause == to.cause && between.cause == to.cause && bend.abs() <= STRAIGHT * device.ratings.active
        };
        is_quiet && !answers(device, one) && !answers(device, other) && self.lanes.iter().all(is_straight)
    }

    /// Counts what is given while a value of the log holds.
    pub fn account(&mut self, last: &Sample, from: Micros, until: Micros, ceases: bool, scene: &Scene<'_>) {
        let mut edges = self.up(scene);
        edges.sort_unstable();
        let mut begins = from;
        for ends in edges.into_iter().chain([until]) {
            let ends = ends.min(until);
            if ends > begins {
                self.account_part(last, [begins, ends], ceases, scene);
                begins = ends;
            }
        }
    }

    fn account_part(&mut self, last: &Sample, stretch: [Micros; 2], ceases: bool, scene: &Scene<'_>) {
        let is_one = std::ptr::eq(scene.devices[0], scene.devices[1])
            && self.lanes.iter().all(|lane| lane.memory.is_quiet() && self.is_up(lane, stretch[0], scene))
            && !answers(scene.devices[0], last);
        let [late, early] = &mut self.lanes;
        let worse = late.flow(last, stretch, ceases, scene, scene.devices[0]);
        let better = if is_one { worse } else { early.flow(last, stretch, ceases, scene, scene.devices[1]) };
        self.energy.count_between([&worse, &better], stretch);
    }
}

/// Whether the answer to high frequency acts, which has a memory.
fn answers(device: &Device, sample: &Sample) -> bool {
    device.over_frequency.as_ref().is_some_and(|answer| sample.frequency > answer.start)
}

/// What is available while a value holds, and none of it given.
pub(super) fn nothing_given(last: &Sample, device: &Device) -> Flow {
    let is_known = !last.available.is_nan();
    let wanted = if device.stores { (-last.available).max(0.0) } else { 0.0 };
    // what a source takes by itself, at night, is nothing that could be given
    let available = if is_known { last.available.max(0.0) } else { device.ratings.active };
    Flow { is_known, available, wanted, given: 0.0, cause: None }
}

impl Lane {
    /// What is given while a value holds, below zero charged, and what keeps it from being more.
    fn flow(&mut self, last: &Sample, stretch: [Micros; 2], ceases: bool, scene: &Scene<'_>, device: &Device) -> Flow {
        let flow = nothing_given(last, device);
        if ceases {
            return Flow { cause: Some(Cause::Ceased), ..flow };
        }
        let available = if flow.wanted > 0.0 { -flow.wanted } else { flow.available };
        let (given, cause) = self.given(last, stretch, available, scene, device);
        Flow { given, cause, ..flow }
    }

    fn given(
        &mut self,
        last: &Sample,
        [from, until]: [Micros; 2],
        available: f64,
        scene: &Scene<'_>,
        device: &Device,
    ) -> (f64, Option<Cause>) {
        let ramp = scene.protection.reconnection.ramp;
        let load = if last.load.is_nan() { 0.0 } else { last.load };
        let conditions = Conditions { voltage: last.mean(scene.phases), frequency: last.frequency, available, load };
        let (mut power, mut cap) = device.capped(&conditions);
        if let Some(answer) = &device.over_frequency {
            let most = self.memory.step(answer, from, last.frequency, power, device.ratings.active, ramp);
            if let Some(most) = most.filter(|most| *most < power) {
                (power, cap) = (most, Cap::Frequency);
            }
        }
        // at low frequency charging gives way; what it might give then, no log says
        if let Some(answer) = device.under_frequency.as_ref().filter(|answer| power < 0.0 && last.frequency < answer.start) {
            let least = answer.least(last.frequency, power, available, device).min(0.0);
            if least > power {
                (power, cap) = (least, Cap::Frequency);
            }
        }
        let point = device.with_reactive((power, cap), conditions.voltage);
        let given = (point.active, if point.held_by == Cap::Available { None } else { Some(Cause::Cap(point.held_by)) });
        if from - self.connected >= ramp {
            return given;
        }
        let slope = device.ratings.active / ramp as f64;
        let [begins, ends] = [from, until].map(|at| slope * (at - self.connected) as f64);
        let most = given.0.abs();
        // straight up to where it meets what would be given
        let mean = match (begins < most, ends > most) {
            (true, true) => most - (most - begins) * (most - begins) / (2.0 * (ends - begins)),
            (true, false) => f64::midpoint(begins, ends),
            (false, _) => most,
        };
        if mean < most { (mean.copysign(given.0), Some(Cause::Ramp)) } else { given }
    }
}
