//! The voltage rise that a site's own cables lead to, at rated current, by the simple method of the trade.
//!
//! Where a limit begins is a statement of the requirement: at the point of supply, or where the service line
//! leaves the distribution main. It ends where its figure does: at the inverter, or at the main switchboard.
//! A rise is worked out in floating point and rounded to 0.001 % before it is held against a limit.

use response::device::Device as Behaviour;
use response::network::{Cable as Way, Feeds, Impedance, Network, Placed};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::claim::Limit;
use settings_model::conductors::ConductorRow;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Cable, CablePart, Device, SiteFile};
use settings_model::quantity::Dimension;
use settings_model::requirement::Requirement;

/// Up to the inverter.
pub const TOTAL: SettingId = SettingId::of("voltage-rise", "total");
/// Up to the main switchboard.
pub const CONSUMER_MAINS: SettingId = SettingId::of("voltage-rise", "consumer-mains");
/// Where both are counted from.
pub const BEGINS: SettingId = SettingId::of("voltage-rise", "begins-at");

/// Where a limit begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Begins {
    /// Where the service line leaves the distribution main: the service line counts.
    DistributionMain,
    /// Where the site takes its supply: the service line does not count.
    PointOfSupply,
}

impl Begins {
    /// Where the limits of a requirement begin; `None` where no layer says so.
    #[must_use]
    pub fn asked(requirement: &Requirement) -> Option<Self> {
        let word = requirement.get(BEGINS)?.entry.comply.iter().find_map(|claim| match &claim.limit {
            Limit::OneOf(words) => words.only(),
            _ => None,
        })?;
        let Shape::Choice(words) = BEGINS.parameter().shape else { return None };
        match *words.get(usize::from(word))? {
            "distribution-main" => Some(Self::DistributionMain),
            _ => Some(Self::PointOfSupply),
        }
    }

    /// Whether the rise along such a cable counts towards the limit.
    #[must_use]
    pub fn counts(self, part: CablePart) -> bool {
        match part {
            CablePart::Network => false,
            CablePart::Service => self == Self::DistributionMain,
            CablePart::ConsumerMains | CablePart::SubMains | CablePart::InverterCircuit => true,
        }
    }
}

/// Whether a cable lies before the main switchboard.
#[must_use]
pub fn is_before_switchboard(part: CablePart) -> bool {
    matches!(part, CablePart::Service | CablePart::ConsumerMains)
}

/// What a cable's impedance is, in what words its figure was stated, and the row that the program brought for it.
pub type Known = (Impedance, String, Option<&'static ConductorRow>);

/// The impedance of a cable.
///
/// # Errors
/// What is missing, as the middle of a sentence.
pub fn impedance(cable: &Cable<'_>) -> Result<Known, String> {
    let of = |resistance: f64, reactance: f64| Impedance { resistance, reactance };
    if let Some(whole) = &cable.impedance {
        let reactance = whole.reactance.map_or(0.0, |reactance| reactance.number.approximate());
        let words = format!("{} in all", Dimension::Resistance.show(whole.resistance.number));
        return Ok((of(whole.resistance.number.approximate(), reactance), words, None));
    }
    let metres = || cable.length.map(|length| length.number.approximate()).ok_or("its length, one way".to_owned());
    if let Some(each) = &cable.per_length {
        let kilometres = metres()? / 1000.0;
        let reactance = each.reactance.map_or(0.0, |reactance| reactance.number.approximate());
        let words = Dimension::ImpedancePerLength.show(each.resistance.number);
        return Ok((of(each.resistance.number.approximate() * kilometres, reactance * kilometres), words, None));
    }
    if let Some(figure) = &cable.voltage_drop {
        let (figure, divisor, words) = match (figure.three_phase, figure.single_phase) {
            (Some(figure), _) => (figure, 3.0_f64.sqrt(), "3-phase"),
            (None, Some(figure)) => (figure, 2.0, "1-phase"),
            (None, None) => return Err("a figure of its voltage drop".to_owned()),
        };
        let words = format!("{} {words}", Dimension::VoltageDrop.show(figure.number));
        return Ok((of(figure.number.approximate() / divisor * metres()? / 1000.0, 0.0), words, None));
    }
    let Some(conductor) = &cable.conductor else {
        return Err("its `conductor`, `voltage-drop`, `per-length` or `impedance`".to_owned());
    };
    let (size, material) = (conductor.size.number, conductor.material);
    let words = format!("{} {}", Dimension::Area.show(size), material.word());
    match ConductorRow::find(size, material) {
        Some(row) => Ok((of(row.ohms_per_kilometre() * metres()? / 1000.0, 0.0), words, Some(row))),
        None => Err(format!("a table's figure (`voltage-drop`), as none is carried for {words}")),
    }
}

/// Onto which phases an inverter feeds, on a supply of so many; `None` where that is not stated.
#[must_use]
pub fn feeds(device: &Device<'_>, supply: usize) -> Option<Feeds> {
    match (device.phases(), supply) {
        (_, 1) => Some(Feeds::One(0)),
        (Some(1), _) => device.on_phase.map(|phase| Feeds::One(phase as usize)),
        (Some(3), 3) => Some(Feeds::Three),
        _ => None,
    }
}

/// The rise that cables lead to, in per cent of the nominal voltage, of the inverter where it is greatest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reckoned {
    /// Up to the inverter.
    pub total: Exact,
    /// Up to the main switchboard; `None` where no cable lies before it.
    pub consumer_mains: Option<Exact>,
    /// Whether a figure of a conductor decides that the program brought, and nobody verified.
    pub is_unverified: bool,
}

