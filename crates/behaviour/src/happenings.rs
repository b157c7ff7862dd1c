//! What has to happen at a time: leaving when a stage's time is over, waiting before connecting again, coming back no
//! faster than the ramp, answering to high frequency. Lawful devices are played on the log (`response::timeline`) at
//! voltages and frequencies that the meter may have meant; where none of them may be on, the device may not be either.

use crate::happened::{Happened, Millis, OfDay};
use crate::reading::Setup;
use crate::thresholds::ON_FROM;
use response::device::Device;
use response::timeline::{Micros, Player, Protection, Sample, State, Values, micros};
use std::collections::{BTreeMap, VecDeque};

/// Rows in a row before something is said of them: two clocks may differ by one.
const ROWS: u32 = 2;
/// It stops where it falls by so much of what it gave, from at least this share of its rating.
const STOPS: [f64; 2] = [0.95, 0.2];

/// What is known of a device and its log before they are played.
#[derive(Clone, Copy, Debug)]
pub struct Margin {
    /// How far voltage may lie off, in volts.
    pub volts: f64,
    /// How far frequency may lie off, in hertz.
    pub hertz: f64,
    /// How far power may lie beside what is asked, tolerance and meter together, in watts.
    pub watts: f64,
}

/// A device played beside a log of what it did.
pub struct Happenings<'d> {
    setup: &'d Setup,
    margin: Margin,
    /// The voltages and frequencies that were meant, by what is added to those read.
    players: Vec<([f64; 2], Player<'d>)>,
    start: f64,
    observation: Micros,
    before: Option<Before>,
    /// Whether the device gave power when no lawful device could have left yet.
    was_on: bool,
    /// Whether it left when it was last asked to: one that stayed on has no return to be judged.
    has_left: bool,
    /// Rows in a row of one kind.
    run: Option<(Happened, u32, Millis)>,
    episode: Option<Episode>,
    given: Vec<f64>,
    /// The most that any lawful device gave in each row that a response may lag behind.
    lately: VecDeque<(Micros, f64)>,
    /// What happened on each day.
    pub days: BTreeMap<i32, OfDay>,
}

/// The last row.
#[derive(Clone, Copy)]
struct Before {
    at: Micros,
    watts: f64,
    available: f64,
    frequency: f64,
    is_off_asked: bool,
    may_be_off: bool,
    /// What the most that any lawful device does is.
    state: State,
}

/// A stretch in which no lawful device is on, until the device gives power again.
#[derive(Clone, Copy)]
struct Episode {
    /// Whether the device gave power before it.
    was_on: bool,
    /// Rows in which it still did.
    rows_on: u32,
    has_left: bool,
    /// Whether it gave power again before any lawful device.
    was_early: bool,
    was_observing: bool,
    is_over: bool,
}

impl<'d> Happenings<'d> {
    /// Before the first row.
    #[must_use]
    pub fn new(device: &'d Device, protection: &'d Protection, values: Values, setup: &'d Setup, margin: Margin) -> Self {
        let shifts = [[0.0, 0.0], [-margin.volts, -margin.hertz], [margin.volts, margin.hertz]];
        let players = shifts.map(|shift| (shift, Player::new(device, protection, None, values)));
        Self {
            setup,
            margin,
            players: players.into_iter().collect(),
            start: device.over_frequency.as_ref().map_or(f64::INFINITY, |answer| answer.start),
            observation: protection.reconnection.observation[0],
            before: None,
            was_on: false,
            has_left: false,
            run: None,
            episode: None,
            given: vec![0.0; shifts.len()],
            lately: VecDeque::new(),
            days: BTreeMap::new(),
        }
    }

    /// A row: what the supply was, and the watts that the device gave. `sample.available` is not a number where nobody
    /// logged it.
    pub fn push(&mut self, sample: Sample, watts: f64) {
        let is_known = !sample.voltage[0].is_nan();
        let gap = self.before.filter(|before| sample.at - before.at > self.setup.longest).map(|before| before.at + self.setup.step);
        let available = if sample.available.is_nan() { self.setup.rated } else { sample.available + self.margin.watts };
        for (shift, player) in &mut self.players {
            gap.into_iter().for_each(|from| player.gap(from));
            let voltage = sample.voltage.map(|volts| volts + shift[0]);
            let moved = Sample { voltage, frequency: sample.frequency + shift[1], available, ..sample };
            if is_known { player.push(moved) } else { player.gap(sample.at) }
        }
        let most = self.most_given(sample.at);
        let most = self.most_lately(sample.at, most);
        if let Some(before) = self.before.filter(|_| gap.is_none() && is_known) {
            self.look(&before, sample.at, watts, most);
        } else {
            (self.run, self.episode) = (None, None);
        }
        self.before = is_known.then(|| self.now(&sample, watts));
    }

