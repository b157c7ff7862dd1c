//! What a device that departs looks like: which of several curves explains its vars, or that the log does not tell.
//! From what was counted, all curves with the same errors of the meter, so that none gains by freedom.

use crate::counters::{CELL_SHARE, CELL_VOLTS, Counters, Millis};
use crate::curve::Curve;
use crate::hypotheses::Grid;

/// Which curves explain a log.
#[derive(Clone, Debug, PartialEq)]
pub enum Likeness {
    /// This one, clearly.
    One {
        /// Its place.
        place: usize,
        /// How far vars lie from it on average, as a share of rated apparent power, and the share of time outside.
        misfit: f64,
        /// See `misfit`.
        outside: f64,
        /// The next best and its misfit.
        next: Option<(usize, f64)>,
    },
    /// Any of these: the log does not tell them apart.
    Several(Vec<usize>),
    /// None of them.
    None,
}

/// A curve is named only where no more than this share of the time lies outside its band …
const OUTSIDE: f64 = 0.05;
/// … the next best is worse by this factor …
const FACTOR: f64 = 1.3;
/// … and by this share of rated apparent power …
const WORSE: f64 = 0.005;
/// … and it stays first in so many of so many resamplings of days. All common practice, no source.
const FIRST: [u32; 2] = [198, 200];
/// Below so many days each of them has to have it first.
const FEW_DAYS: usize = 10;

/// How far vars lie from a curve on one day.
#[derive(Clone, Copy, Default)]
struct Missed {
    /// Shares of rated apparent power times milliseconds.
    by: f64,
    outside: Millis,
    lasted: Millis,
}

impl Missed {
    fn add(self, other: Self) -> Self {
        Self { by: self.by + other.by, outside: self.outside + other.outside, lasted: self.lasted + other.lasted }
    }

    fn misfit(self) -> f64 {
        self.by / self.lasted.max(1) as f64
    }

    fn share_outside(self) -> f64 {
        self.outside as f64 / self.lasted.max(1) as f64
    }
}

/// Which of several volt-var curves, in vars, explain what was counted at the terminals; `margin` is tolerance and meter
/// together, in vars.
#[must_use]
pub fn likeness(curves: &[Curve], counters: &Counters, grid: &Grid, rated: f64, margin: f64) -> Likeness {
    let days: Vec<Vec<Missed>> = curves.iter().map(|curve| best_of(curve, counters, grid, rated, margin / rated)).collect();
    let total = |days: &[Missed]| days.iter().copied().fold(Missed::default(), Missed::add);
    let mut order: Vec<(usize, Missed)> = days.iter().map(|days| total(days)).enumerate().collect();
    order.sort_by(|one, other| one.1.misfit().total_cmp(&other.1.misfit()));
    let Some((best, missed)) = order.first().copied().filter(|(_, missed)| missed.lasted > 0 && missed.share_outside() <= OUTSIDE) else {
        return Likeness::None;
    };
    let is_as_good = |other: &Missed| other.misfit() < FACTOR * missed.misfit() || other.misfit() - missed.misfit() < WORSE;
    let mut several: Vec<usize> = order.iter().filter(|(_, other)| is_as_good(other)).map(|(place, _)| *place).collect();
    let others = order[1..].iter().map(|(place, _)| *place).filter(|place| !stays_first(&days[best], &days[*place]));
    several.extend(others.collect::<Vec<_>>());
    several.sort_unstable();
    several.dedup();
    if several.len() > 1 {
        return Likeness::Several(several);
    }
    let next = order.get(1).map(|(place, missed)| (*place, missed.misfit()));
    Likeness::One { place: best, misfit: missed.misfit(), outside: missed.share_outside(), next }
}

/// How far vars lie from a curve on each day, under the errors that suit it best.
fn best_of(curve: &Curve, counters: &Counters, grid: &Grid, rated: f64, margin: f64) -> Vec<Missed> {
    let mut tried: Vec<(f64, bool)> = Vec::new();
    for of in grid.all.iter().filter(|of| of.rise == 0.0) {
        if !tried.contains(&(of.offset, of.is_reversed)) {
            tried.push((of.offset, of.is_reversed));
        }
    }
    let wide = CELL_VOLTS / 2.0 + grid.offset_half;
    let of_day = |day: &crate::counters::Day, (offset, is_reversed): (f64, bool)| {
        let cells = day.vars_by_volts.cells().map(|(volts, share, lasted)| {
            let share = if is_reversed { -share } else { share };
            let [low, high] = curve.range(volts + offset - wide, volts + offset + wide).map(|vars| vars / rated);
            let by = (low - CELL_SHARE / 2.0 - share).max(share - high - CELL_SHARE / 2.0).max(0.0);
            Missed { by: by * lasted as f64, outside: if by > margin { lasted } else { 0 }, lasted }
        });
        cells.fold(Missed::default(), Missed::add)
    };
    let all = tried.into_iter().map(|errors| counters.days.values().map(|day| of_day(day, errors)).collect::<Vec<_>>());
    let misfit = |days: &Vec<Missed>| days.iter().copied().fold(Missed::default(), Missed::add).misfit();
    all.min_by(|one, other| misfit(one).total_cmp(&misfit(other))).unwrap_or_default()
}

/// Whether one curve stays better than another whichever days were logged.
fn stays_first(one: &[Missed], other: &[Missed]) -> bool {
    let days: Vec<usize> = (0..one.len()).filter(|day| one[*day].lasted > 0).collect();
    if days.len() < FEW_DAYS {
        return days.iter().all(|day| one[*day].by < other[*day].by);
    }
    let mut state = 0x5eed_u64;
    let mut drawn = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        days[(state >> 33) as usize % days.len()]
    };
    let [least, of] = FIRST;
    let wins = (0..of).filter(|_| {
        let sums = (0..days.len()).fold([0.0; 2], |[a, b], _| {
            let day = drawn();
            [a + one[day].by, b + other[day].by]
        });
        sums[0] < sums[1]
    });
    wins.count() as u32 >= least
}
