//! Plays a log, value by value, for the two devices that stand for all that do nothing forbidden.

use super::calm::Calm;
use super::energy::Energy;
use super::mean_watch::MeanWatch;
use super::protection::{Protection, Stage, Watched};
use super::track::{Bias, Change, Scene, State, Track};
use super::{Micros, Sample};
use crate::device::Device;

/// What the values of a log are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Values {
    /// How many phases of a sample the device sees, from the first on.
    pub phases: usize,
    /// Means over the time until the next value, or else values of a moment.
    pub are_means: bool,
    /// Whether they prove a mean over a window: means do, and values that follow one another closely.
    pub prove_means: bool,
}

/// Both devices, and what they share.
#[derive(Clone, Debug)]
pub struct Player<'d> {
    /// As each acts: off soonest first.
    devices: [&'d Device; 2],
    protection: &'d Protection,
    values: Values,
    /// One mean for each stage that looks at one.
    means: Vec<Option<MeanWatch>>,
    last: Option<Sample>,
    /// From when on the log says nothing.
    gap: Option<Micros>,
    tracks: [Track; 2],
    calm: Calm,
    /// That of the second device, where the two act differently.
    other_calm: Option<Calm>,
    /// Whether the last value lay in it.
    was_calm: bool,
}

impl<'d> Player<'d> {
    /// A log that begins with a device in service, waiting, or nobody knows (`None`).
    #[must_use]
    pub fn new(device: &'d Device, protection: &'d Protection, in_service: Option<bool>, values: Values) -> Self {
        let track = |bias| Track::new(bias, in_service.unwrap_or(bias == Bias::OffLatest), protection);
        let mean = |stage: &Stage| match stage.watched {
            Watched::MeanOfAnyPhase(window) => {
                let phases = protection.phases_of(stage, values.phases);
                Some(MeanWatch::new(window, stage.threshold, phases, values.prove_means))
            }
            _ => None,
        };
        Self {
            devices: [device; 2],
            protection,
            values,
            means: protection.stages.iter().map(mean).collect(),
            last: None,
            gap: None,
            tracks: [track(Bias::OffSoonest), track(Bias::OffLatest)],
            calm: Calm::of(device, protection, values.phases),
            other_calm: None,
            was_calm: false,
        }
    }

    /// Takes it that this voltage had been held before the log begins, for the means.
    pub fn assume(&mut self, at: Micros, voltage: f64) {
        self.means.iter_mut().flatten().for_each(|mean| mean.assume(at, voltage));
    }

    /// The next value, later than the last.
    pub fn push(&mut self, sample: Sample) {
        let last = self.last.replace(sample);
        let before = last.map_or(sample.at, |last| last.at);
        let mut is_mean_calm = true;
        for mean in self.means.iter_mut().flatten() {
            mean.step(&sample, before);
            is_mean_calm &= mean.runs().is_empty();
        }
        let holds = self.calm.holds(&sample) && self.other_calm.as_ref().is_none_or(|calm| calm.holds(&sample));
        let was_calm = std::mem::replace(&mut self.was_calm, holds);
        let is_calm = was_calm && self.was_calm && is_mean_calm;
        let devices = self.devices;
        let shared = Scene {
            device: devices[0],
            protection: self.protection,
            means: &self.means,
            phases: self.values.phases,
            values_are_means: self.values.are_means,
        };
        let Some(last) = last else {
            for (track, device) in self.tracks.iter_mut().zip(devices) {
                let scene = Scene { device, ..shared };
                if let Some(from) = self.gap {
                    track.pass_over(from, sample.at, &scene);
                }
                track.begin(&sample, &scene);
            }
            self.gap = None;
            return;
        };
        for (track, device) in self.tracks.iter_mut().zip(devices) {
            let scene = Scene { device, ..shared };
            if is_calm && track.is_just_running() {
                track.run_on(&last, sample.at, device);
            } else {
                track.step(&last, &sample, &scene);
            }
        }
    }

    /// The last value held until here; from here on the log says nothing until the next one.
    pub fn gap(&mut self, from: Micros) {
        let Some(last) = self.last else { return };
        if from > last.at {
            self.push(Sample { at: from, ..last });
        }
        self.last = None;
        self.gap = Some(from);
        self.means.iter_mut().flatten().for_each(MeanWatch::forget);
    }

    /// From the last value on, one of the two acts as this device; in the order of [`Player::states`].
    pub fn act_as(&mut self, which: usize, device: &'d Device) {
        self.devices[which] = device;
        let calm = |device| Calm::of(device, self.protection, self.values.phases);
        (self.calm, self.other_calm) = (calm(self.devices[0]), Some(calm(self.devices[1])));
        self.was_calm = false;
    }

    /// From the last value on, one of the two is off whatever the supply is, until it is let go.
    pub fn hold_off(&mut self, which: usize) {
        let at = self.last.map_or(0, |last| last.at);
        self.tracks[which].hold_off(at);
    }

    /// From the last value on, it may come back as after a trip.
    pub fn let_go(&mut self, which: usize) {
        self.tracks[which].is_held_off = false;
    }

    /// The highest mean of the stage at this place at any value of the log; `None` where no window was full.
    #[must_use]
    pub fn highest_mean(&self, stage: usize) -> Option<f64> {
        self.means.get(stage)?.as_ref()?.highest()
    }

    /// The mean of the stage at this place at the last value; `None` until its window is full.
    #[must_use]
    pub fn mean(&self, stage: usize) -> Option<f64> {
        self.means.get(stage)?.as_ref()?.mean()
    }

    /// What each of the two devices did: off soonest first.
    #[must_use]
    pub fn changes(&self) -> [&[Change]; 2] {
        [&self.tracks[0].changes, &self.tracks[1].changes]
    }

    /// How many changes were counted and not kept, because there were too many.
    #[must_use]
    pub fn untold(&self) -> u64 {
        self.tracks[0].untold + self.tracks[1].untold
    }

    /// What each gave and lost: off soonest first.
    #[must_use]
    pub fn energy(&self) -> [&Energy; 2] {
        [&self.tracks[0].energy, &self.tracks[1].energy]
    }

    /// What each is doing: off soonest first.
    #[must_use]
    pub fn states(&self) -> [State; 2] {
        [self.tracks[0].state, self.tracks[1].state]
    }
}