    fn now(&self, sample: &Sample, watts: f64) -> Before {
        let states = self.players.iter().map(|(_, player)| player.states());
        let (least, most): (Vec<State>, Vec<State>) = states.map(|[least, most]| (least, most)).unzip();
        let is_off = |state: &State| matches!(state, State::Waiting | State::Observing | State::Ceased);
        Before {
            at: sample.at,
            watts,
            available: sample.available,
            frequency: sample.frequency,
            is_off_asked: most.iter().all(is_off),
            may_be_off: least.iter().any(is_off),
            state: most[0],
        }
    }

    /// The most watts that any lawful device gave on average since the last row.
    fn most_given(&mut self, at: Micros) -> f64 {
        let lasted = self.before.map_or(1, |before| (at - before.at).max(1)) as f64;
        let given = self.players.iter().map(|(_, player)| player.given_and_held_back()[1].0.max(player.given_and_held_back()[0].0));
        let given: Vec<f64> = given.collect();
        let most = given.iter().zip(&self.given).map(|(now, before)| (now - before) / lasted).fold(f64::NEG_INFINITY, f64::max);
        self.given = given;
        most
    }

    /// The most watts within the time that a response may take: a device may still give what it was asked to give before.
    fn most_lately(&mut self, at: Micros, most: f64) -> f64 {
        let from = at - micros(self.setup.response_time) - self.setup.step;
        self.lately.push_back((at, most));
        while self.lately.front().is_some_and(|(first, _)| *first < from) {
            self.lately.pop_front();
        }
        self.lately.iter().map(|(_, most)| *most).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Looks at the row before, now that it is known what followed.
    fn look(&mut self, row: &Before, at: Micros, watts: f64, most: f64) {
        let lasted = (at - row.at) as u64 / 1_000;
        let is_on = row.watts > ON_FROM * self.setup.rated + self.margin.watts.min(ON_FROM * self.setup.rated);
        self.look_at_episode(row, is_on);
        let is_above = row.watts > most + self.margin.watts;
        let is_high = row.frequency - self.margin.hertz > self.start;
        let happened = match row.state {
            _ if row.is_off_asked && is_on => Some(match self.episode {
                Some(episode) if episode.has_left => Happened::CameBackEarly,
                _ => Happened::StayedOn,
            }),
            _ if row.is_off_asked => None,
            State::Ramping if is_above && self.has_left => Some(Happened::RoseTooFast),
            State::Running if is_high && is_above => Some(Happened::AboveAtHighFrequency),
            State::Running if is_high && row.available - 2.0 * self.margin.watts > most => Some(Happened::FellAtHighFrequency),
            _ => None,
        };
        self.count(happened, row.at, lasted);
        let [share, from] = STOPS;
        let has_stopped = row.watts > from * self.setup.rated && watts < (1.0 - share) * row.watts;
        if has_stopped && !row.may_be_off && !self.may_leave_now() {
            self.add(Happened::StoppedUnexplained, row.at, 1, 0);
        }
    }

    fn may_leave_now(&self) -> bool {
        self.players.iter().any(|(_, player)| player.states()[0] != State::Running)
    }

    /// Follows a stretch in which no lawful device is on, to its end and to the return of the device.
    fn look_at_episode(&mut self, row: &Before, is_on: bool) {
        if !row.may_be_off {
            self.was_on = is_on;
        }
        let fresh = Episode { was_on: self.was_on, rows_on: 0, has_left: false, was_early: false, was_observing: false, is_over: false };
        let Some(mut episode) = self.episode.or(row.is_off_asked.then_some(fresh)) else { return };
        self.has_left = episode.has_left || !is_on;
        episode.was_observing |= row.state == State::Observing;
        episode.is_over |= !row.is_off_asked;
        match (episode.has_left, is_on) {
            (false, true) => episode.rows_on += 1,
            (false, false) => {
                episode.has_left = true;
                if episode.was_on && episode.rows_on < ROWS && !episode.is_over {
                    self.add(Happened::Left, row.at, 1, 0);
                }
            }
            (true, true) if !episode.is_over => episode.was_early = true,
            _ => {}
        }
        self.episode = Some(episode);
        if episode.is_over && is_on {
            self.episode = None;
            let is_long_enough = 2 * self.setup.step <= self.observation;
            if episode.has_left && !episode.was_early && episode.was_observing && is_long_enough {
                self.add(Happened::Waited, row.at, 1, 0);
            }
        }
    }

    /// Counts rows of one kind that follow one another, from the second on.
    fn count(&mut self, happened: Option<Happened>, at: Micros, lasted: Millis) {
        let Some(happened) = happened else {
            self.run = None;
            return;
        };
        let (rows, before) = match self.run {
            Some((kind, rows, before)) if kind == happened => (rows + 1, before + lasted),
            _ => (1, lasted),
        };
        self.run = Some((happened, rows, before));
        match rows {
            ROWS => self.add(happened, at, 1, before),
            rows if rows > ROWS => self.add(happened, at, 0, lasted),
            _ => {}
        }
    }

    fn add(&mut self, happened: Happened, at: Micros, times: u32, lasted: Millis) {
        let often = self.days.entry(self.setup.day(at)).or_default().entry(happened).or_default();
        often.times += times;
        often.lasted += lasted;
    }
}
