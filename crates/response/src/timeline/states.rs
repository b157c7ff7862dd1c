//! The states that lawful devices may be in, carried from value to value: on, and off behind each set of
//! relays. Every lawful device is in one of them, and happenings are what leads from one to another.
//!
//! Its size is bounded: devices that wait for the same are one, with intervals for what differs.

use super::condition::{Condition, Window, of_mean};
use super::energy::{Bounds, Cause};
use super::mean_watch::MeanWatch;
use super::observation::{Ends, Observation};
use super::off::{Off, joined};
use super::on::{LONG_AGO, On, nothing_given};
use super::protection::{Protection, Stage};
use super::story::{MayTrip, Story};
use super::{Micros, Sample};
use crate::device::Device;

/// What a device is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// Off, and voltage or frequency lie outside where it may connect.
    Waiting,
    /// Off, and counting how long both have been inside.
    Observing,
    /// On, and giving nothing for a moment.
    Ceased,
    /// On, and coming up.
    Ramping,
    /// On.
    Running,
}

impl State {
    /// Whether it is connected.
    #[must_use]
    pub fn is_on(self) -> bool {
        self >= Self::Ceased
    }
}

/// A state that began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// When.
    pub at: Micros,
    /// What it does from then on.
    pub to: State,
}

/// What every device meets.
#[derive(Clone, Copy)]
pub(super) struct Scene<'s> {
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
    fn phases_of(&self, stage: &Stage) -> usize {
        self.protection.phases_of(stage, self.phases)
    }

    /// Whether the device, or a relay, may come back at a value; `None` where the log does not say.
    fn is_inside(&self, relay: Option<usize>, sample: &Sample) -> Option<bool> {
        match relay.map(|relay| &self.protection.relays[relay]) {
            Some(relay) => relay.reconnection.is_inside(sample, relay.phases),
            None => self.protection.reconnection.is_inside(sample, self.phases),
        }
    }

    /// How long it has to be inside.
    fn wait(&self, relay: Option<usize>) -> [Micros; 2] {
        let own = &self.protection.reconnection;
        relay.map_or(own, |relay| &self.protection.relays[relay].reconnection).wait()
    }
}

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

/// From one value of the log to the next.
#[derive(Clone, Copy)]
struct Step<'s> {
    last: &'s Sample,
    now: &'s Sample,
    scene: &'s Scene<'s>,
}

