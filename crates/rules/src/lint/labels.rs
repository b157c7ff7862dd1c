//! Label maps: what the device's standards ask for and no label shows, what two labels show, and what a
//! display is too coarse for.

use super::Linted;
use crate::assess::Assessor;
use crate::phrase::dimension_of;
use settings_model::catalogue::{Equipment, HeldBy, SettingId};
use settings_model::claim::Var;
use settings_model::facts::{FactId, Facts};
use settings_model::finding::{Finding, Outcome};
use settings_model::labels::{Label, LabelMap, Site, Takes};
use settings_model::library::{Refusal, Request};
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::source::Place;

/// Looks at one label map, in every region of the standards that its family is certified to.
pub(super) fn of_map(key: &str, assessor: &mut Assessor, linted: &mut Linted) -> Result<Vec<Finding>, Refusal> {
    let map = assessor.library.label_map(key, &mut assessor.sources)?;
    let mut findings = shown_twice(&map);
    findings.extend(overlaps(key, &map, assessor));
    for (standard, place) in &map.certified_to {
        let file = match assessor.library.standard(standard, &mut assessor.sources) {
            Ok(file) => file,
            Err(Refusal::Unknown { says, hint, .. }) => {
                let finding = Finding::unusable("unknown-standard", *place, says);
                findings.push(hint.into_iter().fold(finding, Finding::hint));
                continue;
            }
            Err(refusal) => return Err(refusal),
        };
        let mut asked: Vec<(Rulebook, Requirement)> = Vec::new();
        for (region, _) in file.file.regions.iter() {
            let request = Request { standard: Some(standard), region, ..Request::default() };
            let [inverter, ..] = assessor.library.rulebooks(request, &Facts::default(), &mut assessor.sources)?;
            let requirement = inverter.resolve(&facts(&inverter));
            asked.push((inverter, requirement));
        }
        findings.extend(not_shown(&map, (standard, *place), &asked));
        findings.extend(too_coarse(&map, standard, &asked, linted));
    }
    Ok(findings)
}

/// What a set point is converted with; a display is as coarse on every device.
fn facts(rulebook: &Rulebook) -> Facts {
    let mut facts = Facts::default();
    rulebook.nominal.into_iter().for_each(|nominal| facts.set_number(FactId::NominalVoltage, nominal));
    facts
}

fn remark(name: &'static str, label: &Label, says: String) -> Finding {
    Finding::new(Outcome::Remark, name, label.place, says)
}

/// Two labels for one thing: which of them a person should go by, the map does not say.
fn shown_twice(map: &LabelMap) -> Vec<Finding> {
    let shown: Vec<(&Label, Var)> =
        map.labels.iter().filter(|label| label.is_shown()).filter_map(|label| Some((label, subject(label)?))).collect();
    let twice = |(n, (label, of)): (usize, &(&Label, Var))| {
        let (first, _) = shown[..n].iter().find(|(_, other)| other == of)?;
        let finding =
            remark("two-labels", label, format!("\"{}\" and \"{}\" are two labels for {}", first.path(), label.path(), of.setting));
        Some(finding.because(first.place, "here first").hint("check both on a device, and keep the one that it acts by"))
    };
    shown.iter().enumerate().filter_map(twice).collect()
}

fn subject(label: &Label) -> Option<Var> {
    match &label.takes {
        Takes::Number { of, .. } => Some(*of),
        Takes::Words(setting, _) => Some(Var::from(*setting)),
        Takes::Regions(_) | Takes::Modes(_) => None,
    }
}

/// Two maps that are for the same model and firmware: neither is used.
fn overlaps(key: &str, map: &LabelMap, assessor: &mut Assessor) -> Vec<Finding> {
    let mut findings = Vec::new();
    for other_key in assessor.library.label_maps().into_iter().filter(|other| other.as_str() > key) {
        let Ok(other) = assessor.library.label_map(&other_key, &mut assessor.sources) else { continue };
        let Some(model) = map.models.iter().find(|model| other.is_for(model)) else { continue };
        if map.firmware.0.overlaps(&other.firmware.0) {
            let says = format!("`{key}` and `{other_key}` are both for {model} with some firmware, so neither is used there");
            let finding = Finding::unusable("firmware-overlaps", other.firmware.1, says).because(map.firmware.1, "and this one");
            findings.push(finding.hint("keep their ranges apart"));
        }
    }
    findings
}

