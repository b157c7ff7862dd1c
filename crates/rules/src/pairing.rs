//! Stages are compared by numbers and meaning, never by their names: documents and devices were seen
//! to number two stages the other way round.

use crate::judge::{DeviceSettings, UnmetClaim, UnmetKind, judge_entry};
use settings_model::catalogue::SettingId;
use settings_model::facts::Facts;
use settings_model::requirement::Requirement;
use settings_model::settings::Settings;

/// Two stages that a device names the other way round, each by its threshold.
pub type Exchanged = (SettingId, SettingId);

const PAIRS: [Exchanged; 4] = [
    (SettingId::of("overvoltage-1", "threshold"), SettingId::of("overvoltage-2", "threshold")),
    (SettingId::of("undervoltage-1", "threshold"), SettingId::of("undervoltage-2", "threshold")),
    (SettingId::of("overfrequency-1", "threshold"), SettingId::of("overfrequency-2", "threshold")),
    (SettingId::of("underfrequency-1", "threshold"), SettingId::of("underfrequency-2", "threshold")),
];

/// The stages whose thresholds are, both of them, just what is asked of the other. One moved
/// threshold alone never pairs stages anew: that would make two findings of one.
#[must_use]
pub fn exchanged(settings: &Settings, requirement: &Requirement, facts: &Facts) -> Vec<Exchanged> {
    let is_exchanged = |(one, other): &Exchanged| {
        let (Some(first), Some(second)) = (settings.get(*one), settings.get(*other)) else { return false };
        if first.value == second.value {
            return false;
        }
        let turned = settings.exchanged(*one, *other);
        fails(settings, *one, requirement, facts)
            && fails(settings, *other, requirement, facts)
            && !fails(&turned, *one, requirement, facts)
            && !fails(&turned, *other, requirement, facts)
    };
    PAIRS.into_iter().filter(is_exchanged).collect()
}

fn fails(settings: &Settings, setting: SettingId, requirement: &Requirement, facts: &Facts) -> bool {
    let Some(resolved) = requirement.get(setting) else { return false };
    let mut faults: Vec<UnmetClaim> = Vec::new();
    let held = DeviceSettings { settings, evidence: None, region_stands: false, asked: requirement };
    judge_entry(resolved, held, facts, &mut faults);
    faults.iter().any(|fault| fault.kind == UnmetKind::Fails)
}
