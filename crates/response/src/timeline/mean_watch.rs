//! When the mean over a sliding window lies above a threshold: exactly, also between two values of an
//! irregular log, where it may pass its threshold and come back before the next value.

use super::rolling_mean::{RollingMean, Stretch};
use super::{Micros, Sample};

/// A stretch of time in which the mean of a phase lies above the threshold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Run {
    /// The first moment above.
    pub from: Micros,
    /// The two values of the log between which it began.
    pub began_between: [Micros; 2],
    /// Up to when it is known to last.
    pub to: Micros,
}

/// A mean and its threshold.
#[derive(Clone, Debug)]
pub(super) struct MeanWatch {
    rolling: RollingMean,
    limit: i64,
    /// How many phases it looks at.
    phases: usize,
    /// Whether the values of the log prove a mean.
    pub proves: bool,
    /// For each phase the run that goes on.
    open: [Option<Run>; 3],
    /// The runs that touch the last step.
    runs: Vec<Run>,
    /// The highest sum at the last value, once its window is full.
    now: Option<i64>,
    /// The highest sum at any value.
    highest: Option<i64>,
}

impl MeanWatch {
    pub(super) fn new(window: Micros, threshold: f64, phases: usize, proves: bool) -> Self {
        let rolling = RollingMean::new(window);
        Self { limit: rolling.limit(threshold), rolling, phases, proves, open: [None; 3], runs: Vec::new(), now: None, highest: None }
    }

    pub(super) fn assume(&mut self, at: Micros, voltage: f64) {
        self.rolling.assume(at, voltage);
    }

    pub(super) fn forget(&mut self) {
        self.rolling.forget();
        self.now = None;
        self.open = [None; 3];
        self.runs.clear();
    }

    /// The next value of the log.
    pub(super) fn step(&mut self, sample: &Sample, last: Micros) {
        self.runs.clear();
        let (limit, open, runs) = (self.limit, &mut self.open, &mut self.runs);
        let since = self.rolling.since();
        let between = [last, sample.at];
        let mut is_open = open.iter().any(Option::is_some);
        let (mut voltage, window) = (sample.voltage, self.rolling.window());
        voltage[self.phases..].fill(f64::NAN);
        self.rolling.push(sample.at, voltage, |stretch| {
            // far below is most of most logs
            if !is_open && stretch.before.iter().chain(&stretch.after).all(|sum| *sum <= limit) {
                return;
            }
            is_open = true;
            for phase in 0..3 {
                let is_above = stretch.before[phase] > limit || stretch.after[phase] > limit;
                match since[phase].map(|since| since + window) {
                    Some(from) if is_above || open[phase].is_some() => {
                        above(&mut open[phase], runs, phase_of(&stretch, phase, from), limit, between);
                    }
                    _ => {}
                }
            }
        });
        self.now = self.rolling.highest_sum();
        self.highest = self.highest.max(self.now);
        if !is_open {
            return;
        }
        for (run, since) in self.open.iter_mut().zip(self.rolling.since()) {
            // a phase that the log no longer has proves nothing more
            *run = run.filter(|_| since.is_some());
            if let Some(run) = run {
                run.to = sample.at;
                self.runs.push(*run);
            }
        }
    }

    /// Whether the mean of no phase can lie above before a value is reached in a straight line.
    pub(super) fn stays_below(&self, last: &Sample, to: &Sample) -> bool {
        let highest: [f64; 3] = std::array::from_fn(|phase| last.voltage[phase].max(to.voltage[phase]));
        let is_above = self.is_above() || !self.runs.is_empty();
        !is_above && self.rolling.highest_until(to.at, highest)[..self.phases].iter().all(|sum| *sum <= self.limit)
    }

    /// Whether the whole window is at one value, and so is this: the mean stays as it is.
    pub(super) fn is_settled_at(&self, sample: &Sample) -> bool {
        let mut voltage = sample.voltage;
        voltage[self.phases..].fill(f64::NAN);
        self.rolling.is_settled_at(sample.at, voltage)
    }

    /// The runs that touch the last step of the log.
    pub(super) fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// Whether the mean lies above at the last value.
    pub(super) fn is_above(&self) -> bool {
        self.open.iter().any(Option::is_some)
    }

    /// The highest mean at the last value, once its window is full.
    pub(super) fn mean(&self) -> Option<f64> {
        self.now.map(|sum| self.rolling.mean_of(sum))
    }

    /// The highest mean at any value so far, once a window was full.
    pub(super) fn highest(&self) -> Option<f64> {
        self.highest.map(|sum| self.rolling.mean_of(sum))
    }
}

/// One phase of a stretch, from when its mean is known.
#[derive(Clone, Copy)]
struct Straight {
    from: Micros,
    to: Micros,
    before: i64,
    after: i64,
}

fn phase_of(stretch: &Stretch, phase: usize, known_from: Micros) -> Option<Straight> {
    let Stretch { from, to, .. } = *stretch;
    let (before, after) = (stretch.before[phase], stretch.after[phase]);
    if known_from > to {
        return None;
    }
    let cut = known_from.max(from);
    // straight, and in whole units of time: the division leaves nothing over
    let before = before + (after - before) / (to - from).max(1) * (cut - from);
    Some(Straight { from: cut, to, before, after })
}

/// Follows one phase over a straight stretch.
fn above(open: &mut Option<Run>, runs: &mut Vec<Run>, straight: Option<Straight>, limit: i64, began_between: [Micros; 2]) {
    let Some(Straight { from, to, before, after }) = straight else { return };
    let slope = if to > from { (after - before) / (to - from) } else { 0 };
    if open.is_none() && before.max(after) > limit {
        let begins = if before > limit { from } else { from + (limit - before) / slope + 1 };
        *open = Some(Run { from: begins, began_between, to });
    }
    if after <= limit
        && let Some(run) = open.take()
    {
        // above up to here, at the limit or below after
        let ends = if slope == 0 { from } else { from + (before - limit + (-slope) - 1) / -slope };
        runs.push(Run { to: ends, ..run });
    }
}