/// The rise of a site, counted from where a limit begins; `None` while anything is missing for it.
#[must_use]
pub fn reckoned(site: &SiteFile<'_>, facts: &Facts, begins: Begins) -> Option<Reckoned> {
    if site.cables.0.is_empty() {
        return None;
    }
    let nominal = facts.number(FactId::NominalVoltage)?.approximate();
    let phases = facts.number(FactId::Phases)?.approximate() as usize;
    let mut network = Network::default();
    let mut is_unverified = false;
    for (_, cable) in site.cables.iter() {
        let (line, _, from) = impedance(cable).ok()?;
        is_unverified |= from.is_some_and(|row| row.basis().is_unverified());
        let behind = cable.behind.as_ref().and_then(|behind| site.cables.iter().position(|(name, _)| name == &**behind));
        network.cables.push(Way { behind, line, neutral: line });
    }
    let mut currents = Vec::new();
    let inverters = site.devices.iter().filter(|(_, device)| device.kind == settings_model::files::DeviceKind::Inverter);
    for (name, device) in inverters {
        let apparent = device.facts(facts.clone()).number(FactId::LimitedTo)?.approximate();
        let feeds = feeds(device, phases)?;
        let cable = site.cables.iter().position(|(_, cable)| cable.feeds.iter().any(|fed| &**fed == name))?;
        let of_each = if feeds == Feeds::Three { 3.0 } else { 1.0 };
        currents.push(apparent / of_each / nominal);
        network.inverters.push(Placed { device: Behaviour::bare(apparent), cable: Some(cable), feeds });
    }
    let parts: Vec<CablePart> = site.cables.iter().map(|(_, cable)| cable.part).collect();
    let (mut total, mut mains) = (0.0_f64, 0.0_f64);
    for inverter in 0..network.inverters.len() {
        let counted: Vec<(CablePart, f64)> = network
            .simple_rise(inverter, &currents)
            .into_iter()
            .map(|(cable, volts)| (parts[cable], volts))
            .filter(|(part, _)| begins.counts(*part))
            .collect();
        total = total.max(counted.iter().map(|(_, volts)| volts).sum());
        mains = mains.max(counted.iter().filter(|(part, _)| is_before_switchboard(*part)).map(|(_, volts)| volts).sum());
    }
    let has_mains = parts.iter().any(|part| is_before_switchboard(*part) && begins.counts(*part));
    let percent = |volts: f64| percent(volts, nominal);
    Some(Reckoned { total: percent(total)?, consumer_mains: if has_mains { Some(percent(mains)?) } else { None }, is_unverified })
}

/// The cables of which no rise is counted up to an inverter: those that lead to none, or all of them while anything is
/// missing to work it out.
#[must_use]
pub fn uncounted<'s>(site: &'s SiteFile<'_>, facts: &Facts) -> Vec<&'s str> {
    let names = || site.cables.iter().map(|(name, _)| name);
    if reckoned(site, facts, Begins::DistributionMain).is_none() {
        return names().collect();
    }
    let mut leading: Vec<&str> = site.cables.iter().filter(|(_, cable)| !cable.feeds.is_empty()).map(|(name, _)| name).collect();
    let mut at = 0;
    while let Some(name) = leading.get(at) {
        let behind = site.cables.get(name).and_then(|cable| cable.behind.as_deref());
        leading.extend(behind.filter(|behind| !leading.contains(behind)));
        at += 1;
    }
    names().filter(|name| !leading.contains(name)).collect()
}

/// Volts in per cent of a base: to a thousandth, or less finely where that were more digits than are kept
/// exactly; `None` where it is no number.
#[must_use]
pub fn percent(volts: f64, base: f64) -> Option<Exact> {
    Exact::nearest(volts / base * 100.0, 3)
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn a_rise_of_many_digits_is_never_nothing() {
        let shown = |volts: f64| percent(volts, 230.0).map(|percent| percent.to_string());
        assert_eq!(shown(4.6).as_deref(), Some("2"));
        assert_eq!(shown(2_300_000.0 / 1.0001).as_deref(), Some("999900.01"));
        assert_eq!(shown(23_000_000.0 / 1.0001).as_deref(), Some("9999000.1"));
        assert_eq!(shown(f64::INFINITY), None);
    }
}
