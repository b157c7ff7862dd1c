//! From a scenario's file to a course: every level and time counted from what is required.

use super::{Course, Signal, Stretch};
use crate::timeline::{Micros, micros};
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{LevelOf, Measure, ScenarioFile, Step};
use settings_model::finding::Finding;
use settings_model::located::At;
use settings_model::notation::{CountedFrom, Level};
use settings_model::quantity::Dimension;
use settings_model::source::Place;

/// What levels and times are counted from.
pub trait Grounds {
    /// Facts of the site and the device: nominal voltage, rated active power.
    fn facts(&self) -> &Facts;
    /// In hertz.
    fn nominal_frequency(&self) -> f64;
    /// What is required of a setting, in base units; of a range, its middle is nobody's, so `None`.
    fn required(&self, setting: SettingId) -> Option<f64>;
    /// How long the device stays on at least before a stage may trip, and by when that has to have tripped.
    fn times(&self, stage: SettingId) -> Option<[Option<Micros>; 2]>;
}

/// The longest course: a day. Where anything can happen, it is played at every cycle of the network.
const LONGEST: Micros = 24 * 3_600_000_000;

/// What a scenario comes to for a device.
///
/// # Errors
/// Every level that is counted from what nobody requires, and every time that is not above zero.
pub fn course(file: &ScenarioFile, grounds: &dyn Grounds) -> Result<Course, Vec<Finding>> {
    let mut making = Making { grounds, findings: Vec::new(), now: 0, course: Course::default(), is_too_long: false };
    let mut signal = making.begin(file);
    making.steps(&file.then, &mut signal);
    if making.is_too_long {
        let place = file.then.first().map_or(Place::NOWHERE, |step| step.place);
        making.findings.push(Finding::unusable("too-long", place, "it lasts longer than a day").hint("shorten it: a lesson shows hours"));
    }
    // what is repeated is at fault once
    making.findings.sort_by_key(|finding| finding.place);
    making.findings.dedup_by_key(|finding| finding.place);
    if making.findings.is_empty() { Ok(making.course) } else { Err(making.findings) }
}

struct Making<'g> {
    grounds: &'g dyn Grounds,
    findings: Vec<Finding>,
    now: Micros,
    course: Course,
    is_too_long: bool,
}

