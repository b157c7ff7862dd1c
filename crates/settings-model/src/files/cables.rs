//! The cables of a site, from the point of supply inwards.

use super::pieces::{Area, ImpedancePerLength, Length, Quantity, Resistance, Text, VoltageDrop};
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, de};

/// A length of cable. Its impedance is stated in one of four ways; without any it is not known.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Cable<'a> {
    /// Which part of the way it is.
    pub part: CablePart,
    /// The cable that it is fed through, by its name; without it, it begins at the point of supply.
    #[serde(borrow)]
    pub behind: Option<Text<'a>>,
    /// How many phases it has: 1 or 3; without it, as many as the supply.
    #[serde(default, deserialize_with = "one_or_three")]
    #[schemars(range(min = 1, max = 3))]
    pub phases: Option<u8>,
    /// Length of the route, one way.
    pub length: Option<Quantity<Length>>,
    /// Size and material, for the figures that the program carries.
    pub conductor: Option<Conductor>,
    /// A table's figure for it.
    pub voltage_drop: Option<DropFigure>,
    /// Impedance of one conductor for each kilometre.
    pub per_length: Option<PerLength>,
    /// Impedance of one conductor over the whole length.
    pub impedance: Option<WholeImpedance>,
    /// The devices at its end, by their names.
    #[serde(borrow, default)]
    pub feeds: Vec<Text<'a>>,
}

/// The keys of a cable that state its impedance, of which one is enough.
pub const WAYS: [&str; 4] = ["conductor", "voltage-drop", "per-length", "impedance"];

fn one_or_three<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<u8>, D::Error> {
    match Option::<u8>::deserialize(deserializer)? {
        phases @ (None | Some(1 | 3)) => Ok(phases),
        Some(_) => Err(de::Error::custom("a cable has 1 or 3 phases")),
    }
}

/// Which part of the way from the network to an inverter a cable is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CablePart {
    /// The network's own line up to the point of supply: it raises the voltage and counts towards no limit.
    Network,
    /// From the network's line to the consumer mains.
    Service,
    /// To the main switchboard.
    ConsumerMains,
    /// From one switchboard to another.
    SubMains,
    /// From a switchboard to an inverter.
    InverterCircuit,
}

impl CablePart {
    /// For people.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Network => "network's own line",
            Self::Service => "service",
            Self::ConsumerMains => "consumer mains",
            Self::SubMains => "sub-mains",
            Self::InverterCircuit => "inverter circuit",
        }
    }
}

/// A conductor of a standard size.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Conductor {
    /// Cross-section.
    pub size: Quantity<Area>,
    /// Material.
    pub material: Material,
}

/// What a conductor is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
}

impl Material {
    /// The word in files and in print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Aluminium => "aluminium",
        }
    }
}

/// A table's voltage drop, by ampere and metre of route: one of the two.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(extend("minProperties" = 1))]
pub struct DropFigure {
    /// From line to line, of three phases.
    pub three_phase: Option<Quantity<VoltageDrop>>,
    /// From line to neutral, out and back.
    pub single_phase: Option<Quantity<VoltageDrop>>,
}

/// Impedance of one conductor by length.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PerLength {
    /// At the temperature that it runs at.
    pub resistance: Quantity<ImpedancePerLength>,
    /// At the network's frequency.
    pub reactance: Option<Quantity<ImpedancePerLength>>,
}

/// Impedance of one conductor.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct WholeImpedance {
    /// At the temperature that it runs at.
    pub resistance: Quantity<Resistance>,
    /// At the network's frequency.
    pub reactance: Option<Quantity<Resistance>>,
}
