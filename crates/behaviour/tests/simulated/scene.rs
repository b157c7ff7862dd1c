//! A device on a supply, and where and how a meter beside it reads.

use super::Like;
use super::chance::Chance;
use super::course::{Course, There};
use super::device::{Acting, Fault, Set};
use super::meter::{Mean, Meter};
use behaviour::band::Margins;
use behaviour::hypotheses::{Counts, Follows, Place};
use logs::Row;

pub struct Scene {
    pub set: Set,
    course: Course,
    pub phases: usize,
    /// How far each phase lies beside their mean, in volts.
    apart: [f64; 3],
    follows: Follows,
    pub place: Place,
    /// How far the terminals lie above the meter at rated watts, and at rated vars supplied, in volts.
    between: [f64; 2],
    pub counts: Counts,
    is_plain: bool,
}

impl Scene {
    /// One phase, read at the terminals, with vars supplied above zero.
    pub fn plain(chance: &mut Chance, set: Set) -> Self {
        let course = Course::draw(chance, set.volts);
        let (place, counts, follows) = (Place::Terminals, Counts::Supplies, Follows::Mean);
        Self { set, course, phases: 1, apart: [0.0; 3], follows, place, between: [0.0; 2], counts, is_plain: true }
    }

    /// Any.
    pub fn any(chance: &mut Chance, set: Set) -> Self {
        let phases = *chance.one_of(&[1, 1, 3]);
        let place = *chance.one_of(&[Place::Terminals, Place::Terminals, Place::Between, Place::NotStated, Place::Supply]);
        let resistive = if place == Place::Terminals { 0.0 } else { set.nominal * chance.between(0.0, 0.02) };
        let reactive = resistive * chance.between(0.0, 0.4);
        let apart = if phases == 1 { [0.0; 3] } else { [0.0; 3].map(|_: f64| chance.between(-0.015, 0.015) * set.nominal) };
        let follows = if phases == 1 { Follows::Mean } else { *chance.one_of(&[Follows::Mean, Follows::Highest, Follows::Lowest]) };
        let counts = *chance.one_of(&[Counts::Supplies, Counts::Supplies, Counts::Supplies, Counts::NotStated]);
        let course = Course::draw(chance, set.volts);
        Self { set, course, phases, apart, follows, place, between: [resistive, reactive], counts, is_plain: false }
    }

    pub fn told(&self) -> String {
        let Self { set, phases, follows, place, counts, .. } = self;
        format!(
            "{}, {}, {phases} phases, {follows:?}, {place:?}, {counts:?}, response {:.0} s",
            set.told,
            self.course.told(),
            set.response_time
        )
    }

    /// The log of a meter whose readings lie within its limits, of a device whose answers lie within tolerance.
    pub fn log(mut self, chance: &mut Chance, like: Like, fault: Fault, margins: &Margins) -> Vec<Row> {
        let rated = self.set.device.ratings.apparent;
        let (accuracy, resolution) = (&margins.accuracy, margins.resolution);
        let meter =
            if self.is_plain { Meter::steady(chance, accuracy, resolution) } else { Meter::any(chance, accuracy, resolution, rated) };
        let mut acts = Acting::draw(chance, margins.tolerance, self.set.response_time, fault, self.is_plain);
        let inner = if like.step < 60 { 1 } else { 10 };
        let (from, to) = if like.step < 60 { (10 * 3600, 13 * 3600) } else { (0, like.days * 86_400) };
        let (mut rows, mut sum, mut powers) = (Vec::new(), Mean::default(), [0.0; 2]);
        for at in (from..to).step_by(inner) {
            let there = self.course.next(at as f64, inner as f64, chance);
            let volts = self.terminals(&there, powers, rated);
            powers = acts.next(&self.set, self.followed(volts), &there, at as f64, inner as f64, chance);
            let moment = self.at_meter(volts, powers, &there, rated);
            // a log of moments holds the last
            sum = if like.step < 60 { moment } else { added(sum, moment) };
            let end = at + inner as i64;
            if (end - from) % like.step == 0 {
                let count = if like.step < 60 { 1.0 } else { (like.step / inner as i64) as f64 };
                let read = meter.reads(scaled(sum, 1.0 / count), at as f64, chance);
                let stamped = if like.step < 60 { at } else { end - like.step };
                rows.push(self.row(stamped * 1_000_000, read, like.has_available));
                sum = Mean::default();
            }
        }
        with_gaps(rows, chance)
    }

    /// Volts of each phase.
    fn terminals(&self, there: &There, [watts, vars]: [f64; 2], rated: f64) -> [f64; 3] {
        let rise = self.course.rise();
        let lifted = there.volts + rise * watts / rated - 0.3 * rise * (-vars).max(0.0) / rated;
        self.apart.map(|apart| lifted + apart)
    }

    fn followed(&self, volts: [f64; 3]) -> f64 {
        match self.follows {
            Follows::Mean => volts.iter().sum::<f64>() / 3.0,
            Follows::Highest => volts.into_iter().fold(f64::NEG_INFINITY, f64::max),
            Follows::Lowest => volts.into_iter().fold(f64::INFINITY, f64::min),
        }
    }

    fn at_meter(&self, volts: [f64; 3], [watts, vars]: [f64; 2], there: &There, rated: f64) -> Mean {
        let below = (self.between[0] * watts + self.between[1] * vars) / rated;
        let load = there.load * rated;
        let export = watts - load;
        // at the point of supply powers are those of the whole site
        let (seen, seen_vars) = if self.place == Place::Supply { (export, vars - 0.3 * load) } else { (watts, vars) };
        Mean { volts: volts.map(|volts| volts - below), watts: seen, vars: seen_vars, available: there.sun * rated, export }
    }

    fn row(&self, at: i64, read: Mean, has_available: bool) -> Row {
        let none = f64::NAN;
        let of = |phase: usize| if phase < self.phases { read.volts[phase] } else { none };
        let available = if has_available { read.available } else { none };
        Row { at, values: [of(0), of(1), of(2), none, read.watts, read.vars, available, read.export] }
    }
}

/// The same rows, with vars counted the other way round.
pub fn turned(mut rows: Vec<Row>) -> Vec<Row> {
    rows.iter_mut().for_each(|row| row.values[5] = -row.values[5]);
    rows
}

fn combined(one: Mean, other: Mean, by: impl Fn(f64, f64) -> f64) -> Mean {
    Mean {
        volts: [0, 1, 2].map(|n| by(one.volts[n], other.volts[n])),
        watts: by(one.watts, other.watts),
        vars: by(one.vars, other.vars),
        available: by(one.available, other.available),
        export: by(one.export, other.export),
    }
}

fn added(one: Mean, other: Mean) -> Mean {
    combined(one, other, |one, other| one + other)
}

fn scaled(mean: Mean, by: f64) -> Mean {
    combined(mean, mean, |one, _| one * by)
}

/// Some rows are missing, as in any log.
fn with_gaps(rows: Vec<Row>, chance: &mut Chance) -> Vec<Row> {
    let often = *chance.one_of(&[0.0, 0.002, 0.02]);
    rows.into_iter().filter(|_| chance.share() >= often).collect()
}
