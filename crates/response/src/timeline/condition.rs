//! Since when the condition of a stage may stand, and since when it provably does; and so, within which
//! window it may trip in a step of the log. What devices do does not touch it: they all meet one supply.

use super::mean_watch::MeanWatch;
use super::protection::{Position, Stage};
use super::timer::Timer;
use super::{Micros, Sample};

/// Which count of a condition: that of all that may have been, or of what is proven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Count {
    AtMost,
    AtLeast,
}

impl Count {
    /// Of what lies between two edges, the place of the one that keeps a stage picked up: 1 for the most.
    pub fn of_most(self) -> usize {
        usize::from(self == Self::AtMost)
    }
}

/// When a stage may trip between two values of the log.
#[derive(Clone, Copy, Debug)]
pub(super) struct Window {
    /// The place of the stage.
    pub stage: usize,
    pub between: [Micros; 2],
    /// By when every device that was on has tripped, where that is proven.
    pub must: Option<Micros>,
}

/// The condition of one stage.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Condition {
    may: Timer,
    proven: Timer,
    /// The latest moment at which what may stand can have begun.
    began_latest: Micros,
    /// Whether it provably stood at the value before.
    stood: bool,
}

impl Condition {
    /// The first value of the log, or the first after a gap: it may have begun long before.
    pub fn begin(&mut self, stage: &Stage, sample: &Sample, phases: usize) {
        match stage.standing(sample, phases, Count::AtMost) {
            Position::Outside => self.may.begin(sample.at - stage.least_at(sample, phases)),
            // what is missing may lie outside, and may have done so for as long
            Position::Unknown => self.may.begin(sample.at - stage.least),
            // one that keeps its count for a while after it has let go may still have one
            _ if stage.drop_off.reset(Count::AtMost) > 0 => self.may.begin_released(sample.at - stage.least, sample.at),
            _ => {}
        }
        if stage.standing(sample, phases, Count::AtLeast) == Position::Outside {
            self.proven.begin(sample.at);
        }
        self.began_latest = sample.at;
    }

    /// The next value; the window in which the stage may trip on the way to it.
    pub fn step(&mut self, place: usize, stage: &Stage, [last, now]: [&Sample; 2], phases: usize) -> Option<Window> {
        // most stages, most of the time: nothing counts, and nothing begins to
        if self.is_at_rest() && stage.standing(now, phases, Count::AtMost) == Position::Inside {
            self.stood = false;
            return None;
        }
        self.stood = self.proven.is_running();
        self.may.watch(stage, last, now, phases, Count::AtMost);
        self.proven.watch(stage, last, now, phases, Count::AtLeast);
        let window = self.may.since().and_then(|since| self.window(since, place, stage, [last, now], phases));
        self.may.look(stage, last, now, phases, Count::AtMost);
        self.proven.look(stage, last, now, phases, Count::AtLeast);
        window
    }

    fn window(&mut self, since: Micros, place: usize, stage: &Stage, [last, now]: [&Sample; 2], phases: usize) -> Option<Window> {
        let standing = stage.standing(now, phases, Count::AtMost);
        let was_unknown = stage.standing(last, phases, Count::AtMost) == Position::Unknown;
        self.began_latest = match standing {
            Position::Unknown => now.at,
            // it may have begun just before this value, which ends it
            Position::Inside | Position::Near if was_unknown => now.at,
            _ => self.proven.since().unwrap_or(self.began_latest),
        };
        let earliest = since + self.may.least(stage);
        if !self.may.may_trip(stage, now, phases, Count::AtMost) {
            return None;
        }
        // back inside at this value: it may have lasted until just before
        let end = if standing == Position::Inside { now.at - 1 } else { now.at };
        let between = [earliest.max(last.at), stage.latest(self.began_latest).min(end)];
        let must = self.proven.since().map(|since| stage.latest(since).max(last.at));
        let must = must.filter(|due| *due <= now.at && self.proven.may_trip(stage, now, phases, Count::AtLeast));
        (between[0] <= between[1]).then_some(Window { stage: place, between, must })
    }

    /// Whether it neither counts nor begins to on the way to a value in a straight line.
    pub fn stays_at_rest(&self, stage: &Stage, [last, to]: [&Sample; 2], phases: usize) -> bool {
        let is_inside = |sample| stage.standing(sample, phases, Count::AtMost) == Position::Inside;
        self.is_at_rest() && is_inside(last) && is_inside(to)
    }

    /// Whether nothing counts; what let go before that is forgotten by then.
    fn is_at_rest(&self) -> bool {
        !self.may.is_running() && !self.proven.is_running()
    }

    pub fn may_stand(&self) -> bool {
        self.may.is_running()
    }

    /// Whether it provably stood all the way from the value before to the last one.
    pub fn stands(&self) -> bool {
        self.stood && self.proven.is_running()
    }

    /// Since when it may stand.
    pub fn since(&self) -> Option<Micros> {
        self.may.since()
    }
}

/// When a stage that looks at a mean may trip in a step of the log.
pub(super) fn of_mean(place: usize, stage: &Stage, mean: &MeanWatch, [last, now]: [Micros; 2], are_means: bool) -> Option<Window> {
    let windows = mean.runs().iter().filter_map(|run| {
        let [before, after] = run.began_between;
        let began = if are_means { [before, after] } else { [run.from; 2] };
        // where a mean began between two marks it also ended between two
        let end = if are_means { now } else { run.to };
        let latest = if mean.proves { stage.latest(began[1]) } else { Micros::MAX };
        let between = [(began[0] + stage.least).max(last), latest.min(end).min(now)];
        let must = Some(latest).filter(|due| *due <= run.to).map(|due| due.max(last));
        (between[0] <= between[1]).then_some(Window { stage: place, between, must })
    });
    windows.reduce(|one, other| Window {
        between: [one.between[0].min(other.between[0]), one.between[1].max(other.between[1])],
        must: one.must.into_iter().chain(other.must).min(),
        ..one
    })
}
