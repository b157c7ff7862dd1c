//! Plays a log, sample by sample, for the two devices that stand for all that do nothing forbidden.

use super::frequency_memory::FrequencyMemory;
use super::protection::{Protection, Reconnection, Side, Stage, Standing, Watched};
use super::rolling_mean::RollingMean;
use super::{Micros, Sample};
use crate::device::{Device, Priority, ReactiveMode};
use crate::operating_point::{Cap, Conditions};
use std::collections::BTreeMap;

/// What a device is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Off, and voltage or frequency lie outside where it may connect.
    Waiting,
    /// Off, and counting how long both have been inside.
    Observing,
    /// On, and coming up.
    Ramping,
    /// On.
    Running,
    /// On, and giving nothing for a moment.
    Ceased,
}

/// A state that began.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// When.
    pub at: Micros,
    /// What it does from then on.
    pub to: State,
    /// The stage that tripped, by its place among the stages.
    pub tripped: Option<usize>,
    /// Whether the log does not say what happened here.
    pub after_gap: bool,
}

/// To what energy was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// It had not connected yet.
    Start,
    /// Off and coming back after this stage tripped.
    Trip(usize),
    /// It gave nothing for a moment.
    Ceased,
    /// A cap.
    Cap(Cap),
    /// It was off after a part that the log does not say.
    Gap,
}

/// Watt-microseconds given and lost, and how long.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energy {
    /// What could have been given.
    pub available: f64,
    /// What was given.
    pub given: f64,
    /// What was not, by cause.
    pub lost: BTreeMap<Cause, Lost>,
}

/// What one cause took.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lost {
    /// Watt-microseconds; 0 where the log does not say what was available.
    pub energy: f64,
    /// For how long.
    pub lasted: Micros,
    /// The smallest share of what was available that was left.
    pub least_left: f64,
    /// First and last moment.
    pub between: [Micros; 2],
}

/// Which of the two devices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Bias {
    /// Trips as soon as it may, returns as late as it may.
    OffSoonest,
    /// Trips as late as it may, returns as soon as it may.
    OffLatest,
}

/// Both devices, and what they share.
#[derive(Clone, Debug)]
pub struct Player<'d> {
    device: &'d Device,
    protection: &'d Protection,
    /// One mean for each stage that looks at one.
    means: Vec<Option<Mean>>,
    last: Option<Sample>,
    tracks: [Track; 2],
    /// Where nothing happens: no stage, no answer, no cap, no edge of a window.
    calm: Calm,
}

#[derive(Clone, Debug)]
struct Mean {
    rolling: RollingMean,
    /// Since when it has been outside.
    outside: Option<Micros>,
}

/// A range of voltage and of frequency in which a running device just runs.
#[derive(Clone, Copy, Debug)]
struct Calm {
    voltage: [f64; 2],
    frequency: [f64; 2],
}

/// One of the two devices.
#[derive(Clone, Debug)]
struct Track {
    bias: Bias,
    state: State,
    /// When the state began; for observing, from when it counts.
    since: Micros,
    /// For each stage, since when its condition has lasted.
    outside: Vec<Option<Micros>>,
    /// Why it is not giving what it could, while it is off or coming up.
    cause: Cause,
    memory: FrequencyMemory,
    changes: Vec<Change>,
    energy: Energy,
}

impl<'d> Player<'d> {
    /// A log that begins with a device in service, waiting, or nobody knows (`None`).
    #[must_use]
    pub fn new(device: &'d Device, protection: &'d Protection, in_service: Option<bool>) -> Self {
        let track = |bias| {
            let running = in_service.unwrap_or(bias == Bias::OffLatest);
            let state = if running { State::Running } else { State::Waiting };
            Track {
                bias,
                state,
                since: 0,
                outside: vec![None; protection.stages.len()],
                cause: Cause::Start,
                memory: FrequencyMemory::default(),
                changes: Vec::new(),
                energy: Energy::default(),
            }
        };
        let mean = |stage: &Stage| match stage.watched {
            Watched::MeanOfAnyPhase(window) => Some(Mean { rolling: RollingMean::new(window), outside: None }),
            _ => None,
        };
        Self {
            device,
            protection,
            means: protection.stages.iter().map(mean).collect(),
            last: None,
            tracks: [track(Bias::OffSoonest), track(Bias::OffLatest)],
            calm: Calm::of(device, protection),
        }
    }

