//! A device that is set as one requirement asks, held against another requirement.

use super::sets::{Relation, relation};
use crate::judge::{DeviceSettings, MissingEvidence, UnmetKind, judge};
use crate::provenance::Verdict;
use settings_model::catalogue::{ENABLED, Equipment, SettingId, Shape};
use settings_model::claim::ProvenanceId;
use settings_model::facts::Facts;
use settings_model::requirement::Requirement;
use settings_model::settings::{Known, Settings};
use settings_model::ties::space;
use settings_model::value::Value;
use std::collections::BTreeMap;

/// What `other` comes to, setting by setting, on an inverter that is set as `own` asks.
///
/// Of a setting that `own` leaves between edges, all that it lets through has to comply. How a value is
/// known is not looked at: nobody read it from a device.
#[must_use]
pub fn standings_as_required(own: &Requirement, other: &Requirement, facts: &Facts) -> BTreeMap<SettingId, Verdict> {
    let settings = as_required(own, facts);
    let mut faults = Vec::new();
    judge(DeviceSettings { settings: &settings, evidence: None, region_stands: false, asked: other }, facts, &mut faults);
    let mut standings = BTreeMap::new();
    for fault in faults.iter().filter(|fault| settings.states(fault.setting)) {
        let standing = match fault.kind {
            UnmetKind::Fails => Verdict::DoesNotComply,
            UnmetKind::NotProven(MissingEvidence::Evidence) | UnmetKind::SameResponse => Verdict::Complies,
            UnmetKind::NotProven(_) => Verdict::NotProven,
        };
        standings.entry(fault.setting).and_modify(|now: &mut Verdict| *now = standing.max(*now)).or_insert(standing);
    }
    let space = space(Equipment::Inverter, ProvenanceId::SITE_APPROVAL);
    let asked = other.entries.iter().filter(|resolved| !resolved.entry.demands_nothing() && !resolved.entry.is_gap());
    for entry in asked.map(|resolved| &resolved.entry) {
        let setting = entry.setting;
        if settings.states(setting) {
            standings.entry(setting).or_insert(Verdict::Complies);
            continue;
        }
        let is_idle = setting.state().and_then(|state| settings.get(state)).is_some_and(|known| known.value != Value::Word(ENABLED));
        if is_idle || other.keeps_idle(setting) {
            continue;
        }
        let lets_through = own.get(setting).map(|resolved| resolved.entry.comply.as_slice()).unwrap_or_default();
        let standing = match relation(lets_through, &entry.comply, &space, facts) {
            Relation::Same | Relation::Wider(_) => Verdict::Complies,
            Relation::Moved { apart: true, .. } => Verdict::DoesNotComply,
            _ => Verdict::NotProven,
        };
        standings.insert(setting, standing);
    }
    standings
}

/// What a requirement asks for as one value, as if a device held it.
fn as_required(requirement: &Requirement, facts: &Facts) -> Settings {
    let mut settings = Settings::default();
    for entry in requirement.entries.iter().map(|resolved| &resolved.entry) {
        let is_word = matches!(entry.setting.parameter().shape, Shape::Choice(_));
        let only = || crate::phrase::to_set(entry, &requirement.ties, facts).filter(|_| is_word);
        if let Some(value) = entry.require.clone().or_else(only) {
            settings.set(entry.setting, Known { value, evidence: None, step: None });
        }
    }
    settings
}
