//! How far a reading may lie off what was, and who says so. A reading is an interval.

use serde::{Deserialize, Serialize};

/// Who says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Its user.
    Stated,
    /// A publication, for this kind of instrument.
    Published,
    /// Memory of one.
    FromMemory,
    /// Nobody: it is taken to be so (common practice, no source).
    Assumed,
}

/// How far readings may lie off, either way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Accuracy {
    /// Volts.
    pub volts: f64,
    /// Watts.
    pub watts: f64,
    /// Vars: an error of phase is among it (1° is 1.7 % of active power).
    pub vars: f64,
    /// Who says so of voltage.
    pub of_volts: Basis,
    /// And of powers.
    pub of_powers: Basis,
}

impl Accuracy {
    /// Whether nobody states or publishes some of it.
    #[must_use]
    pub fn is_assumed(&self) -> bool {
        [self.of_volts, self.of_powers].iter().any(|basis| matches!(basis, Basis::Assumed | Basis::FromMemory))
    }
}

/// A kind of instrument: shares of nominal voltage and of rated apparent power.
#[derive(Clone, Copy, Debug)]
pub struct Instrument {
    /// Its key on the command line.
    pub key: &'static str,
    /// For people.
    pub title: &'static str,
    /// Where the figures are from.
    pub source: &'static str,
    /// Share of nominal voltage; `None` where the source does not cover it.
    pub volts: Option<f64>,
    /// Share of rated apparent power for active power, and for reactive power.
    pub watts: Option<f64>,
    /// See `watts`.
    pub vars: Option<f64>,
    /// Who says so.
    pub basis: Basis,
}

/// What is taken where nobody states anything (common practice, no source): shares of nominal voltage and of rated
/// apparent power.
pub const DEFAULT: [f64; 3] = [0.01, 0.02, 0.02];

/// The kinds of instrument whose accuracy is known. A meter's class is a share of the reading, here of the rating,
/// which is never less.
pub const INSTRUMENTS: [Instrument; 6] = [
    Instrument {
        key: "ieee-1547-device",
        title: "the device's own readings under IEEE 1547-2018",
        source: "IEEE 1547-2018, table 3, as test scripts for IEEE 1547.1 restate it",
        volts: Some(0.01),
        watts: Some(0.05),
        vars: Some(0.05),
        basis: Basis::Published,
    },
    Instrument {
        key: "power-quality-class-a",
        title: "a power-quality instrument of class A",
        source: "IEC 61000-4-30, from memory",
        volts: Some(0.001),
        watts: None,
        vars: None,
        basis: Basis::FromMemory,
    },
    Instrument {
        key: "power-quality-class-s",
        title: "a power-quality instrument of class S",
        source: "IEC 61000-4-30, from memory",
        volts: Some(0.005),
        watts: None,
        vars: None,
        basis: Basis::FromMemory,
    },
    Instrument {
        key: "energy-meter-class-a",
        title: "an active-energy meter of class A, 5 to 30 °C",
        source: "Directive 2014/32/EU, annex V (MI-003)",
        volts: None,
        watts: Some(0.035),
        vars: None,
        basis: Basis::Published,
    },
    Instrument {
        key: "energy-meter-class-b",
        title: "an active-energy meter of class B, 5 to 30 °C",
        source: "Directive 2014/32/EU, annex V (MI-003)",
        volts: None,
        watts: Some(0.02),
        vars: None,
        basis: Basis::Published,
    },
    Instrument {
        key: "energy-meter-class-c",
        title: "an active-energy meter of class C, 5 to 30 °C",
        source: "Directive 2014/32/EU, annex V (MI-003)",
        volts: None,
        watts: Some(0.01),
        vars: None,
        basis: Basis::Published,
    },
];

/// Shares that somebody stated; `None` of what nobody did.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stated {
    /// Of nominal voltage.
    pub volts: Option<f64>,
    /// Of rated apparent power, active power.
    pub watts: Option<f64>,
    /// Of rated apparent power, reactive power.
    pub vars: Option<f64>,
}

/// The accuracy of readings: what is stated, else what the instrument has, else the default.
#[must_use]
pub fn accuracy(stated: Stated, instrument: Option<&Instrument>, nominal: f64, rated: f64) -> Accuracy {
    let of = |stated: Option<f64>, known: Option<f64>, default: f64| match (stated, known, instrument) {
        (Some(share), ..) => (share, Basis::Stated),
        (None, Some(share), Some(instrument)) => (share, instrument.basis),
        _ => (default, Basis::Assumed),
    };
    let (volts, of_volts) = of(stated.volts, instrument.and_then(|known| known.volts), DEFAULT[0]);
    let (watts, of_watts) = of(stated.watts, instrument.and_then(|known| known.watts), DEFAULT[1]);
    let (vars, of_vars) = of(stated.vars, instrument.and_then(|known| known.vars), DEFAULT[2]);
    // the weaker of the two
    let of_powers = if of_watts == Basis::Assumed { of_watts } else { of_vars };
    Accuracy { volts: volts * nominal, watts: watts * rated, vars: vars * rated, of_volts, of_powers }
}