/// One remark for a standard: what it asks of a setting and no label shows.
fn not_shown(map: &LabelMap, (standard, place): (&str, Place), asked: &[(Rulebook, Requirement)]) -> Option<Finding> {
    let is_set =
        |setting: &SettingId| setting.parameter().held_by == HeldBy::Setting && setting.function().held_by.contains(&Equipment::Inverter);
    let is_asked = |setting: &SettingId| {
        let entry = |(_, requirement): &(Rulebook, Requirement)| {
            requirement.get(*setting).is_some_and(|r| !r.entry.demands_nothing() && !r.entry.is_gap())
        };
        asked.iter().any(entry)
    };
    let is_shown = |setting: &SettingId| {
        // another time of the stage is on the display in its place
        let other = ["definite-delay", "operate-time", "clearing-time", "unnamed-time"].iter().filter_map(|key| setting.sibling(key));
        let alike = other.filter(|_| setting.is_meaning_of_time()).chain([*setting]);
        let shown: Vec<SettingId> = alike.collect();
        map.labels.iter().any(|label| label.settings().iter().any(|own| shown.contains(own)))
    };
    let missing: Vec<String> = SettingId::all().filter(is_set).filter(is_asked).filter(|s| !is_shown(s)).map(|s| s.to_string()).collect();
    if missing.is_empty() {
        return None;
    }
    let headline = format!("{}: no label for {} of the settings that {standard} asks for", map.name(), missing.len());
    let mut finding = Finding::new(Outcome::Remark, "no-label", place, headline);
    finding.folded = by_function(&missing).into_iter().map(Into::into).collect();
    Some(finding.hint("add a label where the display shows it; where it does not, the selected region has to stand for it"))
}

/// `overvoltage-1: state, threshold`, a line for each function.
fn by_function(settings: &[String]) -> Vec<String> {
    let mut lines: Vec<(&str, String)> = Vec::new();
    for (function, parameter) in settings.iter().filter_map(|setting| setting.split_once('/')) {
        match lines.last_mut() {
            Some((last, line)) if *last == function => line.push_str(&format!(", {parameter}")),
            _ => lines.push((function, format!("{function}: {parameter}"))),
        }
    }
    lines.into_iter().map(|(_, line)| line).collect()
}

/// One remark for a standard: set points that the display cannot show, label by label.
fn too_coarse(map: &LabelMap, standard: &str, asked: &[(Rulebook, Requirement)], linted: &mut Linted) -> Option<Finding> {
    let (mut coarse, mut first, mut hanging) = (Vec::new(), None, 0);
    for label in map.labels.iter().filter(|label| label.is_shown()) {
        let Takes::Number { of, number, .. } = &label.takes else { continue };
        let Some(step) = number.resolution else { continue };
        match missed(label, *of, asked) {
            None => hanging += 1,
            Some(missed) if missed.is_empty() => {}
            Some(missed) => {
                first = first.or(Some(label));
                coarse.push(format!("\"{}\", in steps of {}: {}", label.path(), number.unit.show(step), missed.join(", ")));
            }
        }
    }
    if hanging > 0 {
        let says = "whether it can show them all depends on the ratings of a device";
        linted.not_checked.push(format!("{}, set points of {standard} that are percentages ({hanging} labels): {says}", map.name()));
    }
    let labels = if coarse.len() == 1 { "1 label is".to_owned() } else { format!("{} labels are", coarse.len()) };
    let says = format!("{}: {labels} too coarse for set points of {standard}", map.name());
    let finding = Finding::new(Outcome::Remark, "too-coarse", first?.place, says);
    let hint = "a set point may be off by less than one step, so the nearest complies; a limit has to be kept, and may need the next one";
    Some(Finding { folded: coarse.into_iter().map(Into::into).collect(), ..finding.hint(hint) })
}

/// The set points that a label cannot show, and what is nearest; `None` where that depends on a device.
fn missed(label: &Label, of: Var, asked: &[(Rulebook, Requirement)]) -> Option<Vec<String>> {
    let mut missed: Vec<String> = Vec::new();
    for (rulebook, requirement) in asked {
        let facts = facts(rulebook);
        let required = requirement.get(of.setting).and_then(|resolved| resolved.entry.require.as_ref());
        let Some((required, amount)) = required.and_then(|required| Some((required, required.part(of.part)?))) else { continue };
        let enter = label.enter(of, required, Site { facts: &facts, percent_of: Some(rulebook.percent_of) }, &|_, _| true)?;
        let says =
            format!("{} ({} is nearest)", dimension_of(of.setting, of.part).map_or_else(String::new, |d| amount.show(d)), enter.text);
        if !enter.is_exact && !missed.contains(&says) {
            missed.push(says);
        }
    }
    Some(missed)
}
