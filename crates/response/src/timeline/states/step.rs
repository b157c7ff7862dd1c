//! What every device meets, and the way from one value of the log to the next.

use crate::device::Device;
use crate::timeline::energy::Bounds;
use crate::timeline::mean_watch::MeanWatch;
use crate::timeline::off::Off;
use crate::timeline::on::nothing_given;
use crate::timeline::protection::{Protection, Stage};
use crate::timeline::{Micros, Sample};

/// What every device meets.
#[derive(Clone, Copy)]
pub(in crate::timeline) struct Scene<'s> {
    /// As it acts: two, where nobody knows which of them.
    pub devices: [&'s Device; 2],
    pub protection: &'s Protection,
    pub means: &'s [Option<MeanWatch>],
    /// How many phases the device sees.
    pub phases: usize,
    /// Whether its values are means over the time until the next.
    pub values_are_means: bool,
}

impl Scene<'_> {
    pub(super) fn phases_of(&self, stage: &Stage) -> usize {
        self.protection.phases_of(stage, self.phases)
    }

    /// Whether the device, or a relay, may come back at a value; `None` where the log does not say.
    pub(super) fn is_inside(&self, relay: Option<usize>, sample: &Sample) -> Option<bool> {
        match relay.map(|relay| &self.protection.relays[relay]) {
            Some(relay) => relay.reconnection.is_inside(sample, relay.phases),
            None => self.protection.reconnection.is_inside(sample, self.phases),
        }
    }

    /// How long it has to be inside.
    pub(super) fn wait(&self, relay: Option<usize>) -> [Micros; 2] {
        let own = &self.protection.reconnection;
        relay.map_or(own, |relay| &self.protection.relays[relay].reconnection).wait()
    }
}

/// From one value of the log to the next.
#[derive(Clone, Copy)]
pub(super) struct Step<'s> {
    pub last: &'s Sample,
    pub now: &'s Sample,
    pub scene: &'s Scene<'s>,
}

impl Step<'_> {
    pub fn between(&self) -> [Micros; 2] {
        [self.last.at, self.now.at]
    }

    /// What one that is off comes to if it stays so from the value before to a moment.
    pub fn off_until(&self, off: &Off, until: Micros) -> Bounds {
        let mut energy = off.energy.clone();
        self.count_off(&mut energy, off, until);
        energy
    }

    /// Counts all that one that is off does not give on the way to the new value.
    pub fn stay_off(&self, off: &mut Off) {
        let mut energy = std::mem::take(&mut off.energy);
        self.count_off(&mut energy, off, self.now.at);
        off.energy = energy;
    }

    fn count_off(&self, energy: &mut Bounds, off: &Off, until: Micros) {
        energy.count_off(&nothing_given(self.last, self.scene.devices[0]), &off.causes, [self.last.at, until]);
    }
}
