//! What a device will do by its settings, in plain numbers: volts line to neutral, hertz, watts, vars.
//!
//! Built once from settings, whoever holds them: a device, or a requirement as if a device held it.

use crate::characteristic::{Circumstances, Response};
use crate::line::Line;
use crate::lock_in::LockIn;
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::Part;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{PercentOf, PowerBase};
use settings_model::value::Value;

/// A device.
#[derive(Clone, Debug)]
pub struct Device {
    /// What it can give at most.
    pub ratings: Ratings,
    /// Whether it can take power from the network to charge.
    pub stores: bool,
    /// Most active power against voltage, in watts: a cap, never a set point.
    pub volt_watt: Option<Line>,
    /// Most charging power against voltage, in watts above zero.
    pub volt_watt_charging: Option<Line>,
    /// What decides its reactive power.
    pub reactive: ReactiveMode,
    /// Where its reactive mode begins and ends to act, if that is not everywhere.
    pub lock_in: Option<LockIn>,
    /// The most that it gives of reactive power, whatever asks for more.
    pub capability: Capability,
    /// Which kind of power is kept at the apparent-power limit.
    pub priority: Priority,
    /// Answer to high frequency.
    pub over_frequency: Option<FrequencyAnswer>,
    /// Answer to low frequency.
    pub under_frequency: Option<FrequencyAnswer>,
    /// Most net export of the whole site, in watts.
    pub export_limit: Option<f64>,
    /// Most apparent power of the device, in volt-amperes.
    pub generation_limit: Option<f64>,
}

impl Device {
    /// A device of so many volt-amperes that gives what is available and answers to nothing.
    #[must_use]
    pub fn bare(apparent: f64) -> Self {
        Self {
            ratings: Ratings { apparent, active: apparent, percent_active: apparent, percent_reactive: apparent },
            stores: false,
            volt_watt: None,
            volt_watt_charging: None,
            reactive: ReactiveMode::Unity,
            lock_in: None,
            capability: Capability { supplying: apparent, absorbing: apparent },
            priority: Priority::Reactive,
            over_frequency: None,
            under_frequency: None,
            export_limit: None,
            generation_limit: None,
        }
    }
}

/// Ratings of a whole device, all phases together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratings {
    /// Apparent power in volt-amperes: what it is limited to, or else its nameplate.
    pub apparent: f64,
    /// Active power in watts: its rated active power, within the apparent power.
    pub active: f64,
    /// What a percentage of active power is of, in watts.
    pub percent_active: f64,
    /// What a percentage of reactive power is of, in vars.
    pub percent_reactive: f64,
}

/// Most reactive power in vars, both above zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capability {
    /// Supplied.
    pub supplying: f64,
    /// Absorbed.
    pub absorbing: f64,
}

/// What decides reactive power. Above zero is supplied (raises the voltage), below is absorbed.
#[derive(Clone, Debug)]
pub enum ReactiveMode {
    /// Nothing: it gives none.
    Unity,
    /// Vars against voltage.
    VoltVar(Line),
    /// So many vars.
    Fixed(f64),
    /// A power factor, and 1 where it supplies, -1 where it absorbs.
    PowerFactor(f64, f64),
    /// A power factor against active power in watts, and its sign as above.
    PowerFactorByPower(Line, f64),
    /// Vars against active power in watts.
    VarByPower(Line),
}

/// Which kind of power is kept where both together would pass the apparent-power limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Priority {
    /// Active power is kept.
    Active,
    /// Reactive power is kept.
    Reactive,
}

/// How a device answers to frequency.
#[derive(Clone, Debug)]
pub struct FrequencyAnswer {
    /// Level in per cent against frequency, as [`Response::points`] spells it.
    pub line: Line,
    /// The frequency at which it starts.
    pub start: f64,
    /// How far past the start the frequency must come back before power moves back; 0 where it is not stated.
    pub hysteresis: f64,
    /// How long it must stay back, in seconds; 0 where it is not stated.
    pub hold: f64,
    /// Of what the fall is taken.
    pub of: FrequencyBase,
}

pub use settings_model::files::FrequencyBase;

