//! Plays a log, value by value, for all devices that do nothing forbidden.

use super::calm::Calm;
use super::energy::Energy;
use super::mean_watch::MeanWatch;
use super::protection::{Protection, Stage, Watched};
use super::states::{Change, Scene, State, States};
use super::story::Merged;
use super::{Micros, Sample};
use crate::device::Device;

/// Below this share of the lowest voltage at which a device connects, a supply is dead (common practice, no source).
const DEAD: f64 = 0.3;

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

/// The states of lawful devices, and what they meet.
#[derive(Clone, Debug)]
pub struct Player<'d> {
    /// As the two act between which all lie.
    devices: [&'d Device; 2],
    protection: &'d Protection,
    values: Values,
    /// One mean for each stage that looks at one.
    means: Vec<Option<MeanWatch>>,
    last: Option<Sample>,
    /// From when on the log says nothing.
    gap: Option<Micros>,
    states: States,
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
            states: States::new(in_service, protection),
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
        let sample = self.with_frequency(sample);
        let last = self.last.replace(sample);
        let before = last.map_or(sample.at, |last| last.at);
        let mut is_mean_calm = true;
        for mean in self.means.iter_mut().flatten() {
            mean.step(&sample, before);
            is_mean_calm &= mean.runs().is_empty();
        }
        let holds = self.calm.holds(&sample) && self.other_calm.as_ref().is_none_or(|calm| calm.holds(&sample));
        let was_calm = std::mem::replace(&mut self.was_calm, holds);
        let is_calm = was_calm && holds && is_mean_calm;
        let scene = scene(self.devices, self.protection, &self.means, self.values);
        let Some(last) = last else {
            if let Some(from) = self.gap.take() {
                self.states.pass_over(from, sample.at, &scene);
            }
            self.states.begin(&sample, &scene);
            return;
        };
        if is_calm && self.states.are_just_running() {
            self.states.run_on(&last, sample.at, self.devices[0]);
        } else {
            self.states.step(&last, &sample, &scene);
        }
    }

    /// Whether nothing can happen on the way to this value, if everything moves there in a straight line: no stage counts or
    /// begins to, no mean comes near its threshold, no observation ends, and one cause keeps power back all along.
    #[must_use]
    pub fn stays_quiet_until(&self, to: &Sample) -> bool {
        let Some(last) = &self.last else { return false };
        let acts_as_one = std::ptr::eq(self.devices[0], self.devices[1]);
        let scene = scene(self.devices, self.protection, &self.means, self.values);
        // a relay opens whether or not the device behind it is on
        let is_off = self.states.are_all_off() && self.protection.relays.is_empty();
        acts_as_one
            && (is_off || self.means.iter().flatten().all(|mean| mean.stays_below(last, to)))
            && self.states.stay_quiet(last, to, &scene)
    }

    /// Goes through values in a straight line, to the last of which [`Self::stays_quiet_until`].
    pub fn glide(&mut self, samples: impl Iterator<Item = Sample>) {
        let Some(first) = self.last else { return };
        let mut last = first;
        let mut before = first;
        for sample in samples {
            for mean in self.means.iter_mut().flatten().filter(|mean| !mean.is_settled_at(&sample)) {
                mean.step(&sample, last.at);
            }
            before = last;
            last = sample;
        }
        self.means.iter_mut().flatten().filter(|mean| mean.is_settled_at(&last)).for_each(|mean| mean.step(&last, first.at));
        let scene = scene(self.devices, self.protection, &self.means, self.values);
        self.states.glide(&first, &before, &last, &scene);
        self.was_calm = self.calm.holds(&last) && self.other_calm.as_ref().is_none_or(|calm| calm.holds(&last));
        self.last = Some(last);
    }

    /// A supply that is dead has no frequency that anybody could measure: what a log lacks then is not hidden, and is
    /// taken to be what it was before.
    fn with_frequency(&self, sample: Sample) -> Sample {
        let dead = DEAD * self.protection.reconnection.voltage[0];
        let is_dead = sample.frequency.is_nan() && sample.voltage[..self.values.phases].iter().all(|volts| *volts < dead);
        match self.last.filter(|_| is_dead) {
            Some(last) => Sample { frequency: last.frequency, ..sample },
            None => sample,
        }
    }

    /// The last value held until here; from here on the log says nothing until the next one.
    pub fn gap(&mut self, from: Micros) {
        let Some(last) = self.last else { return };
        // at the moment itself the supply may have turned, so that nothing ends in it for certain
        if from - 1 > last.at {
            self.push(Sample { at: from - 1, ..last });
        }
        self.last = None;
        self.gap = Some(from);
        self.means.iter_mut().flatten().for_each(MeanWatch::forget);
    }

    /// From the last value on, a device may act as this one (0), or has to (1); until it has to, it may
    /// also go on as before.
    pub fn act_as(&mut self, which: usize, device: &'d Device) {
        self.devices[which] = device;
        let calm = |device| Calm::of(device, self.protection, self.values.phases);
        (self.calm, self.other_calm) = (calm(self.devices[0]), Some(calm(self.devices[1])));
        self.was_calm = false;
    }

    /// After the last value, a device may be off whatever the supply is (0), or has to be (1), until it is
    /// let go.
    pub fn hold_off(&mut self, which: usize) {
        let at = self.last.map_or(0, |last| last.at);
        let scene = scene(self.devices, self.protection, &self.means, self.values);
        match which {
            0 => self.states.may_hold_off(at),
            _ => self.states.hold_off(at, &scene),
        }
    }

    /// From the last value on, it may come back as after a trip.
    pub fn let_go(&mut self) {
        let at = self.last.map_or(0, |last| last.at);
        let scene = scene(self.devices, self.protection, &self.means, self.values);
        self.states.let_go(at, &scene);
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

    /// What happened, in order: trips and connections with the windows in which they lie.
    #[must_use]
    pub fn story(&self) -> Vec<Merged> {
        self.states.story.all()
    }

    /// What a device was doing at the least, from waiting to running, and at the most.
    #[must_use]
    pub fn changes(&self) -> [&[Change]; 2] {
        [&self.states.changes[0], &self.states.changes[1]]
    }

    /// How many happenings were counted and not kept, because there were too many.
    #[must_use]
    pub fn untold(&self) -> u64 {
        self.states.story.untold
    }

    /// The least and the most that any device gave, lost and charged; of each for itself: none need have
    /// done the least, or the most, of everything.
    #[must_use]
    pub fn energy(&self) -> [Energy; 2] {
        self.states.energy().of_each().clone()
    }

    /// Watt-microseconds given, and microseconds held back: the least and the most of each.
    #[must_use]
    pub fn given_and_held_back(&self) -> [(f64, Micros); 2] {
        self.states.given_and_held_back()
    }

    /// What a device may be doing now: at the least, from waiting to running, and at the most.
    #[must_use]
    pub fn states(&self) -> [State; 2] {
        self.states.least_and_most()
    }
}

fn scene<'s>(devices: [&'s Device; 2], protection: &'s Protection, means: &'s [Option<MeanWatch>], values: Values) -> Scene<'s> {
    Scene { devices, protection, means, phases: values.phases, values_are_means: values.are_means }
}
