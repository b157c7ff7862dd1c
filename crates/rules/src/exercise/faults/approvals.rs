//! Departures approved for one site: one that still holds, and one that has ended.

use super::UnmetKind;
use crate::exercise::chance::Chance;
use crate::exercise::draft::Draft;
use crate::exercise::model::complies;
use crate::exercise::scene::Scene;
use jiff::ToSpan;
use jiff::civil::Date;
use serde_json::json;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;

pub(super) const APPROVAL_EXPIRED: UnmetKind = UnmetKind {
    name: "approval-expired",
    happened: "another value was approved for this site alone, and the approval has ended",
    looks_like: "a value departs from what is required by an approval whose last day is past",
    teaches: "an approval has a last day; what holds from then on is what everybody is asked",
    mended_by: "set what is required without it, or have the network operator renew it in writing",
    fewest: 1,
    put: |scene, chance| {
        let today = scene.assessor.today;
        let past = today.checked_sub((5 + chance.below(40) as i64).days()).ok()?;
        let later = today.checked_add(400.days()).ok()?;
        let mut still_approved = scene.draft.clone();
        let value = approve(scene, chance, &mut still_approved, later)?;
        // while it held, all was well: nothing but its end is wrong
        if !complies(&still_approved, scene.assessor) {
            return None;
        }
        let mut ended = still_approved;
        ended.0["site-specific-approvals"].as_array_mut()?.last_mut()?["approval"]["until"] = json!(past.to_string());
        scene.draft = ended;
        scene.edited.insert(value);
        Some(())
    },
};

/// Adds an approval to a draft, and has its device hold what is approved; what it is about.
pub fn approve(scene: &Scene<'_>, chance: &mut Chance, draft: &mut Draft, until: Date) -> Option<super::super::trouble::Spot> {
    let inverter = chance.below(scene.inverters.len());
    let settings =
        ["sustained-overvoltage/threshold", "overvoltage-1/threshold", "reconnection/observation-time", "reconnection/ramp-rate"];
    let stated: Vec<SettingId> =
        settings.into_iter().filter_map(SettingId::named).filter(|setting| scene.number(inverter, *setting).is_some()).collect();
    let setting = *chance.pick(&stated)?;
    let (number, dimension) = scene.number(inverter, setting)?;
    let by = *chance.pick(&[-3, -2, -1, 1, 2])?;
    let approved = (number + Exact::from(by)).rounded(1);
    let value = Amount::plain(approved).show(dimension);
    let name = scene.inverters[inverter].name.clone();
    let granted = until.checked_sub((364 + chance.below(30) as i64).days()).ok()?.min(scene.assessor.today.checked_sub(60.days()).ok()?);
    let approval = json!({
        "setting": format!("{name}/{setting}"),
        "require": value,
        "approval": {
            "reference": format!("S-{:04}", chance.below(10_000)),
            "role": "network protection engineer",
            "granted": granted.to_string(),
            "until": until.to_string(),
        },
    });
    match draft.0.get_mut("site-specific-approvals").and_then(serde_json::Value::as_array_mut) {
        Some(approvals) => approvals.push(approval),
        None => draft.0["site-specific-approvals"] = json!([approval]),
    }
    draft.hold(&name, setting, json!(value));
    Some(super::super::trouble::Spot { device: name, what: super::super::trouble::What::Setting(setting) })
}
