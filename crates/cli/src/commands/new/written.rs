//! The text of a site's file from what was answered.

use super::devices::NewDevice;
use super::site::Site;
use rules::exercise::text::scalar;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactShape};
use settings_model::quantity::Dimension;
use std::fmt::Write as _;

/// What a site's file says; its name and requirements are known by now.
pub fn text(site: &Site) -> String {
    let mut text = String::from("# What is left out is not stated, and never taken for right.\nkind: site\n");
    let mut line = |line: String| {
        let _ = writeln!(text, "{line}");
    };
    line(format!("site: {}", scalar(site.name.as_deref().unwrap_or_default())));
    if let Some(network) = &site.network {
        line(format!("network: {}", scalar(network)));
    }
    line(format!("requirements: {}", requirements(site)));
    if !site.dates.is_empty() {
        let dates = site.dates.iter().map(|(fact, date)| (fact.row().key, date.to_string()));
        line(format!("dates: {}", group(dates)));
    }
    if let Some(work) = &site.work {
        line(format!("work: {{ kind: {work} }}"));
    }
    let supply = [
        ("phases", site.phases.map(|phases| phases.to_string())),
        ("nominal", site.nominal.map(|volts| format!("{} line-neutral", Dimension::Voltage.show(volts)))),
        ("sub-network", site.sub_network.clone()),
    ];
    line(format!("supply: {}", stated(supply)));
    if let Some((kind, approved)) = &site.export {
        let parts = [("kind", Some(kind.clone())), ("approved", approved.map(|power| Dimension::ActivePower.show(power)))];
        line(format!("export: {}", stated(parts)));
    }
    line("devices:".to_owned());
    site.devices.iter().for_each(|device| write_device(&mut text, device));
    text.push_str(NEXT);
    text
}

/// What to add later.
const NEXT: &str = "\
# For the record, add what is known: `connection-point: …` under `supply`, `reference: …` under `export`;
# of a device `model: …`, `serial: …` and `firmware: …`. Departures approved for this site alone, cables and
# values written here instead of on a sheet: `asleft template NETWORK`, or `asleft schema site`.
";

fn requirements(site: &Site) -> String {
    let written = |text: &Option<String>| text.as_deref().map(scalar);
    stated([
        ("standard", written(&site.standard)),
        ("installation", written(&site.installation)),
        ("region", written(&site.region)),
        ("route", written(&site.route)),
    ])
}

fn write_device(text: &mut String, device: &NewDevice) {
    let _ = writeln!(text, "  {}:", scalar(&device.name));
    let mut line = |key: &str, value: String| {
        let _ = writeln!(text, "    {key}: {value}");
    };
    if device.is_relay {
        line("kind", "grid-protection-relay".to_owned());
    }
    if let Some((standard, edition)) = device.certified.as_deref().and_then(|key| key.split_once('/')) {
        let (year, amendment) = edition.split_once("-amd").map_or((edition, None), |(year, amendment)| (year, Some(amendment.to_owned())));
        let edition = stated([("year", Some(year.to_owned())), ("amendment", amendment)]);
        line("certified", format!("{{ standard: {}, edition: {edition} }}", scalar(standard)));
    }
    if let Some(source) = &device.source {
        line("source", source.clone());
    }
    device.powers.iter().for_each(|(fact, power)| line(fact.row().key, shown(*fact, *power)));
    if let Some(phases) = device.phases {
        line("phases", phases.to_string());
    }
    if let Some(on) = &device.on_phase {
        line("on-phase", on.clone());
    }
    device.identity.iter().for_each(|(key, value)| line(key, scalar(value)));
}

fn shown(fact: FactId, number: Exact) -> String {
    match fact.row().shape {
        FactShape::Quantity(dimension) => dimension.show(number),
        FactShape::Choice(_) | FactShape::Date => number.to_string(),
    }
}

/// `{ phases: 1, nominal: 230 V line-neutral }`, of what is stated.
fn stated<const N: usize>(parts: [(&str, Option<String>); N]) -> String {
    group(parts.into_iter().filter_map(|(key, value)| Some((key, value?))))
}

fn group<'k>(parts: impl Iterator<Item = (&'k str, String)>) -> String {
    let parts: Vec<String> = parts.map(|(key, value)| format!("{key}: {value}")).collect();
    if parts.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", parts.join(", ")) }
}
