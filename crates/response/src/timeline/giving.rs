//! What one of the two devices gives while a value of the log holds.

use super::energy::Cause;
use super::track::{Scene, State, Track};
use super::{Micros, Sample};
use crate::device::Device;
use crate::operating_point::{Cap, Conditions};

impl Track {
    /// Nothing happened and nothing is limited but by ratings.
    pub(super) fn run_on(&mut self, last: &Sample, until: Micros, device: &Device) {
        let lasted = until - last.at;
        if last.available.is_nan() {
            return;
        }
        let most = device.ratings.active.min(device.ratings.apparent);
        let given = last.available.min(most);
        self.energy.available += last.available * lasted as f64;
        self.energy.given += given * lasted as f64;
        if given < last.available {
            let cap = if device.ratings.active <= device.ratings.apparent { Cap::RatedActive } else { Cap::RatedApparent };
            self.energy.lose(Cause::Cap(cap), last.available - given, given / last.available, last.at, until);
        }
    }

    /// Counts what was given and lost while the last value held.
    pub(super) fn account(&mut self, last: &Sample, from: Micros, until: Micros, scene: &Scene<'_>) {
        let lasted = until - from;
        if lasted <= 0 {
            return;
        }
        let is_known = !last.available.is_nan();
        let wanted = if scene.device.stores { (-last.available).max(0.0) } else { 0.0 };
        if wanted > 0.0 {
            return self.account_charging(last, wanted, from, until, scene);
        }
        // what a source takes by itself, at night, is nothing that could be given
        let available = if is_known { last.available.max(0.0) } else { scene.device.ratings.active };
        let (given, cause) = self.given(last, from, until, available, scene);
        if is_known {
            self.energy.available += available * lasted as f64;
            self.energy.given += given.max(0.0) * lasted as f64;
            self.energy.charged += (-given).max(0.0) * lasted as f64;
        }
        // a limit of output takes nothing where nobody knows what there was to give
        let is_standing = |cause: &Cause| matches!(cause, Cause::Cap(cap) if !matches!(cap, Cap::VoltWatt | Cap::Frequency));
        if let Some(cause) = cause.filter(|cause| available > given && (is_known || !is_standing(cause))) {
            let given = given.max(0.0);
            let lost = if is_known { available - given } else { 0.0 };
            self.energy.lose(cause, lost, given / available, from, until);
        }
    }

    /// The same of storage that wants to charge.
    fn account_charging(&mut self, last: &Sample, wanted: f64, from: Micros, until: Micros, scene: &Scene<'_>) {
        let lasted = (until - from) as f64;
        let (given, cause) = self.given(last, from, until, -wanted, scene);
        let charged = (-given).max(0.0);
        self.energy.wanted += wanted * lasted;
        self.energy.charged += charged * lasted;
        if let Some(cause) = cause.filter(|_| charged < wanted) {
            let (cause, lost) = match cause {
                Cause::Cap(cap) => (Cause::Charging(cap), wanted - charged),
                // what could not be charged while it was off is nothing that it did not give
                off => (off, 0.0),
            };
            self.energy.lose(cause, lost, charged / wanted, from, until);
        }
    }

    /// What is given while a value holds, below zero charged, and what keeps it from being more.
    fn given(&mut self, last: &Sample, from: Micros, until: Micros, available: f64, scene: &Scene<'_>) -> (f64, Option<Cause>) {
        match self.state {
            State::Waiting | State::Observing => return (0.0, Some(self.cause)),
            State::Ceased => return (0.0, Some(Cause::Ceased)),
            State::Ramping | State::Running => {}
        }
        let device = scene.device;
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
        let mut given = (point.active, if point.held_by == Cap::Available { None } else { Some(Cause::Cap(point.held_by)) });
        if self.state == State::Ramping {
            // the middle of the stretch stands for it: the ramp is straight
            let middle = (from + until) as f64 / 2.0 - self.connected as f64;
            let most = device.ratings.active * middle / ramp as f64;
            if most < given.0.abs() {
                given = (most.copysign(given.0), Some(self.cause));
            }
        }
        given
    }
}
