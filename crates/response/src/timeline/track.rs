//! One device that does nothing forbidden: it trips as soon as it may and returns as late as it may,
//! or the other way round.

use super::energy::{Cause, Energy};
use super::frequency_memory::FrequencyMemory;
use super::mean_watch::MeanWatch;
use super::protection::{Protection, Standing};
use super::{Micros, Sample};
use crate::device::Device;

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

impl State {
    /// Whether it is connected.
    #[must_use]
    pub fn is_on(self) -> bool {
        matches!(self, Self::Ramping | Self::Running | Self::Ceased)
    }
}

/// Why a device left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Left {
    /// A stage tripped, by its place among the stages, at this value of what it looks at.
    Stage(usize, f64),
    /// It may have left while the log said nothing.
    Unseen,
}

/// A state that began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// When.
    pub at: Micros,
    /// What it does from then on.
    pub to: State,
    /// Why, where it left.
    pub left: Option<Left>,
    /// Where an observation was broken off, by what.
    pub broken_off: Option<BrokenOff>,
}

/// What broke an observation off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BrokenOff {
    /// This voltage, in volts.
    Voltage(f64),
    /// This frequency, in hertz.
    Frequency(f64),
}

/// Which of the two devices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bias {
    /// Trips as soon as it may, returns as late as it may.
    OffSoonest,
    /// Trips as late as it may, returns as soon as it may.
    OffLatest,
}

/// What both devices share.
pub(super) struct Scene<'s> {
    pub device: &'s Device,
    pub protection: &'s Protection,
    pub means: &'s [Option<MeanWatch>],
    /// How many phases the log has.
    pub phases: usize,
    /// Whether its values are means over the time until the next.
    pub values_are_means: bool,
}

/// How many changes are kept; more are only counted, so that a log of any length fits.
const MOST_CHANGES: usize = 50_000;

/// One of the two devices.
#[derive(Clone, Debug)]
pub(super) struct Track {
    pub bias: Bias,
    pub state: State,
    /// When the state began; for observing, from when it counts.
    pub since: Micros,
    /// When it last connected, and its ramp began.
    pub(super) connected: Micros,
    /// For each stage, since when its condition has lasted.
    outside: Vec<Option<Micros>>,
    /// Whether any has, at the last value.
    is_outside: bool,
    /// Why it is not giving what it could, while it is off or coming up.
    pub(super) cause: Cause,
    pub(super) memory: FrequencyMemory,
    pub changes: Vec<Change>,
    /// Changes that were only counted.
    pub untold: u64,
    pub energy: Energy,
}

/// What a device does next.
#[derive(Clone, Copy, Debug)]
enum Next {
    Trip(usize),
    Connect,
    /// The ramp has reached rated power.
    Up,
}

impl Track {
    pub fn new(bias: Bias, is_running: bool, stages: usize) -> Self {
        Self {
            bias,
            state: if is_running { State::Running } else { State::Waiting },
            since: 0,
            connected: Micros::MIN / 4,
            outside: vec![None; stages],
            is_outside: false,
            cause: Cause::Start,
            memory: FrequencyMemory::default(),
            changes: Vec::new(),
            untold: 0,
            energy: Energy::default(),
        }
    }

    /// The first value of the log, or the first after a gap.
    pub fn begin(&mut self, sample: &Sample, scene: &Scene<'_>) {
        if self.changes.is_empty() {
            self.since = sample.at;
            self.changes.push(Change { at: sample.at, to: self.state, left: None, broken_off: None });
        }
        for (outside, stage) in self.outside.iter_mut().zip(&scene.protection.stages) {
            if stage.standing(sample, scene.phases) == Standing::Outside {
                // it may have begun long before
                let began = if self.bias == Bias::OffSoonest { sample.at - stage.least } else { sample.at };
                outside.get_or_insert(began);
            }
        }
        self.is_outside = self.outside.iter().any(Option::is_some);
        match (self.state, scene.protection.reconnection.holds(sample, scene.phases)) {
            (State::Waiting, true) => self.turn(sample.at, State::Observing, None),
            (State::Observing, false) => self.turn(sample.at, State::Waiting, None),
            _ => {}
        }
    }