    /// Takes it that this voltage had been held before the log begins, for the means.
    pub fn assume(&mut self, at: Micros, voltage: f64) {
        self.means.iter_mut().flatten().for_each(|mean| mean.rolling.assume(at, voltage));
    }

    /// The next sample, later than the last.
    pub fn push(&mut self, sample: Sample) {
        for (mean, stage) in self.means.iter_mut().zip(&self.protection.stages) {
            if let Some(mean) = mean {
                mean.step(stage, &sample);
            }
        }
        let Some(last) = self.last.replace(sample) else {
            self.tracks.iter_mut().for_each(|track| track.begin(&sample, self.protection));
            return;
        };
        let is_calm = self.calm.holds(&last) && self.calm.holds(&sample);
        for track in &mut self.tracks {
            if is_calm && track.is_just_running() && self.means.iter().flatten().all(|mean| mean.outside.is_none()) {
                track.run_on(&last, sample.at, self.device);
                continue;
            }
            track.step(&last, &sample, self.protection, &self.means, self.device);
        }
    }

    /// The log says nothing up to the next sample: anything may have passed.
    pub fn gap(&mut self) {
        let Some(last) = self.last.take() else { return };
        self.means.iter_mut().flatten().for_each(|mean| {
            mean.rolling.forget();
            mean.outside = None;
        });
        for track in &mut self.tracks {
            track.outside.fill(None);
            track.memory.forget();
            let to = if track.bias == Bias::OffSoonest { State::Waiting } else { State::Running };
            track.cause = Cause::Gap;
            track.turn(last.at, to, None, true);
        }
    }

    /// The highest mean of the stage at this place, at the last sample; `None` until its window is full.
    #[must_use]
    pub fn mean(&self, stage: usize) -> Option<f64> {
        self.means.get(stage)?.as_ref()?.rolling.highest()
    }

