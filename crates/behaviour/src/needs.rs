//! What would show a function that a log does not show: worked out by the same bands that judge it.

use crate::band::{Errors, Judge};
use crate::counters::{Millis, RuleDay};
use crate::function::{Answers, To};
use crate::reading::{Moment, Reading, Stretch};
use crate::thresholds::{LEAST_SPREAD, REACTIVE_FROM, Thresholds};

/// What a log lacks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lacks {
    /// Most of its rows are no measurement.
    SoundRows,
    /// A log of this device: power is far beyond its nameplate for so long, in milliseconds.
    ThisDevice(Millis),
    /// A column of what it answers with, or to, by its heading.
    Column(&'static str),
    /// A supply beyond a stage for longer than its time.
    Trip,
    /// A trip or a loss of supply and the return after it, in steps below this, in seconds.
    Return(f64),
    /// A frequency above this, in hertz, with more power available than the answer leaves; what the log reached.
    Hertz(f64, f64),
    /// A column of what could have been given, beside voltages beyond this one.
    Available {
        /// Volts.
        beyond: f64,
        /// Whether above it.
        is_above: bool,
    },
    /// Vars of the device by itself: at the point of supply they are those of the site.
    OwnReactivePower,
    /// Which way it counts vars: either the device's are reversed, or the log's are.
    CountingOfVars,
    /// Voltages as far as this one, for so long.
    Volts {
        /// Volts.
        reach: f64,
        /// Whether above.
        is_above: bool,
        /// How long, in milliseconds.
        lasting: Millis,
        /// With so many watts at least.
        watts: f64,
    },
    /// Powers as far as this one, for so long.
    Watts {
        /// Watts.
        reach: f64,
        /// How long, in milliseconds.
        lasting: Millis,
    },
    /// More of the same: so much was informative, in milliseconds, and so much is needed, in three blocks and on two days
    /// of a long log.
    Time {
        /// So much was.
        seen: Millis,
        /// So much is needed.
        lasting: Millis,
    },
    /// Power at the limit while the device could give more: so long was, and so long is needed, in milliseconds.
    AtLimit {
        /// So long was.
        seen: Millis,
        /// So long is needed.
        lasting: Millis,
    },
    /// A longer log: so much of it lies outside, in milliseconds, too little to depart and too much to behave.
    Clearer(Millis),
    /// A meter that is more exact: with this one nothing that the device may do shows it.
    Accuracy,
    /// Nothing: the device does the same without the function.
    NothingDiffers,
    /// Nothing of a moment: it acts or not by what came before.
    Memory,
    /// The limit is not below what the device can give.
    LimitBelowRating,
}

/// How far beyond the points of a curve voltages are looked at, in volts.
const BEYOND: f64 = 10.0;

/// What is lacking.
pub(crate) fn needs(judge: &Judge<'_>, seen: &RuleDay, asked: Thresholds, has_available: bool) -> Lacks {
    let rule = &judge.rule;
    if rule.may_rest {
        return Lacks::Memory;
    }
    let informative = seen.constant.iter().map(|tally| tally.informative).max().unwrap_or(0);
    // of the errors that excuse the most
    let nearest = seen.constant.iter().min_by_key(|tally| tally.outside());
    let (outside, told) = nearest.map_or((0, 0), |tally| (tally.outside(), tally.informative));
    match (rule.answers, rule.to) {
        _ if told >= asked.informative && outside > 0 => Lacks::Clearer(outside),
        (Answers::Vars, _) if rule.curve.extremes() == [0.0; 2] => Lacks::NothingDiffers,
        (Answers::Vars, To::Volts) => by_volts(judge, seen, asked, informative),
        (Answers::Vars, To::Watts | To::Nothing) => by_watts(judge, asked, informative),
        (Answers::Watts | Answers::Charging, _) => cap(judge, seen, asked, has_available, informative),
        (Answers::Apparent | Answers::Export, _) if !judge.limits() => Lacks::LimitBelowRating,
        (Answers::Export, _) if seen.usable == 0 => Lacks::Column("net export [kW]"),
        (Answers::Apparent | Answers::Export, _) => Lacks::AtLimit { seen: informative.max(seen.at_limit), lasting: asked.informative },
    }
}

