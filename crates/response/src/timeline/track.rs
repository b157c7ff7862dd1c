//! One device that does nothing forbidden: it trips as soon as it may and returns as late as it may,
//! or the other way round.

use super::due::Next;
use super::energy::{Cause, Energy};
use super::frequency_memory::FrequencyMemory;
use super::mean_watch::MeanWatch;
use super::protection::{Protection, Stage, Standing};
use super::relay::Breaker;
use super::timer::Timer;
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
    /// It lost what it needs to keep a limit.
    Link,
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
    /// Where a relay opened before a device that was off already, the stage, and the value of what it looks at.
    pub opened: Option<(usize, f64)>,
    /// Where a stage tripped, up to when it might have done so: as long as its condition lasted.
    pub until: Option<Micros>,
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

impl Bias {
    /// Of what lies between two edges, the place of the one that keeps a stage picked up: 1 for the most.
    pub fn of_most(self) -> usize {
        usize::from(self == Self::OffSoonest)
    }
}

/// What both devices share, and what one of them is.
#[derive(Clone, Copy)]
pub(super) struct Scene<'s> {
    pub device: &'s Device,
    pub protection: &'s Protection,
    pub means: &'s [Option<MeanWatch>],
    /// How many phases the device sees.
    pub phases: usize,
    /// Whether its values are means over the time until the next.
    pub values_are_means: bool,
}

impl Scene<'_> {
    pub fn phases_of(&self, stage: &Stage) -> usize {
        self.protection.phases_of(stage, self.phases)
    }

    fn stage_is_outside(&self, stage: &Stage, sample: &Sample, bias: Bias) -> bool {
        stage.standing(sample, self.phases_of(stage), bias) == Standing::Outside
    }

    /// Whether the device may connect at a value.
    pub fn holds(&self, sample: &Sample) -> bool {
        self.protection.reconnection.holds(sample, self.phases)
    }
}

/// By what a device left.
#[derive(Clone, Copy, Debug)]
struct LeftBy {
    stage: usize,
    /// The place of the change among those kept.
    place: usize,
    /// When the condition began.
    began: Micros,
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
    /// For each stage, how long its condition has lasted.
    pub(super) timers: Vec<Timer>,
    /// By what it left last, while the condition goes on.
    left_by: Option<LeftBy>,
    /// Whether any counts, at the last value.
    is_outside: bool,
    /// The relays before it.
    pub(super) breakers: Vec<Breaker>,
    /// Whether it stays off whatever the supply is.
    pub(super) is_held_off: bool,
    /// Why it is not giving what it could, while it is off or coming up.
    pub(super) cause: Cause,
    pub(super) memory: FrequencyMemory,
    pub changes: Vec<Change>,
    /// Changes that were only counted.
    pub untold: u64,
    pub energy: Energy,
}

impl Track {
    pub fn new(bias: Bias, is_running: bool, protection: &Protection) -> Self {
        Self {
            bias,
            state: if is_running { State::Running } else { State::Waiting },
            since: 0,
            connected: Micros::MIN / 4,
            timers: vec![Timer::default(); protection.stages.len()],
            left_by: None,
            is_outside: false,
            breakers: vec![Breaker::Closed(Micros::MIN / 4); protection.relays.len()],
            is_held_off: false,
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
            self.changes.push(Change { at: sample.at, to: self.state, left: None, broken_off: None, opened: None, until: None });
        }
        for (timer, stage) in self.timers.iter_mut().zip(&scene.protection.stages) {
            if scene.stage_is_outside(stage, sample, self.bias) {
                // it may have begun long before
                let before = if self.bias == Bias::OffSoonest { stage.least_at(sample, scene.phases_of(stage)) } else { 0 };
                timer.begin(sample.at - before);
            }
        }
        self.is_outside = self.timers.iter().any(Timer::is_running);
        self.look_at_breakers(sample.at, sample, scene);
        match (self.state, scene.holds(sample)) {
            (State::Waiting, true) if self.may_come_back() => self.turn(sample.at, State::Observing, None),
            (State::Observing, false) => self.turn(sample.at, State::Waiting, None),
            _ => {}
        }
    }