    /// The log says nothing between two moments. The one device left if it could, the other came back.
    pub fn pass_over(&mut self, from: Micros, until: Micros, scene: &Scene<'_>) {
        self.memory.forget();
        match self.bias {
            Bias::OffSoonest if self.state.is_on() => {
                let stages = self.outside.iter().zip(&scene.protection.stages);
                let left = stages.map(|(outside, stage)| outside.unwrap_or(from).saturating_add(stage.least)).min();
                if let Some(left) = left.filter(|left| *left < until) {
                    self.cause = Cause::Gap;
                    self.turn(left.max(from), State::Waiting, Some(Left::Unseen));
                }
            }
            Bias::OffSoonest => self.turn(until, State::Waiting, None),
            Bias::OffLatest => {
                if self.state == State::Waiting {
                    self.turn(from, State::Observing, None);
                }
                let due = self.since.saturating_add(scene.protection.reconnection.observation[0]);
                if self.state == State::Observing && due <= until {
                    self.connect(due.max(from), scene.protection);
                }
                let up = self.connected + scene.protection.reconnection.ramp;
                if self.state == State::Ceased || (self.state == State::Ramping && up <= until) {
                    self.turn(up.clamp(from, until), State::Running, None);
                }
            }
        }
        self.outside.fill(None);
    }

    pub fn is_just_running(&self) -> bool {
        self.state == State::Running && !self.is_outside && self.memory.is_quiet()
    }

    pub fn step(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        let (from, until) = (last.at, now.at);
        self.watch(last, now, scene);
        let mut at = from;
        // one after another until nothing more falls due before the new value
        while let Some((due, next)) = self.next(at, until, now, scene) {
            self.account(last, at, due, scene);
            match next {
                Next::Trip(stage) => self.trip(due, stage, last, now, scene),
                Next::Connect => self.connect(due, scene.protection),
                Next::Up => self.turn(due, State::Running, None),
            }
            at = due;
        }
        self.account(last, at, until, scene);
        self.look(last, now, scene);
    }

    fn trip(&mut self, due: Micros, stage: usize, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        let value = scene.means[stage].as_ref().map_or_else(
            || {
                let stage = &scene.protection.stages[stage];
                if stage.standing(now, scene.phases) == Standing::Outside { stage.value(now) } else { stage.value(last) }
            },
            |mean| mean.mean().unwrap_or(f64::NAN),
        );
        self.cause = Cause::Trip(stage);
        self.turn(due, State::Waiting, Some(Left::Stage(stage, value)));
        self.memory.forget();
        let holds = |sample| scene.protection.reconnection.holds(sample, scene.phases);
        if holds(last) && holds(now) {
            self.turn(due, State::Observing, None);
        }
    }

    fn connect(&mut self, at: Micros, protection: &Protection) {
        self.connected = at;
        let to = if protection.reconnection.ramp > 0 { State::Ramping } else { State::Running };
        self.turn(at, to, None);
    }

    /// Brings the timers of the stages up to the new value.
    fn watch(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        for (n, (outside, stage)) in self.outside.iter_mut().zip(&scene.protection.stages).enumerate() {
            if scene.means[n].is_some() {
                continue;
            }
            let is_outside = stage.standing(now, scene.phases) == Standing::Outside;
            match self.bias {
                // it may have begun right after the value before
                Bias::OffSoonest if is_outside => drop(outside.get_or_insert(last.at)),
                Bias::OffSoonest => {}
                Bias::OffLatest => {
                    // values that lie further apart than the stage takes do not prove that it lasted
                    if now.at - last.at > stage.most {
                        *outside = None;
                    }
                    if is_outside {
                        outside.get_or_insert(now.at);
                    }
                }
            }
        }
    }

    /// What falls due first in (at, until].
    fn next(&self, at: Micros, until: Micros, now: &Sample, scene: &Scene<'_>) -> Option<(Micros, Next)> {
        let due = |due: Micros, next: Next| (due <= until).then_some((due.max(at), next));
        let reconnection = &scene.protection.reconnection;
        match self.state {
            State::Waiting => None,
            State::Observing => {
                // nobody knows when it left its window
                let (wait, proven) = match self.bias {
                    Bias::OffSoonest => {
                        let wait = reconnection.observation[1].saturating_add(reconnection.random);
                        (wait, reconnection.holds(now, scene.phases))
                    }
                    Bias::OffLatest => (reconnection.observation[0], true),
                };
                // none connects onto a stage that stands
                due(self.since.saturating_add(wait), Next::Connect).filter(|(time, _)| proven && !self.stands_on_a_stage(*time, scene))
            }
            State::Ramping | State::Running | State::Ceased => {
                let trip = self.first_trip(at, until, now, scene).and_then(|(time, stage)| due(time, Next::Trip(stage)));
                let up = (self.state == State::Ramping).then(|| due(self.connected + reconnection.ramp, Next::Up)).flatten();
                [trip, up].into_iter().flatten().min_by_key(|(time, _)| *time)
            }
        }
    }