fn by_volts(judge: &Judge<'_>, seen: &RuleDay, asked: Thresholds, informative: Millis) -> Lacks {
    let watts = REACTIVE_FROM * judge.rated();
    let Some((reach, is_above)) = judge.reach(|judge, volts| judge.would_show(volts, 2.0 * watts, f64::NAN)) else {
        return Lacks::Accuracy;
    };
    if has_reached(seen, reach, is_above) {
        return Lacks::Time { seen: informative, lasting: asked.informative };
    }
    Lacks::Volts { reach, is_above, lasting: asked.informative, watts }
}

/// Whether the log was at a voltage.
fn has_reached(seen: &RuleDay, volts: f64, is_above: bool) -> bool {
    let reached = seen.reached.map(|range| range.map(|volts| volts as f64 / 1e3));
    reached.is_some_and(|[low, high]| if is_above { high >= volts } else { low <= volts })
}

fn by_watts(judge: &Judge<'_>, asked: Thresholds, informative: Millis) -> Lacks {
    if informative >= asked.informative {
        return Lacks::Time { seen: informative, lasting: asked.informative };
    }
    let rated = judge.rated();
    let first =
        (25..=100).map(|percent| f64::from(percent) / 100.0 * rated).find(|watts| judge.would_show(judge.nominal(), *watts, f64::NAN));
    first.map_or(Lacks::Accuracy, |reach| Lacks::Watts { reach, lasting: asked.informative })
}

fn cap(judge: &Judge<'_>, seen: &RuleDay, asked: Thresholds, has_available: bool, informative: Millis) -> Lacks {
    let rated = judge.rated();
    let sign = if judge.rule.answers == Answers::Charging { -1.0 } else { 1.0 };
    let shows = |judge: &Judge<'_>, volts: f64| judge.would_show(volts, sign * 0.5 * rated, sign * 1.2 * rated);
    let Some((beyond, is_above)) = judge.reach(shows) else { return Lacks::Accuracy };
    if !has_available {
        return Lacks::Available { beyond, is_above };
    }
    if has_reached(seen, beyond, is_above) {
        return Lacks::Time { seen: informative, lasting: asked.informative };
    }
    Lacks::Volts { reach: beyond, is_above, lasting: asked.informative, watts: rated }
}

impl Judge<'_> {
    /// The nearest voltage, upwards first, from which on enough of what is asked is shown; whether it lies above.
    fn reach(&self, shows: impl Fn(&Self, f64) -> bool) -> Option<(f64, bool)> {
        let (first, last) = (self.rule.curve.points().first()?[0] - BEYOND, self.rule.curve.points().last()?[0] + BEYOND);
        let nominal = self.nominal();
        let enough = |from: f64, volts: f64| (self.rule.curve.at(volts) - self.rule.curve.at(from)).abs() >= self.span() * self.rated();
        let along = |step: f64| {
            let places = (0..2_000).map(move |n| nominal + step * f64::from(n));
            let mut places = places.take_while(|volts| if step > 0.0 { *volts <= last } else { *volts >= first });
            let mut from = None;
            places.find(|volts| {
                if !shows(self, *volts) {
                    return false;
                }
                enough(*from.get_or_insert(*volts), *volts)
            })
        };
        along(0.1).map(|volts| (volts, true)).or_else(|| along(-0.1).map(|volts| (volts, false)))
    }

    /// Whether a row at a voltage and a power would show a device without the function, whatever the errors.
    fn would_show(&self, volts: f64, watts: f64, available: f64) -> bool {
        let moment = Moment::steady(volts, watts, available);
        let steady = |value: f64, spread: f64| Stretch { low: value, high: value, spread, swing: [value; 2] };
        let spread = if self.are_means() { LEAST_SPREAD } else { 0.0 };
        let reading = Reading {
            moment,
            lasted: 1,
            day: 0,
            volts: [steady(volts, spread); 3],
            watts: steady(watts, 0.0),
            is_on: true,
            is_loaded: true,
            off_for: 0.0,
        };
        self.grid.all.iter().all(|of| self.stands(&reading, Errors::Constant(of)).is_informative)
    }
}
