//! An example as a site's file: what a search found, written as a person would state it.

use crate::witness::{Witness, WitnessValue};
use settings_model::catalogue::{Equipment, HeldBy, SettingId, Shape};
use settings_model::claim::{Part, Var};
use settings_model::facts::{self, FactId, Facts};
use std::fmt::Write as _;

/// Under what an example site stands.
#[derive(Clone, Copy, Debug)]
pub struct Under<'u> {
    /// The network, if an operator adds to the standard.
    pub network: Option<&'u str>,
    /// The base standard's key and edition: `as-nzs-4777.2/2020-amd2`.
    pub standard: &'u str,
    /// The region.
    pub region: &'u str,
}

/// A site's file: its facts, and one device of each kind with what it holds. What is added up for the
/// installation follows from the devices; what is calculated for it is stated.
#[must_use]
pub fn site_text(under: Under<'_>, facts: &Facts, devices: &[(Equipment, &Witness)]) -> String {
    let mut text = "kind: site\nsite: example\n".to_owned();
    write_site(&mut text, under, facts);
    if let Some((_, witness)) = devices.iter().find(|(kind, _)| *kind == Equipment::Installation) {
        write_settings(&mut text, "installation:", "  ", witness, |id| id.parameter().held_by == HeldBy::Calculated);
    }
    text.push_str("devices:\n");
    for (kind, witness) in devices {
        match kind {
            Equipment::Inverter => {
                text.push_str("  inverter-1:\n");
                write_device(&mut text, under, facts);
            }
            Equipment::GridProtectionRelay => text.push_str("  relay-1:\n    kind: grid-protection-relay\n"),
            Equipment::Installation => continue,
        }
        if values(witness).next().is_none() {
            text.push_str("    as-left: {}\n"); // nothing is asked of it
            continue;
        }
        text.push_str("    as-left:\n");
        write_settings(&mut text, "      settings:", "        ", witness, |_| true);
    }
    text
}

fn write_site(text: &mut String, under: Under<'_>, facts: &Facts) {
    let stated = |id: FactId| facts.get(id).map(|value| facts::show(id, value));
    let group = |items: &[(&str, Option<String>)]| {
        let items: Vec<String> = items.iter().filter_map(|(key, value)| Some(format!("{key}: {}", value.as_ref()?))).collect();
        (!items.is_empty()).then(|| format!("{{ {} }}", items.join(", ")))
    };
    let mut line = |key: &str, value: Option<String>| _ = value.map(|value| writeln!(text, "{key}: {value}"));
    line("network", under.network.map(str::to_owned));
    let standard = under.network.is_none().then(|| under.standard.to_owned());
    line("requirements", group(&[("standard", standard), ("region", Some(under.region.to_owned())), ("route", stated(FactId::Route))]));
    let dates =
        [("applied", FactId::Applied), ("approved", FactId::Approved), ("installed", FactId::Installed), ("altered", FactId::Altered)];
    line("dates", group(&dates.map(|(key, id)| (key, stated(id)))));
    let exempted =
        stated(FactId::Exempted).filter(|word| word == "yes").map(|_| "{ reference: an example, reason: an example }".to_owned());
    line("work", group(&[("kind", stated(FactId::Work)), ("exemption", exempted)]));
    let nominal = stated(FactId::NominalVoltage).map(|volts| format!("{volts} line-neutral"));
    line("supply", group(&[("phases", stated(FactId::Phases)), ("nominal", nominal), ("sub-network", stated(FactId::SubNetwork))]));
    let approved = stated(FactId::ApprovedExport);
    let kind = stated(FactId::ExportKind).or_else(|| approved.as_ref().map(|_| "fixed".to_owned()));
    line("export", kind.and_then(|kind| group(&[("kind", Some(kind)), ("approved", approved)])));
}

fn write_device(text: &mut String, under: Under<'_>, facts: &Facts) {
    let stated = |id: FactId| facts.get(id).map(|value| facts::show(id, value));
    let standard = under.standard.split('/').next().unwrap_or_default();
    let certified = stated(FactId::CertifiedYear).map(|year| format!("{{ standard: {standard}, edition: {{ year: {year} }} }}"));
    // the only inverter of the site is all there is to add up
    let nameplate = stated(FactId::Nameplate).or(stated(FactId::NameplateTotal));
    let limited = stated(FactId::LimitedTo).or(stated(FactId::LimitedTotal)).filter(|limited| Some(limited) != nameplate.as_ref());
    let phases = stated(FactId::DevicePhases).or(stated(FactId::Phases));
    let lines = [
        ("certified", certified),
        ("source", stated(FactId::EnergySource)),
        ("nameplate", nameplate),
        ("limited-to", limited),
        ("phases", phases),
    ];
    for (key, value) in lines {
        let _ = value.map(|value| writeln!(text, "    {key}: {value}"));
    }
}

fn write_settings(text: &mut String, heading: &str, indent: &str, witness: &Witness, is_stated: impl Fn(SettingId) -> bool) {
    let mut functions: Vec<(&str, Vec<String>)> = Vec::new();
    for (setting, value) in values(witness).filter(|(setting, _)| is_stated(*setting)) {
        let key = setting.parameter().key;
        let stated = match witness.evidence.get(&Var::from(setting)) {
            Some(kind) => format!("{key}: {{ value: {value}, known-by: {} }}", kind.word()),
            None => format!("{key}: {value}"),
        };
        match functions.last_mut() {
            Some((function, stated_before)) if *function == setting.function().key => stated_before.push(stated),
            _ => functions.push((setting.function().key, vec![stated])),
        }
    }
    if !functions.is_empty() {
        let _ = writeln!(text, "{heading}");
    }
    for (function, stated) in functions {
        let _ = writeln!(text, "{indent}{function}: {{ {} }}", stated.join(", "));
    }
}

/// Each setting that the example has a whole value of, as files write it.
fn values(witness: &Witness) -> impl Iterator<Item = (SettingId, String)> + '_ {
    SettingId::all().filter_map(|setting| {
        let whole = witness.settings.get(&Var { setting, part: Part::Whole });
        let value = match (setting.parameter().shape, whole) {
            (Shape::Quantity(dimension), Some(WitnessValue::Number(number))) => dimension.show(*number),
            (Shape::Choice(words), Some(WitnessValue::Word(word))) => (*words.get(usize::from(*word))?).to_owned(),
            (Shape::Curve { x, y }, _) => {
                let points = witness.curve(setting)?;
                let points = points.iter().map(|(px, py)| format!("[{}, {}]", x.show(*px), y.show(*py)));
                format!("[{}]", points.collect::<Vec<_>>().join(", "))
            }
            _ => return None,
        };
        Some((setting, value))
    })
}
