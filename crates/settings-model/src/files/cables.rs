//! The cables of a site, from the point of supply inwards.

use super::pieces::{Area, ImpedancePerLength, Length, Named, Quantity, Resistance, Text, VoltageDrop};
use crate::exact::Exact;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, de};

/// A length of cable. Its impedance is stated in one of four ways; without any it is not known.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Cable<'a> {
    /// Which part of the way it is.
    pub part: CablePart,
    /// The cable that it is fed through, by its name; without it, it is the first one on the way from the network.
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

/// Whether cables fit together and their figures can be: what the reader looks for one by one, and
/// names, in a file of one site.
pub(super) fn fit(cables: &Named<Text<'_>, Cable<'_>>, mut is_device: impl FnMut(&str) -> bool) -> bool {
    let mut fed: Vec<&str> = Vec::new();
    cables.iter().all(|(name, cable)| {
        let feeds = cable.feeds.iter().all(|device| {
            let is_new = !fed.contains(&&**device);
            fed.push(device);
            is_new && is_device(device)
        });
        feeds && cable.is_sound() && leads_to_supply(cables, name, cable)
    })
}

/// Whether the way from a cable ends at the point of supply, by way of cables that are there.
fn leads_to_supply(cables: &Named<Text<'_>, Cable<'_>>, name: &str, cable: &Cable<'_>) -> bool {
    let mut behind = cable.behind.as_deref();
    for _ in 0..=cables.0.len() {
        match behind {
            None => return true,
            Some(upstream) if upstream == name => return false,
            Some(upstream) => match cables.get(upstream) {
                Some(next) => behind = next.behind.as_deref(),
                None => return false,
            },
        }
    }
    // a ring further up is told of the cables in it
    false
}

impl Cable<'_> {
    /// One way at most of stating the impedance, figures above zero.
    fn is_sound(&self) -> bool {
        let ways = [self.conductor.is_some(), self.voltage_drop.is_some(), self.per_length.is_some(), self.impedance.is_some()];
        let drop = self.voltage_drop.map(|drop| [drop.three_phase, drop.single_phase].map(|figure| figure.map(|figure| figure.number)));
        let drops = drop.map_or(1, |figures| figures.iter().flatten().count());
        let above = [
            self.length.map(|length| length.number),
            self.conductor.map(|conductor| conductor.size.number),
            self.per_length.map(|each| each.resistance.number),
            self.impedance.map(|whole| whole.resistance.number),
        ];
        let reactances = [
            self.per_length.and_then(|each| each.reactance).map(|x| x.number),
            self.impedance.and_then(|whole| whole.reactance).map(|x| x.number),
        ];
        ways.into_iter().filter(|stated| *stated).count() <= 1
            && drops == 1
            && above.into_iter().chain(drop.into_iter().flatten()).flatten().all(|number| number > Exact::ZERO)
            && reactances.into_iter().flatten().all(|number| number >= Exact::ZERO)
    }
}

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
    /// The network's own line up to the service: it raises the voltage and counts towards no limit.
    Network,
    /// From the distribution main to the point of supply, where the consumer mains begin.
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A line of a fleet goes the quick way only where nothing has to be said of its cables.
    #[test]
    fn cables_fit_or_have_to_be_looked_at() {
        let fits = |cables: &str| fit(&serde_json::from_str(cables).unwrap(), |device| device == "inverter-1");
        assert!(fits(
            r#"{"mains":{"part":"consumer-mains","length":"14 m","conductor":{"size":"16 mm2","material":"copper"}},
                "circuit":{"part":"inverter-circuit","behind":"mains","impedance":{"resistance":"0.1 ohm","reactance":"0 ohm"},"feeds":["inverter-1"]}}"#
        ));
        assert!(fits("{}"));
        for cables in [
            r#"{"a":{"part":"service","behind":"a"}}"#,
            r#"{"a":{"part":"service","behind":"b"},"b":{"part":"service","behind":"a"},"c":{"part":"service","behind":"b"}}"#,
            r#"{"a":{"part":"service","behind":"c"}}"#,
            r#"{"a":{"part":"service","feeds":["inverter-2"]}}"#,
            r#"{"a":{"part":"service","feeds":["inverter-1","inverter-1"]}}"#,
            r#"{"a":{"part":"service","length":"0 m"}}"#,
            r#"{"a":{"part":"service","voltage-drop":{}}}"#,
            r#"{"a":{"part":"service","voltage-drop":{"three-phase":"1 mV/A.m","single-phase":"1 mV/A.m"}}}"#,
            r#"{"a":{"part":"service","impedance":{"resistance":"1 ohm","reactance":"-1 ohm"}}}"#,
            r#"{"a":{"part":"service","impedance":{"resistance":"1 ohm"},"voltage-drop":{"three-phase":"1 mV/A.m"}}}"#,
        ] {
            assert!(!fits(cables), "{cables}");
        }
    }
}