impl Making<'_> {
    fn begin(&mut self, file: &ScenarioFile) -> Signal {
        let facts = self.grounds.facts();
        let nominal = facts.number(FactId::NominalVoltage).map_or(f64::NAN, Exact::approximate);
        let rated = facts.number(FactId::RatedPower).map_or(f64::NAN, Exact::approximate);
        let begin = &file.begin;
        Signal {
            voltage: [begin.voltage.as_ref().map_or(nominal, |level| self.number(level)); 3],
            frequency: begin.frequency.as_ref().map_or(self.grounds.nominal_frequency(), |level| self.number(level)),
            available: begin.available.as_ref().map_or(rated, |level| self.number(level)),
            own_use: begin.own_use.as_ref().map_or(0.0, |level| self.number(level)),
        }
    }

    fn steps(&mut self, steps: &[At<Step>], signal: &mut Signal) {
        for step in steps {
            match step.repeat.as_ref() {
                Some(times) => {
                    for _ in 0..times.value {
                        self.steps(&step.then, signal);
                    }
                }
                None => self.step(step, signal),
            }
        }
    }

    fn step(&mut self, step: &Step, signal: &mut Signal) {
        let target = self.target(step, *signal);
        let links: Vec<_> = step.loses.map(|link| (link, true)).into_iter().chain(step.regains.map(|link| (link, false))).collect();
        let over = step.over.as_ref().map(|time| self.time(time));
        let lasts = step.lasts.as_ref().map(|time| self.time(time));
        let moves = over.map(|over| (over, *signal, target));
        let stays = lasts.map(|lasts| (lasts, target, target));
        for (n, (lasts, begins, ends)) in moves.into_iter().chain(stays).enumerate() {
            let (from, to) = (self.now, self.now.saturating_add(lasts));
            if to > LONGEST {
                self.is_too_long = true;
                return;
            }
            let (says, links) = if n == 0 { (step.says.clone(), links.clone()) } else { (None, Vec::new()) };
            self.course.stretches.push(Stretch { from, to, begins, ends, says, links });
            self.now = to;
        }
        *signal = target;
    }

    fn target(&mut self, step: &Step, signal: Signal) -> Signal {
        let all = step.voltage.as_ref().map(|level| self.number(level));
        let each = [&step.voltage_l1, &step.voltage_l2, &step.voltage_l3];
        let mut voltage = signal.voltage.map(|before| all.unwrap_or(before));
        for (phase, level) in voltage.iter_mut().zip(each) {
            if let Some(level) = level {
                *phase = self.number(level);
            }
        }
        Signal {
            voltage,
            frequency: step.frequency.as_ref().map_or(signal.frequency, |level| self.number(level)),
            available: step.available.as_ref().map_or(signal.available, |level| self.number(level)),
            own_use: step.own_use.as_ref().map_or(signal.own_use, |level| self.number(level)),
        }
    }

    /// A time above zero.
    fn time<M: Measure>(&mut self, time: &At<LevelOf<M>>) -> Micros {
        let seconds = self.number(time);
        if seconds <= 0.0 {
            let says = format!("this makes {seconds} s here, and a step takes some time");
            self.findings
                .push(Finding::unusable("no-time", time.place, says).hint("count from a longer time, or write one, such as `30 s`"));
        }
        // beyond a day is told apart; it must not overflow before
        micros(seconds.clamp(0.0, 1e7))
    }

    /// In base units.
    fn number<M: Measure>(&mut self, level: &At<LevelOf<M>>) -> f64 {
        match self.resolved(level.level, M::DIMENSION) {
            Ok(number) => {
                self.findings.extend(beyond_anything(number, M::DIMENSION, level.place));
                number
            }
            Err(says) => {
                let finding = Finding::unusable("not-required", level.place, says);
                let example = M::DIMENSION.example();
                self.findings.push(
                    finding.hint(format!(
                        "play it on a site or a standard that asks for it, or write a level of its own, such as `{example}`"
                    )),
                );
                // what follows is not made, so any number will do
                1.0
            }
        }
    }

    fn resolved(&self, level: Level, dimension: Dimension) -> Result<f64, String> {
        let facts = self.grounds.facts();
        let missing = |fact: FactId| format!("the {} is not known here", fact.row().title);
        let plus = match (level.plus.at(facts), level.plus.of) {
            (Some(plus), _) => plus.approximate(),
            (None, Some(fact)) => return Err(missing(fact)),
            (None, None) => 0.0,
        };
        let from = match level.from {
            CountedFrom::Nothing => 0.0,
            CountedFrom::Nominal if dimension == Dimension::Frequency => self.grounds.nominal_frequency(),
            CountedFrom::Nominal => {
                let fact = FactId::NominalVoltage;
                facts.number(fact).ok_or_else(|| missing(fact))?.approximate()
            }
            CountedFrom::Setting(setting) => {
                self.grounds.required(setting).ok_or_else(|| format!("no single value is required of {} here", setting.title()))?
            }
            CountedFrom::StaysOn(stage) | CountedFrom::OffBy(stage) => {
                let function = stage.function().title;
                let times = self.grounds.times(stage).ok_or_else(|| format!("{function} is not required here"))?;
                let (time, what) = match level.from {
                    CountedFrom::StaysOn(_) => (times[0], "for how long it stays on before"),
                    _ => (times[1], "by when it has to be off after"),
                };
                time.ok_or_else(|| format!("{what} {function} is not known here"))? as f64 / 1e6
            }
        };
        // sums of decimals: binary rounding must not move a time or an edge
        Ok(((from + plus) * 1e9).round() / 1e9)
    }
}

/// What a level comes to that nothing can hold. Power that flows in is negative; times are looked at by themselves.
fn beyond_anything(number: f64, dimension: Dimension, place: Place) -> Option<Finding> {
    let (least, most) = match (dimension, dimension.possible()) {
        (Dimension::Time, _) => return None,
        (Dimension::ActivePower, (_, most)) => (-most, most),
        (_, edges) => edges,
    };
    let show = |number: f64| Exact::parse(&number.to_string()).map_or_else(|_| number.to_string(), |exact| dimension.show(exact));
    let is_beyond = number < least as f64 || number > most as f64;
    is_beyond.then(|| {
        let says = format!("this makes {} here, which nothing can hold", show(number));
        let help = format!("check sign and unit: {} lies within {} to {}", dimension.a_name(), show(least as f64), show(most as f64));
        Finding::unusable("beyond-anything", place, says).hint(help)
    })
}