/// Why it is not clear what a device will do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unclear {
    /// Nobody knows whether this function acts; it was taken not to.
    State(SettingId),
    /// The function acts, but this setting of it is not known; it was taken not to.
    Setting(SettingId),
    /// Several functions decide reactive power; the first was taken.
    ReactiveModes(Vec<&'static str>),
    /// A rating that is needed is not stated.
    Rating(FactId),
    /// The priority between active and reactive power is not stated; reactive was taken to be kept.
    Priority,
    /// Between where this function begins and ends to act, what came before decides; it was taken not to act.
    LockIn(&'static str),
    /// Of what power the answer to frequency takes its fall is not known; of momentary power was taken.
    FrequencyBase,
    /// The curve of this function falls below zero, and nothing here could draw power; it ends at zero.
    BelowZero(&'static str),
}

/// Builds a device from what it holds.
///
/// Returns what it will do, and what had to be taken for granted. `None` while its apparent power is
/// not known: nothing can be said of it then.
pub fn device<'v>(
    held: &dyn Fn(SettingId) -> Option<&'v Value>,
    circumstances: Circumstances<'_>,
    percent_of: Option<PercentOf>,
) -> (Option<Device>, Vec<Unclear>) {
    let mut reading = Reading { held, circumstances, unclear: Vec::new() };
    let device = reading.ratings(percent_of).map(|ratings| reading.device(ratings, percent_of.and_then(|of| of.frequency_response)));
    (device, reading.unclear)
}

/// Settings on their way into a device.
struct Reading<'r, 'v> {
    held: &'r dyn Fn(SettingId) -> Option<&'v Value>,
    circumstances: Circumstances<'r>,
    unclear: Vec<Unclear>,
}

impl Reading<'_, '_> {
    fn ratings(&mut self, percent_of: Option<PercentOf>) -> Option<Ratings> {
        let facts: &Facts = self.circumstances.facts;
        // a rating below zero is none at all
        let number = |fact| facts.number(fact).map(|number| number.approximate().max(0.0));
        let Some(apparent) = number(FactId::LimitedTo).or(number(FactId::Nameplate)) else {
            self.unclear.push(Unclear::Rating(FactId::Nameplate));
            return None;
        };
        let active = number(FactId::RatedPower).map_or(apparent, |active| active.min(apparent));
        let mut base = |of: Option<PowerBase>| {
            let of = of.unwrap_or(PowerBase::RatedApparentPower);
            number(of.fact()).unwrap_or_else(|| {
                let unclear = Unclear::Rating(of.fact());
                if !self.unclear.contains(&unclear) {
                    self.unclear.push(unclear);
                }
                apparent
            })
        };
        let percent_active = base(percent_of.map(|of| of.active));
        let percent_reactive = base(percent_of.map(|of| of.reactive));
        Some(Ratings { apparent, active, percent_active, percent_reactive })
    }

    fn device(&mut self, ratings: Ratings, frequency_base: Option<FrequencyBase>) -> Device {
        let of_active = ratings.percent_active / 100.0;
        let capability = |key| {
            let percent = self.number("reactive-capability", key);
            percent.map_or(ratings.apparent, |percent| (percent * ratings.percent_reactive / 100.0).max(0.0))
        };
        let capability = Capability { supplying: capability("supplying"), absorbing: capability("absorbing") };
        Device {
            ratings,
            stores: self.circumstances.facts.has_storage(),
            volt_watt: self.cap("volt-watt", of_active, self.circumstances.facts.has_storage()),
            volt_watt_charging: self.cap("volt-watt-charging", of_active, false),
            lock_in: self.lock_in(of_active),
            reactive: self.reactive(ratings),
            capability,
            priority: self.priority(),
            over_frequency: self.frequency("over-frequency-response", frequency_base),
            under_frequency: self.frequency("under-frequency-response", frequency_base),
            export_limit: if self.acts("export-limit") { self.export_limit() } else { None },
            generation_limit: if self.acts("generation-limit") { self.generation_limit() } else { None },
        }
    }

    fn value(&self, function: &str, key: &str) -> Option<&Value> {
        (self.held)(SettingId::find(function, key)?)
    }

    fn number(&self, function: &str, key: &str) -> Option<f64> {
        let amount = self.value(function, key)?.part(Part::Whole)?;
        amount.at(self.circumstances.facts).map(settings_model::exact::Exact::approximate)
    }

    /// A number without which an acting function does nothing that can be told.
    fn needed(&mut self, function: &str, key: &str) -> Option<f64> {
        let number = self.number(function, key);
        if number.is_none() {
            self.unclear.extend(SettingId::find(function, key).map(Unclear::Setting));
        }
        number
    }

    /// The most apparent power; a limit below zero leaves nothing.
    fn generation_limit(&mut self) -> Option<f64> {
        self.needed("generation-limit", "soft").map(|limit| limit.max(0.0))
    }

    /// Net export of the whole site, whichever way the limit is entered.
    fn export_limit(&mut self) -> Option<f64> {
        let phases = self.circumstances.facts.number(FactId::Phases).map_or(1.0, settings_model::exact::Exact::approximate);
        // on a device that counts each phase, the number entered is allowed on every one
        let each_phase = self.value("export-limit", "counts") == Some(&Value::Word(1));
        let per_phase = self.number("export-limit", "per-phase").map(|limit| limit * phases);
        let total = match per_phase {
            None => self.needed("export-limit", "site-total"),
            Some(_) => self.number("export-limit", "site-total"),
        };
        let total = total.map(|limit| if each_phase { limit * phases } else { limit });
        total.into_iter().chain(per_phase).reduce(f64::min)
    }

    /// Whether a function acts.
    fn acts(&mut self, function: &str) -> bool {
        match self.value(function, "state") {
            Some(value) => *value == Value::Word(ENABLED),
            None => {
                self.unclear.extend(SettingId::find(function, "state").map(Unclear::State));
                false
            }
        }
    }

    /// The line of a function that acts, its levels times `scale`.
    fn line(&mut self, function: &str, scale: f64) -> Option<Line> {
        if !self.acts(function) {
            return None;
        }
        let response = Response::named(function)?;
        let points = response.points(self.held, self.circumstances);
        let line = points.as_ref().and_then(|points| Line::of(points, scale));
        if line.is_none() {
            self.unclear.extend(response.setting("points").or(response.setting("start")).map(Unclear::Setting));
        }
        line
    }

    /// The line of a function that caps power; where that may not fall below zero, it is told.
    fn cap(&mut self, function: &'static str, scale: f64, may_fall_below: bool) -> Option<Line> {
        let line = self.line(function, scale)?;
        if !may_fall_below && line.points().iter().any(|[_, level]| *level < 0.0) {
            self.unclear.push(Unclear::BelowZero(function));
        }
        Some(line)
    }

    /// Which way a power factor or a fixed amount leans: 1 supplies, -1 absorbs.
    fn direction(&mut self, function: &str) -> Option<f64> {
        match self.value(function, "direction") {
            Some(Value::Word(0)) => Some(-1.0),
            Some(Value::Word(_)) => Some(1.0),
            _ => {
                self.unclear.extend(SettingId::find(function, "direction").map(Unclear::Setting));
                None
            }
        }
    }

    fn reactive(&mut self, ratings: Ratings) -> ReactiveMode {
        const MODES: [&str; 5] = ["volt-var", "fixed-power-factor", "fixed-reactive-power", "power-dependent-power-factor", "watt-var"];
        let acting: Vec<&'static str> = MODES.into_iter().filter(|mode| self.acts(mode)).collect();
        let mode = acting.first().copied();
        if acting.len() > 1 {
            self.unclear.push(Unclear::ReactiveModes(acting));
        }
        mode.and_then(|mode| self.mode(mode, ratings)).unwrap_or(ReactiveMode::Unity)
    }

    /// Where the mode that acts begins and ends to act. A function that says only where it begins ends there.
    fn lock_in(&mut self, of_active: f64) -> Option<LockIn> {
        let acts = |mode: &&&str| self.value(mode, "state") == Some(&Value::Word(ENABLED));
        let mode = *["volt-var", "power-dependent-power-factor"].iter().find(acts)?;
        let number = |key| self.number(mode, key);
        let everywhere = f64::NEG_INFINITY;
        let (voltage, power) = (number("lock-in-voltage"), number("lock-in-power").map(|percent| percent * of_active));
        let power_out = number("lock-out-power").map(|percent| percent * of_active);
        let lock_in = LockIn {
            voltage: voltage.unwrap_or(everywhere),
            voltage_out: number("lock-out-voltage").or(voltage).unwrap_or(everywhere),
            power: power.unwrap_or(everywhere),
            power_out: power_out.unwrap_or(everywhere),
        };
        (voltage.is_some() || power.is_some()).then(|| {
            self.unclear.push(Unclear::LockIn(mode));
            lock_in
        })
    }

    fn mode(&mut self, mode: &str, ratings: Ratings) -> Option<ReactiveMode> {
        let of_reactive = ratings.percent_reactive / 100.0;
        match mode {
            "volt-var" => self.line(mode, of_reactive).map(ReactiveMode::VoltVar),
            "fixed-power-factor" => {
                let factor = self.needed(mode, "power-factor")?;
                // unity leans nowhere
                let sign = if factor == 1.0 { 1.0 } else { self.direction(mode)? };
                Some(ReactiveMode::PowerFactor(factor, sign))
            }
            "fixed-reactive-power" => Some(ReactiveMode::Fixed(self.needed(mode, "amount")? * of_reactive * self.direction(mode)?)),
            "power-dependent-power-factor" => {
                let line = self.line(mode, 1.0)?.stretched(ratings.percent_active / 100.0);
                Some(ReactiveMode::PowerFactorByPower(line, self.direction(mode)?))
            }
            _ => Some(ReactiveMode::VarByPower(self.line(mode, of_reactive)?.stretched(ratings.percent_active / 100.0))),
        }
    }

    fn priority(&mut self) -> Priority {
        match self.value("power-priority", "first") {
            Some(Value::Word(0)) => Priority::Active,
            Some(_) => Priority::Reactive,
            None => {
                self.unclear.push(Unclear::Priority);
                Priority::Reactive
            }
        }
    }

    fn frequency(&mut self, function: &str, of: Option<FrequencyBase>) -> Option<FrequencyAnswer> {
        let line = self.line(function, 1.0)?;
        let of = of.unwrap_or_else(|| {
            self.unclear.push(Unclear::FrequencyBase);
            FrequencyBase::Momentary
        });
        let ends = [line.points().first()?[0], line.points().last()?[0]];
        let start = if function == "over-frequency-response" { ends[0] } else { ends[1] };
        let number = |key| self.number(function, key).unwrap_or(0.0);
        Some(FrequencyAnswer { start, hysteresis: number("hysteresis"), hold: number("hold-time"), of, line })
    }
}
