//! The functions that a log may show, and what each does with what is measured.

use crate::curve::Curve;
use response::device::{Device, Priority, ReactiveMode};
use serde::{Deserialize, Serialize};

/// A function of a device, by its key among the settings; trips and their like by their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Function {
    /// Reactive power by voltage.
    VoltVar,
    /// A power factor.
    FixedPowerFactor,
    /// So many vars.
    FixedReactivePower,
    /// A power factor by active power.
    PowerDependentPowerFactor,
    /// Vars by active power.
    WattVar,
    /// A cap on active power by voltage.
    VoltWatt,
    /// A cap on charging by voltage.
    VoltWattCharging,
    /// Most apparent power of the device.
    GenerationLimit,
    /// Most net export of the site.
    ExportLimit,
    /// The answer to high frequency.
    OverFrequencyResponse,
    /// The answer to low frequency.
    UnderFrequencyResponse,
    /// Leaving when a stage's time is over.
    Trips,
    /// The wait before it connects again, and how fast power comes back.
    Reconnection,
}

impl Function {
    /// All, in the order in which they are told.
    pub const ALL: [Self; 13] = [
        Self::VoltVar,
        Self::FixedPowerFactor,
        Self::FixedReactivePower,
        Self::PowerDependentPowerFactor,
        Self::WattVar,
        Self::VoltWatt,
        Self::VoltWattCharging,
        Self::GenerationLimit,
        Self::ExportLimit,
        Self::OverFrequencyResponse,
        Self::UnderFrequencyResponse,
        Self::Trips,
        Self::Reconnection,
    ];

    /// Its key.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::VoltVar => "volt-var",
            Self::FixedPowerFactor => "fixed-power-factor",
            Self::FixedReactivePower => "fixed-reactive-power",
            Self::PowerDependentPowerFactor => "power-dependent-power-factor",
            Self::WattVar => "watt-var",
            Self::VoltWatt => "volt-watt",
            Self::VoltWattCharging => "volt-watt-charging",
            Self::GenerationLimit => "generation-limit",
            Self::ExportLimit => "export-limit",
            Self::OverFrequencyResponse => "over-frequency-response",
            Self::UnderFrequencyResponse => "under-frequency-response",
            Self::Trips => "trips",
            Self::Reconnection => "reconnection",
        }
    }

    /// The function of a key.
    #[must_use]
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|function| function.key() == key)
    }

    /// Whether it decides reactive power.
    #[must_use]
    pub fn is_reactive(self) -> bool {
        self <= Self::WattVar
    }
}

/// What is measured that a function answers with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answers {
    /// Vars, within a band on both sides.
    Vars,
    /// Watts given, below a cap.
    Watts,
    /// Watts taken to charge, below a cap.
    Charging,
    /// Volt-amperes, below a cap.
    Apparent,
    /// Watts that leave the site, below a cap.
    Export,
}

impl Answers {
    /// Whether only what lies above is outside.
    #[must_use]
    pub fn is_cap(self) -> bool {
        self != Self::Vars
    }
}

/// What a function answers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum To {
    /// Volts at the terminals.
    Volts,
    /// Watts given.
    Watts,
    /// Nothing: it asks the same everywhere.
    Nothing,
}

/// A function as a device acts it.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Which.
    pub function: Function,
    /// What is measured of it.
    pub answers: Answers,
    /// What it answers to.
    pub to: To,
    /// In vars, watts or volt-amperes.
    pub curve: Curve,
    /// What apparent power is limited to where active power is kept first, so that vars may fall short.
    pub yields_to: Option<f64>,
    /// Whether nobody can say from a moment alone whether it acts (it locks in).
    pub may_rest: bool,
}

impl Rule {
    /// Whether two act alike: nothing that is measured could tell one from the other.
    #[must_use]
    pub fn acts_like(&self, other: &Self) -> bool {
        self.function == other.function && self.curve == other.curve && self.may_rest == other.may_rest
    }
}

/// What a device is known to act by, function by function. What is off, or not known, is not among them.
#[must_use]
pub fn rules(device: &Device) -> Vec<Rule> {
    let mut rules: Vec<Rule> = reactive(device).into_iter().collect();
    let cap = |function, answers, curve| Rule { function, answers, to: To::Volts, curve, yields_to: None, may_rest: false };
    let limit = |function, answers, most| Rule { to: To::Nothing, ..cap(function, answers, Curve::flat(most)) };
    // a device without storage gives nothing where a cap lies below zero
    let floor = if device.stores { f64::NEG_INFINITY } else { 0.0 };
    let curve = |line| Curve::of(line).within(floor, f64::INFINITY);
    rules.extend(device.volt_watt.as_ref().map(|line| cap(Function::VoltWatt, Answers::Watts, curve(line))));
    let charging = device.volt_watt_charging.as_ref().filter(|_| device.stores);
    rules.extend(charging.map(|line| cap(Function::VoltWattCharging, Answers::Charging, Curve::of(line).within(0.0, f64::INFINITY))));
    rules.extend(device.generation_limit.map(|most| limit(Function::GenerationLimit, Answers::Apparent, most)));
    rules.extend(device.export_limit.map(|most| limit(Function::ExportLimit, Answers::Export, most)));
    rules
}

/// How many places stand for what is no straight line between two powers.
const PLACES: usize = 200;

fn reactive(device: &Device) -> Option<Rule> {
    let rated = device.ratings.active;
    let capable = |curve: Curve| curve.within(-device.capability.absorbing, device.capability.supplying);
    let both = |at: &dyn Fn(f64) -> f64| {
        let places = (0..=PLACES).map(|n| rated * (2.0 * n as f64 / PLACES as f64 - 1.0));
        Curve::new(places.map(|watts| [watts, at(watts)]).collect())
    };
    // beside active power, as a device gives it where nothing keeps it from acting
    let acting = Device { lock_in: None, ..device.clone() };
    let beside = |watts: f64| acting.with_reactive((watts, response::operating_point::Cap::Available), f64::NAN).reactive_asked;
    let (function, to, curve) = match &device.reactive {
        ReactiveMode::Unity => return None,
        ReactiveMode::VoltVar(line) => (Function::VoltVar, To::Volts, Curve::of(line)),
        ReactiveMode::Fixed(vars) => (Function::FixedReactivePower, To::Watts, Curve::flat(*vars)),
        ReactiveMode::PowerFactor(..) => {
            let most = beside(rated);
            (Function::FixedPowerFactor, To::Watts, Curve::new(vec![[-rated, most], [0.0, 0.0], [rated, most]]))
        }
        ReactiveMode::PowerFactorByPower(..) => (Function::PowerDependentPowerFactor, To::Watts, both(&beside)),
        ReactiveMode::VarByPower(line) => (Function::WattVar, To::Watts, Curve::of(line)),
    };
    let most = device.ratings.apparent.min(device.generation_limit.unwrap_or(f64::INFINITY));
    let yields_to = (device.priority == Priority::Active).then_some(most);
    Some(Rule { function, answers: Answers::Vars, to, curve: capable(curve), yields_to, may_rest: device.lock_in.is_some() })
}