    /// Whether the condition of a stage goes on beyond a moment.
    fn stands_on_a_stage(&self, at: Micros, scene: &Scene<'_>) -> bool {
        let mean_stands = |mean: &MeanWatch| mean.is_above() || mean.runs().iter().any(|run| run.to > at);
        self.outside.iter().any(Option::is_some) || scene.means.iter().flatten().any(mean_stands)
    }

    /// The stage that trips first.
    fn first_trip(&self, at: Micros, until: Micros, now: &Sample, scene: &Scene<'_>) -> Option<(Micros, usize)> {
        let stages = scene.protection.stages.iter().zip(&self.outside).zip(scene.means).enumerate();
        let trips = stages.filter_map(|(n, ((stage, outside), mean))| {
            let time = match mean {
                Some(mean) => mean
                    .runs()
                    .iter()
                    .filter_map(|run| {
                        let [before, after] = run.began_between;
                        let began = |mark| if scene.values_are_means { mark } else { run.from };
                        let time = match self.bias {
                            Bias::OffSoonest => began(before) + stage.least,
                            Bias::OffLatest if !mean.proves => return None,
                            Bias::OffLatest => stage.latest(began(after).max(self.connected)),
                        };
                        // a run that ended before this moment is past
                        (time <= run.to && run.to > at.max(self.connected)).then_some(time)
                    })
                    .min()?,
                None => {
                    let since = (*outside)?;
                    match self.bias {
                        // back inside at this value, so it lasted less than the whole of what it may have
                        Bias::OffSoonest if stage.standing(now, scene.phases) == Standing::Inside && since + stage.least >= until => {
                            return None;
                        }
                        Bias::OffSoonest => since + stage.least,
                        Bias::OffLatest if stage.standing(now, scene.phases) != Standing::Outside => return None,
                        Bias::OffLatest => stage.latest(since.max(self.connected)),
                    }
                }
            };
            (time <= until).then_some((time, n))
        });
        trips.min()
    }

    /// What changes with the new value itself.
    fn look(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        for (outside, stage) in self.outside.iter_mut().zip(&scene.protection.stages) {
            match stage.standing(now, scene.phases) {
                Standing::Outside => {}
                // what the log does not say may go on
                Standing::Unknown if self.bias == Bias::OffSoonest => {}
                Standing::Unknown | Standing::Inside => *outside = None,
            }
        }
        self.is_outside = self.outside.iter().any(Option::is_some);
        let holds = scene.protection.reconnection.holds(now, scene.phases);
        let ceases = scene.protection.ceasing.acts(now);
        match self.state {
            State::Observing if !holds => {
                self.turn(now.at, State::Waiting, None);
                if let Some(change) = self.changes.last_mut().filter(|change| change.at == now.at) {
                    change.broken_off = Some(scene.protection.reconnection.broken_off(now, scene.phases));
                }
            }
            State::Waiting if holds => {
                let began = if self.bias == Bias::OffSoonest { now.at } else { last.at.max(self.since) };
                self.turn(began, State::Observing, None);
            }
            State::Running | State::Ramping if ceases => self.turn(now.at, State::Ceased, None),
            // a ramp goes on where it would be by now: to cease for a moment is not a trip
            State::Ceased if !ceases => {
                let is_up = now.at - self.connected >= scene.protection.reconnection.ramp;
                self.turn(now.at, if is_up { State::Running } else { State::Ramping }, None);
            }
            _ => {}
        }
    }

    fn turn(&mut self, at: Micros, to: State, left: Option<Left>) {
        self.state = to;
        self.since = at;
        if self.changes.len() < MOST_CHANGES {
            self.changes.push(Change { at, to, left, broken_off: None });
        } else {
            self.untold += 1;
        }
    }
}
