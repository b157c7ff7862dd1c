//! What happens around a device over time, exactly: straight lines between moments, and jumps.
//!
//! A log is measured; a course is made, by a scenario. It is played as a log is, through samples so dense
//! that no stage of a device falls between two of them.

mod reading;

pub use reading::{Grounds, course};

use crate::timeline::Micros;
use settings_model::files::Link;

/// What there is at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Signal {
    /// Phase to neutral, in volts.
    pub voltage: [f64; 3],
    /// In hertz.
    pub frequency: f64,
    /// What the source could give, in watts.
    pub available: f64,
    /// What the site itself uses, in watts.
    pub own_use: f64,
}

impl Signal {
    fn between(self, other: Self, share: f64) -> Self {
        let line = |a: f64, b: f64| a + (b - a) * share;
        Self {
            voltage: std::array::from_fn(|phase| line(self.voltage[phase], other.voltage[phase])),
            frequency: line(self.frequency, other.frequency),
            available: line(self.available, other.available),
            own_use: line(self.own_use, other.own_use),
        }
    }
}

/// A stretch of time in which everything moves in a straight line, or stays.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// When it begins.
    pub from: Micros,
    /// When it ends, which is not part of it.
    pub to: Micros,
    /// What there is at its beginning.
    pub begins: Signal,
    /// What there is as it ends.
    pub ends: Signal,
    /// What the class is told as it begins.
    pub says: Option<String>,
    /// What is lost (`true`) or comes back as it begins.
    pub links: Vec<(Link, bool)>,
}

/// What happens from 0 on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// One after another, without gaps.
    pub stretches: Vec<Stretch>,
}

/// The longest time between two samples: a cycle of 50 Hz, shorter than any stage's time.
pub const DENSEST: Micros = 20_000;

/// The longest time that is passed over at once where nothing can happen.
const LONGEST_LEAP: Micros = 1_000_000;

/// So many leaps a whole course has at least, so that what is drawn of it stays smooth.
const LEAPS: Micros = 5_000;

/// A course that ends by then is played at every cycle: 30,000 samples are played in no time.
const SHORT: Micros = 600_000_000;

impl Course {
    /// When it ends.
    #[must_use]
    pub fn end(&self) -> Micros {
        self.stretches.last().map_or(0, |stretch| stretch.to)
    }

    /// The longest time that may be passed over at once, where nothing can happen; 0 where each sample is played.
    #[must_use]
    pub fn longest_leap(&self) -> Micros {
        if self.end() <= SHORT { 0 } else { LONGEST_LEAP.min(self.end() / LEAPS) }
    }

    /// Samples in order: at every beginning, just before every end, between them no further apart than
    /// [`DENSEST`], and one at the very end.
    pub fn samples(&self) -> impl Iterator<Item = (Micros, Signal)> + '_ {
        let last = self.stretches.last().map(|stretch| (stretch.to, stretch.ends));
        self.stretches.iter().flat_map(Stretch::samples).chain(last)
    }
}

impl Stretch {
    /// What there is at a moment of it.
    #[must_use]
    pub fn at(&self, moment: Micros) -> Signal {
        let share = (moment - self.from) as f64 / (self.to - self.from).max(1) as f64;
        self.begins.between(self.ends, share)
    }

    /// Its samples, the end left out.
    pub fn samples(&self) -> impl Iterator<Item = (Micros, Signal)> + '_ {
        std::iter::successors((self.to > self.from).then_some(self.from), |at| self.next(*at)).map(|at| (at, self.at(at)))
    }

    /// The moment of the sample after one at this moment, before it ends.
    #[must_use]
    pub fn next(&self, at: Micros) -> Option<Micros> {
        let just_before = self.to - 1;
        (at < just_before).then(|| (at + DENSEST).min(just_before))
    }

    /// The last moment of a sample after one at this moment that lies no more than so far behind it, and a whole number
    /// of steps.
    #[must_use]
    pub fn leap(&self, at: Micros, within: Micros) -> Micros {
        at + (self.to - 1 - at).min(within).max(0) / DENSEST * DENSEST
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_show_both_sides_of_every_jump_and_lie_close() {
        let signal = |volts: f64| Signal { voltage: [volts; 3], frequency: 50.0, available: 5000.0, own_use: 0.0 };
        let stretch = |from: Micros, to: Micros, begins: f64, ends: f64| Stretch {
            from,
            to,
            begins: signal(begins),
            ends: signal(ends),
            says: None,
            links: Vec::new(),
        };
        let course = Course { stretches: vec![stretch(0, 1_000_000, 230.0, 230.0), stretch(1_000_000, 3_000_000, 175.0, 195.0)] };
        let samples: Vec<(Micros, f64)> = course.samples().map(|(at, signal)| (at, signal.voltage[0])).collect();
        assert!(samples.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[1].0 - pair[0].0 <= DENSEST), "{samples:?}");
        assert!(samples.contains(&(999_999, 230.0)) && samples.contains(&(1_000_000, 175.0)));
        assert_eq!(samples.iter().find(|(at, _)| *at == 2_000_000).unwrap().1, 185.0);
        assert_eq!(*samples.last().unwrap(), (3_000_000, 195.0));
    }
}