impl Step<'_> {
    fn between(&self) -> [Micros; 2] {
        [self.last.at, self.now.at]
    }

    /// Counts what a device that is off does not give, from the value before to a moment.
    fn off_until(&self, off: &Off, until: Micros) -> Bounds {
        let mut energy = off.energy.clone();
        energy.count_off(&nothing_given(self.last, self.scene.devices[0]), &off.causes, [self.last.at, until]);
        energy
    }
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
        let off = Off::left([LONG_AGO; 2], protection.relays.len(), vec![Cause::Start], Bounds::default());
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
        } else {
            self.pass(&step, &windows);
        }
        self.ceases = scene.protection.ceasing.acts(now, scene.phases);
        self.note(now.at, scene);
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
        let all_along = gone_on.as_ref().map(|on| on.energy.clone());
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

    /// What those that are on may trip by.
    fn trips_of(&self, step: &Step<'_>, windows: &[Window], emptied: Option<Micros>) -> Vec<MayTrip> {
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
    fn trips_after(&self, arrival: &Arrival, step: &Step<'_>, windows: &[Window]) -> Vec<MayTrip> {
        let trips = windows.iter().filter_map(|window| {
            let from = window.between[0].max(arrival.between[0].saturating_add(step.scene.protection.stages[window.stage].least));
            (from <= window.between[1]).then(|| may_trip(window.stage, [from, window.between[1]], step))
        });
        trips.collect()
    }

    /// Those that leave by a stage of their own, or of each relay.
    fn leave(&mut self, step: &Step<'_>, windows: &[Window], emptied: Option<Micros>, stay: &mut Vec<Off>) {
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
    fn left_at(&self, on: &On, at: Micros, causes: &[Cause], step: &Step<'_>) -> Bounds {
        let mut on = on.clone();
        on.account(step.last, step.last.at, at, self.ceases, step.scene);
        let mut energy = on.energy;
        if at < step.now.at {
            energy.count_off(&nothing_given(step.last, step.scene.devices[0]), causes, [at, step.now.at]);
        }
        energy
    }

    /// Those that are off: which of them come back on the way to the new value, and which stay. Whether a
    /// value broke observations off, and whether all of those were proven.
    fn come_back(&mut self, step: &Step<'_>) -> (Vec<Off>, Vec<Arrival>, Option<bool>) {
        let mut queue = std::mem::take(&mut self.off);
        let (mut stay, mut arrivals, mut broken_off) = (Vec::new(), Vec::new(), None);
        while let Some(mut off) = queue.pop() {
            let mut is_over = false;
            for relay in 0..off.relays.len() {
                let Some(mut observation) = off.relays[relay] else { continue };
                let ends = self.look(&mut observation, Some(relay), step.between(), step);
                off.relays[relay] = Some(observation);
                if let Some(ends) = ends {
                    let mut closed = off.clone();
                    closed.relays[relay] = None;
                    closed.free = ends.between;
                    queue.push(closed);
                    is_over |= ends.is_certain;
                }
            }
            if off.may_come_back() {
                let was_observing = off.observation;
                let [from, until] = off.free;
                let could = [from.max(step.last.at), until.clamp(step.last.at, step.now.at)];
                let mut observation = off.observation;
                let ends = self.look(&mut observation, None, could, step);
                off.observation = observation;
                if was_observing.earliest.is_some() && observation.earliest.is_none() {
                    broken_off = Some(broken_off.unwrap_or(true) && was_observing.latest.is_some());
                }
                if let Some(ends) = ends {
                    let as_off = step.off_until(&off, step.now.at);
                    let [first, last] = ends.between.map(|at| {
                        let mut on = On::since([at; 2], off.causes.clone(), step.off_until(&off, at));
                        on.account(step.last, at, step.now.at, false, step.scene);
                        on
                    });
                    let on = if ends.between[0] == ends.between[1] { first } else { first.or(last) };
                    arrivals.push(Arrival { on, between: ends.between, as_off });
                    is_over |= ends.is_certain;
                    if ends.is_certain {
                        self.turned[0] = Some(ends.between[1]);
                    }
                }
            }
            if !is_over {
                off.energy = step.off_until(&off, step.now.at);
                stay.push(off);
            }
        }
        (stay, arrivals, broken_off)
    }

    /// Brings an observation up to the new value; when it ends on the way.
    fn look(&self, observation: &mut Observation, relay: Option<usize>, could: [Micros; 2], step: &Step<'_>) -> Option<Ends> {
        let [was_inside, is_inside] = [step.last, step.now].map(|sample| step.scene.is_inside(relay, sample));
        let before = *observation;
        observation.look(was_inside, is_inside, step.now.at, step.last.at, could);
        // one that is broken off at the new value may have ended before it
        let of = if is_inside == Some(false) { before } else { *observation };
        of.ends(step.scene.wait(relay), step.between(), is_inside, self.free(relay, step))
    }

    /// None connects onto a stage that stands: from when on none provably does, and from when on none may.
    fn free(&self, relay: Option<usize>, step: &Step<'_>) -> [Option<Micros>; 2] {
        let mut free = [Some(step.last.at); 2];
        let stages = step.scene.protection.stages.iter().zip(&self.conditions).zip(step.scene.means);
        for ((_, condition), mean) in stages.filter(|((stage, _), _)| stage.relay == relay) {
            let Some(mean) = mean else {
                free[0] = free[0].filter(|_| !condition.stands());
                free[1] = free[1].filter(|_| !condition.may_stand());
                continue;
            };
            for run in mean.runs() {
                let goes_on = run.to == step.now.at && mean.is_above();
                let end = (!goes_on).then_some(run.to);
                if mean.proves && run.from <= step.last.at {
                    free[0] = free[0].zip(end).map(|(free, end)| free.max(end));
                }
                free[1] = free[1].zip(end).map(|(free, end)| free.max(end));
            }
        }
        free
    }

    /// Those that are on may leave because they lost what they need; those off then stay off.
    fn leave_by_link(&mut self, step: &Step<'_>, all_are_on: bool, stay: &mut Vec<Off>) {
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
    fn open<'w>(&mut self, step: &Step<'_>, windows: impl Iterator<Item = &'w Window>, stay: &mut Vec<Off>) {
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

    /// Those that left in this step while voltage and frequency are inside observe at once, and where values
    /// lie far apart come back before the next.
    fn observe_at_once(&mut self, step: &Step<'_>, stay: &mut Vec<Off>, all_along: Option<&Bounds>, was_on: bool) {
        let mut back: Vec<(On, [Micros; 2])> = Vec::new();
        let mut kept = Vec::new();
        for mut off in std::mem::take(stay) {
            if !off.may_come_back() || off.observation.earliest.is_some() || off.free[1] < step.last.at {
                kept.push(off);
                continue;
            }
            let could = off.free.map(|at| at.clamp(step.last.at, step.now.at));
            let mut observation = off.observation;
            let ends = self.look(&mut observation, None, could, step);
            off.observation = observation;
            if let Some(ends) = ends {
                // between one that stayed off until now and one that gave all the while
                let energy = all_along.map_or_else(|| off.energy.clone(), |energy| off.energy.clone().or(energy));
                back.push((On::since(ends.between, off.causes.clone(), energy), ends.between));
                if ends.is_certain {
                    continue;
                }
            }
            kept.push(off);
        }
        *stay = kept;
        for (on, between) in back {
            self.story.connects(between, !was_on);
            self.on = Some(match self.on.take() {
                Some(other) => other.or(on),
                None => on,
            });
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

    /// The least that any device may be doing, and the most.
    pub fn least_and_most(&self) -> [State; 2] {
        self.least_and_most
    }

    /// Notes what they may be doing at a value.
    pub(super) fn note(&mut self, at: Micros, scene: &Scene<'_>) {
        let [mut least, mut most] = match &self.on {
            Some(on) => on.states(at, self.ceases, scene),
            None => [State::Running, State::Waiting],
        };
        for off in &self.off {
            let is_observing = |is: bool| if is && off.may_come_back() { State::Observing } else { State::Waiting };
            least = least.min(is_observing(off.observation.latest.is_some()));
            most = most.max(is_observing(off.observation.earliest.is_some()));
        }
        let up = self.on.as_ref().map(|on| on.up(scene));
        for (n, state) in [least, most].into_iter().enumerate() {
            let before = self.least_and_most[n];
            if before == state && !self.changes[n].is_empty() {
                continue;
            }
            let came_up = up.map(|up| up[n]).filter(|_| before == State::Ramping && state == State::Running);
            let moment = came_up.or(self.turned[n]).unwrap_or(at).min(at);
            let moment = self.changes[n].last().map_or(at, |last| moment.max(last.at));
            if self.changes[n].len() < MOST_CHANGES {
                self.changes[n].push(Change { at: moment, to: state });
            }
        }
        self.least_and_most = [least, most];
        let is_free = self.off.is_empty() && !self.ceases && !self.may_leave_by_link;
        let stands = self.conditions.iter().any(Condition::may_stand);
        self.are_quiet = is_free && !stands && self.on.as_ref().is_some_and(|on| on.is_just_running(at, scene));
    }

    /// The least and the most that any gave, lost and charged.
    pub fn energy(&self) -> Bounds {
        let mut all = self.on.iter().map(|on| &on.energy).chain(self.off.iter().map(|off| &off.energy));
        let first = all.next().cloned().unwrap_or_default();
        all.fold(first, Bounds::or)
    }

    /// Watt-microseconds given, and microseconds held back: the least and the most of each.
    pub fn given_and_held_back(&self) -> [(f64, Micros); 2] {
        let all = || self.on.iter().map(|on| &on.energy).chain(self.off.iter().map(|off| &off.energy)).map(Bounds::of_each);
        let least = all().map(|[least, _]| (least.given, least.held_back));
        let most = all().map(|[_, most]| (most.given, most.held_back));
        [
            least.reduce(|one, other| (one.0.min(other.0), one.1.min(other.1))).unwrap_or_default(),
            most.reduce(|one, other| (one.0.max(other.0), one.1.max(other.1))).unwrap_or_default(),
        ]
    }
}

/// One that left by a stage of its own, or behind a relay that opened.
fn left(between: [Micros; 2], relay: Option<usize>, causes: Vec<super::energy::Cause>, energy: Bounds, step: &Step<'_>) -> Off {
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
    let value = match &step.scene.means[place] {
        Some(mean) => mean.mean().unwrap_or(f64::NAN),
        None => {
            let phases = step.scene.phases_of(stage);
            stage.value(if stage.is_outside(step.now, phases) { step.now } else { step.last }, phases)
        }
    };
    MayTrip { stage: place, between, value, most: stage.most }
}