    /// What each of the two devices did: off soonest first.
    #[must_use]
    pub fn changes(&self) -> [&[Change]; 2] {
        [&self.tracks[0].changes, &self.tracks[1].changes]
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

impl Mean {
    fn step(&mut self, stage: &Stage, sample: &Sample) {
        let passed = self.outside.or_else(|| self.rolling.passes(stage.threshold, sample.at));
        self.rolling.push(sample.at, sample.voltage);
        self.outside = passed.filter(|_| self.rolling.is_above(stage.threshold) == Some(true));
    }
}

impl Calm {
    fn of(device: &Device, protection: &Protection) -> Self {
        let mut calm = Self { voltage: protection.reconnection.voltage, frequency: protection.reconnection.frequency };
        let mut shrink = |is_frequency: bool, side: Side, to: f64| {
            let range = if is_frequency { &mut calm.frequency } else { &mut calm.voltage };
            match side {
                Side::Above => range[1] = range[1].min(to),
                Side::Below => range[0] = range[0].max(to),
            }
        };
        for stage in protection.stages.iter().filter(|stage| !matches!(stage.watched, Watched::MeanOfAnyPhase(_))) {
            shrink(stage.watched == Watched::Frequency, stage.side, stage.threshold);
        }
        shrink(false, Side::Below, protection.ceasing.below);
        shrink(false, Side::Above, protection.ceasing.above);
        // a response that falls with voltage begins to act at its first point
        if let Some([first, ..]) = device.volt_watt.as_ref().map(|line| line.points()) {
            shrink(false, Side::Above, first[0]);
        }
        if let Some(answer) = &device.over_frequency {
            shrink(true, Side::Above, answer.start);
        }
        if let Some(answer) = &device.under_frequency {
            shrink(true, Side::Below, answer.start);
        }
        let only_available_limits = device.export_limit.is_none() && device.generation_limit.is_none();
        // reactive power may push active power aside at any voltage
        let gives_reactive = !matches!(device.reactive, ReactiveMode::Unity);
        if !only_available_limits || (gives_reactive && device.priority == Priority::Reactive) {
            calm.voltage = [f64::INFINITY, f64::NEG_INFINITY];
        }
        calm
    }

    fn holds(&self, sample: &Sample) -> bool {
        let inside = |value: f64, [low, high]: [f64; 2]| low <= value && value <= high;
        let frequency = sample.frequency.is_nan() || inside(sample.frequency, self.frequency);
        frequency && sample.voltage.iter().all(|v| v.is_nan() || inside(*v, self.voltage)) && !sample.voltage[0].is_nan()
    }
}

impl Track {
    fn begin(&mut self, sample: &Sample, protection: &Protection) {
        let after_gap = self.cause == Cause::Gap;
        self.since = sample.at;
        if !after_gap {
            self.changes.push(Change { at: sample.at, to: self.state, tripped: None, after_gap });
        }
        for (outside, stage) in self.outside.iter_mut().zip(&protection.stages) {
            *outside = (stage.standing(sample) == Standing::Outside).then_some(sample.at);
        }
        if self.state == State::Waiting && protection.reconnection.holds(sample) {
            self.turn(sample.at, State::Observing, None, false);
        }
    }

    fn is_just_running(&self) -> bool {
        self.state == State::Running && self.memory.is_quiet() && self.outside.iter().all(Option::is_none)
    }

    /// Nothing happened and nothing is limited but by ratings.
    fn run_on(&mut self, last: &Sample, until: Micros, device: &Device) {
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
            self.lose(Cause::Cap(cap), last.available - given, given / last.available, last.at, until);
        }
    }

    fn step(&mut self, last: &Sample, now: &Sample, protection: &Protection, means: &[Option<Mean>], device: &Device) {
        let (from, until) = (last.at, now.at);
        self.watch(last, now, protection, means);
        let mut at = from;
        // one after another until nothing more falls due before the new sample
        while let Some((due, next)) = self.next(at, until, now, protection) {
            self.account(last, at, due, device, protection);
            match next {
                Next::Trip(stage) => {
                    self.cause = Cause::Trip(stage);
                    self.turn(due, State::Waiting, Some(stage), false);
                    self.memory.forget();
                    if protection.reconnection.holds(last) && protection.reconnection.holds(now) {
                        self.turn(due, State::Observing, None, false);
                    }
                }
                Next::Connect => {
                    let to = if protection.reconnection.ramp > 0 { State::Ramping } else { State::Running };
                    self.turn(due, to, None, false);
                }
                Next::Up => self.turn(due, State::Running, None, false),
            }
            at = due;
        }
        self.account(last, at, until, device, protection);
        self.look(last, now, protection);
    }

    /// Brings the timers of the stages up to the new sample.
    fn watch(&mut self, last: &Sample, now: &Sample, protection: &Protection, means: &[Option<Mean>]) {
        for ((outside, stage), mean) in self.outside.iter_mut().zip(&protection.stages).zip(means) {
            if let Some(mean) = mean {
                *outside = mean.outside;
                continue;
            }
            if stage.standing(now) == Standing::Outside {
                // it may have begun right after the sample before
                let began = if self.bias == Bias::OffSoonest { last.at } else { now.at };
                outside.get_or_insert(began);
            }
        }
    }

    /// What falls due first in (at, until].
    fn next(&self, at: Micros, until: Micros, now: &Sample, protection: &Protection) -> Option<(Micros, Next)> {
        let due = |due: Micros, next: Next| (due <= until).then_some((due.max(at), next));
        let Reconnection { observation, random, ramp, .. } = protection.reconnection;
        match self.state {
            State::Waiting => None,
            State::Observing => {
                let wait = if self.bias == Bias::OffSoonest { observation + random } else { observation };
                // nobody knows when it left its window, so the late one is not yet back where it did
                let proven = self.bias == Bias::OffLatest || protection.reconnection.holds(now);
                due(self.since + wait, Next::Connect).filter(|_| proven)
            }
            State::Ramping | State::Running | State::Ceased => {
                let trip = self.trip(until, now, protection).and_then(|(time, stage)| due(time, Next::Trip(stage)));
                let up = (self.state == State::Ramping).then(|| due(self.since + ramp, Next::Up)).flatten();
                [trip, up].into_iter().flatten().min_by_key(|(time, _)| *time)
            }
        }
    }

    /// The stage that trips first.
    fn trip(&self, until: Micros, now: &Sample, protection: &Protection) -> Option<(Micros, usize)> {
        let stages = self.outside.iter().zip(&protection.stages).enumerate();
        let trips = stages.filter_map(|(n, (outside, stage))| {
            let since = (*outside)?;
            let (time, is_proven) = match self.bias {
                Bias::OffSoonest => (since + stage.least, true),
                Bias::OffLatest => {
                    let lasts = matches!(stage.watched, Watched::MeanOfAnyPhase(_)) || stage.standing(now) == Standing::Outside;
                    (since + stage.most, lasts)
                }
            };
            (is_proven && time <= until).then_some((time, n))
        });
        trips.min()
    }

    /// What changes with the new sample itself.
    fn look(&mut self, last: &Sample, now: &Sample, protection: &Protection) {
        for (outside, stage) in self.outside.iter_mut().zip(&protection.stages) {
            if !matches!(stage.watched, Watched::MeanOfAnyPhase(_)) && stage.standing(now) != Standing::Outside {
                *outside = None;
            }
        }
        let holds = protection.reconnection.holds(now);
        match self.state {
            State::Observing if !holds => self.turn(now.at, State::Waiting, None, false),
            State::Waiting if holds => {
                let began = if self.bias == Bias::OffSoonest { now.at } else { last.at.max(self.since) };
                self.turn(began, State::Observing, None, false);
            }
            State::Running if protection.ceasing.acts(now) => self.turn(now.at, State::Ceased, None, false),
            State::Ceased if !protection.ceasing.acts(now) => self.turn(now.at, State::Running, None, false),
            _ => {}
        }
    }

    fn turn(&mut self, at: Micros, to: State, tripped: Option<usize>, after_gap: bool) {
        self.state = to;
        self.since = at;
        self.changes.push(Change { at, to, tripped, after_gap });
    }

    /// Counts what was given and lost while the last sample held.
    fn account(&mut self, last: &Sample, from: Micros, until: Micros, device: &Device, protection: &Protection) {
        let lasted = until - from;
        if lasted <= 0 {
            return;
        }
        let available = if last.available.is_nan() { device.ratings.active } else { last.available };
        let (given, cause) = self.given(last, from, until, available, device, protection);
        if !last.available.is_nan() {
            self.energy.available += available * lasted as f64;
            self.energy.given += given * lasted as f64;
        }
        if let Some(cause) = cause.filter(|_| available > given) {
            let lost = if last.available.is_nan() { 0.0 } else { available - given };
            self.lose(cause, lost, given / available, from, until);
        }
    }

    /// What is given while a sample holds, and what keeps it from being more.
    fn given(
        &mut self,
        last: &Sample,
        from: Micros,
        until: Micros,
        available: f64,
        device: &Device,
        protection: &Protection,
    ) -> (f64, Option<Cause>) {
        match self.state {
            State::Waiting | State::Observing => return (0.0, Some(self.cause)),
            State::Ceased => return (0.0, Some(Cause::Ceased)),
            State::Ramping | State::Running => {}
        }
        let conditions = Conditions { voltage: last.mean(), frequency: last.frequency, available, load: 0.0 };
        let (mut power, mut cap) = device.capped(&conditions);
        if let Some(answer) = &device.over_frequency {
            let ramp = protection.reconnection.ramp;
            let most = self.memory.step(answer, from, last.frequency, power, device.ratings.active, ramp);
            if let Some(most) = most.filter(|most| *most < power) {
                (power, cap) = (most, Cap::Frequency);
            }
        }
        let point = device.with_reactive((power, cap), conditions.voltage);
        let mut given = (point.active, if point.held_by == Cap::Available { None } else { Some(Cause::Cap(point.held_by)) });
        if self.state == State::Ramping {
            // the middle of the stretch stands for it: the ramp is straight
            let middle = (from + until) as f64 / 2.0 - self.since as f64;
            let most = device.ratings.active * middle / protection.reconnection.ramp as f64;
            if most < given.0 {
                given = (most, Some(self.cause));
            }
        }
        given
    }

    fn lose(&mut self, cause: Cause, watts: f64, left: f64, from: Micros, until: Micros) {
        let new = Lost { least_left: f64::INFINITY, between: [from, until], ..Lost::default() };
        let lost = self.energy.lost.entry(cause).or_insert(new);
        lost.energy += watts * (until - from) as f64;
        lost.lasted += until - from;
        lost.least_left = lost.least_left.min(left);
        lost.between[1] = until;
    }
}

/// What a device does next.
#[derive(Clone, Copy, Debug)]
enum Next {
    Trip(usize),
    Connect,
    /// The ramp has reached rated power.
    Up,
}