    /// The log says nothing between two moments. The one device left if it could, the other came back.
    pub fn pass_over(&mut self, from: Micros, until: Micros, scene: &Scene<'_>) {
        self.memory.forget();
        match self.bias {
            Bias::OffSoonest => {
                let left = |of_relay: bool| {
                    let own = self.timers.iter().zip(&scene.protection.stages).filter(|(_, stage)| stage.relay.is_some() == of_relay);
                    own.map(|(timer, stage)| timer.since().unwrap_or(from).saturating_add(stage.least)).min()
                };
                let (own, by_relay) = (left(false), left(true).filter(|left| *left < until));
                if by_relay.is_some() {
                    self.breakers.fill(Breaker::Waiting);
                }
                match own.into_iter().chain(by_relay).min().filter(|left| *left < until) {
                    _ if !self.state.is_on() => self.turn(until, State::Waiting, None),
                    None => {}
                    Some(left) => {
                        self.cause = Cause::Gap;
                        self.turn(left.max(from), State::Waiting, Some(Left::Unseen));
                    }
                }
            }
            Bias::OffLatest => {
                let supplied = self.close_in_a_gap(from, until, scene);
                if self.state == State::Waiting && supplied <= until {
                    self.turn(supplied.max(from), State::Observing, None);
                }
                let due = self.since.saturating_add(scene.protection.reconnection.observation[0]);
                if self.state == State::Observing && due <= until {
                    self.connect(due.max(from), scene.protection);
                }
                let up = self.connected.saturating_add(scene.protection.reconnection.ramp);
                if self.state == State::Ceased || (self.state == State::Ramping && up <= until) {
                    self.turn(up.max(from).min(until), State::Running, None);
                }
            }
        }
        self.timers.fill(Timer::default());
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
                Next::Open(stage) => self.open(due, stage, last, now, scene),
                Next::Close(relay) => self.close(due, relay, last, now, scene),
                Next::Up => self.turn(due, State::Running, None),
            }
            at = due;
        }
        self.account(last, at, until, scene);
        self.look(last, now, scene);
    }

    fn trip(&mut self, due: Micros, stage: usize, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        self.leave(due, stage, self.value_of(stage, last, now, scene));
        if scene.holds(last) && scene.holds(now) && self.may_come_back() {
            self.turn(due, State::Observing, None);
        }
    }

    pub(super) fn leave(&mut self, due: Micros, stage: usize, value: f64) {
        self.cause = Cause::Trip(stage);
        self.turn(due, State::Waiting, Some(Left::Stage(stage, value)));
        let began = self.timers[stage].since().unwrap_or(due);
        self.left_by = self.changes.len().checked_sub(1).map(|place| LeftBy { stage, place, began });
        self.memory.forget();
    }

    /// It lost what it needs to keep a limit, and stays off until it is let go.
    pub fn hold_off(&mut self, at: Micros) {
        self.is_held_off = true;
        if self.state.is_on() {
            self.cause = Cause::Link;
            self.memory.forget();
            self.turn(at, State::Waiting, Some(Left::Link));
        } else if self.state == State::Observing {
            self.turn(at, State::Waiting, None);
        }
    }

    /// The value at which a stage trips.
    pub(super) fn value_of(&self, stage: usize, last: &Sample, now: &Sample, scene: &Scene<'_>) -> f64 {
        if let Some(mean) = &scene.means[stage] {
            return mean.mean().unwrap_or(f64::NAN);
        }
        let stage = &scene.protection.stages[stage];
        let at = if scene.stage_is_outside(stage, now, self.bias) { now } else { last };
        stage.value(at, scene.phases_of(stage))
    }

    fn connect(&mut self, at: Micros, protection: &Protection) {
        self.connected = at;
        let to = if protection.reconnection.ramp > 0 { State::Ramping } else { State::Running };
        self.turn(at, to, None);
    }

    /// Brings the timers of the stages up to the new value.
    fn watch(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        for (n, (timer, stage)) in self.timers.iter_mut().zip(&scene.protection.stages).enumerate() {
            if scene.means[n].is_none() {
                timer.watch(stage, last, now, scene.phases_of(stage), self.bias);
            }
        }
    }

    /// What changes with the new value itself.
    fn look(&mut self, last: &Sample, now: &Sample, scene: &Scene<'_>) {
        for (timer, stage) in self.timers.iter_mut().zip(&scene.protection.stages) {
            timer.look(stage, last, now, scene.phases_of(stage), self.bias);
        }
        self.is_outside = self.timers.iter().any(Timer::is_running);
        self.look_at_what_it_left_by(now.at, scene);
        self.look_at_breakers(last.at, now, scene);
        let holds = scene.holds(now);
        let ceases = scene.protection.ceasing.acts(now, scene.phases);
        match self.state {
            State::Observing if !holds => {
                self.turn(now.at, State::Waiting, None);
                if let Some(change) = self.changes.last_mut().filter(|change| change.at == now.at) {
                    change.broken_off = Some(scene.protection.reconnection.broken_off(now, scene.phases));
                }
            }
            State::Waiting if holds && self.may_come_back() => {
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

    /// Notes up to when the stage by which it left might have tripped.
    fn look_at_what_it_left_by(&mut self, now: Micros, scene: &Scene<'_>) {
        let Some(LeftBy { stage, place, began }) = self.left_by.filter(|by| scene.means[by.stage].is_none()) else { return };
        if self.timers[stage].is_running() {
            return;
        }
        self.left_by = None;
        let own = &scene.protection.stages[stage];
        if let Some(change) =
            self.changes.get_mut(place).filter(|change| matches!(change.left, Some(Left::Stage(left, _)) if left == stage))
        {
            change.until = Some(now.min(own.latest(began)).max(change.at));
        }
    }

    pub(super) fn turn(&mut self, at: Micros, to: State, left: Option<Left>) {
        self.state = to;
        self.since = at;
        if self.changes.len() < MOST_CHANGES {
            self.changes.push(Change { at, to, left, broken_off: None, opened: None, until: None });
        } else {
            self.untold += 1;
        }
    }
}
