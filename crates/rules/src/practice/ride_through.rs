//! Functions that keep a device on through disturbances, switched off where they have to act.

use super::{Broken, Rule, Site};
use crate::outcome::DeviceResult;
use crate::provenance::standing;
use settings_model::catalogue::{Harm, SettingId};
use settings_model::finding::Outcome;
use settings_model::requirement::Requirement;
use settings_model::ties::{CATEGORIES_B_AND_III, Example};

pub(super) const RIDE_THROUGH_OFF: Rule = Rule {
    name: "ride-through-off",
    sentence: "a device that has to stay on through disturbances has that function enabled",
    source: "follows from the meaning of ride-through, as in IEEE Std 1547-2018",
    example: Example {
        failing: "inverter-1: { voltage-withstand: { state: off } }",
        near_miss: "inverter-1: { voltage-withstand: { state: enabled } }",
        under: CATEGORIES_B_AND_III,
    },
    check,
    looks_at: |site, device, setting| has_to_act(&site.devices[device].counted.requirement).any(|state| state == setting),
};

/// The states of such functions. Who asks what they do asks that they act; what is asked of the state itself is judged
/// as any other setting.
const STATES: [SettingId; 2] = [SettingId::of("voltage-withstand", "state"), SettingId::of("multiple-disturbance-withstand", "state")];

pub(crate) fn has_to_act(requirement: &Requirement) -> impl Iterator<Item = SettingId> + '_ {
    let is_unsaid = |state: SettingId| requirement.get(state).is_none_or(|resolved| resolved.entry.demands_nothing());
    STATES.into_iter().filter(move |state| is_unsaid(*state) && requirement.is_seen_to_ask_of_function(*state))
}

fn check(site: &Site<'_>) -> Vec<Broken> {
    let of_device = |(n, device): (usize, &DeviceResult<'_>)| {
        let states: Vec<SettingId> = has_to_act(&device.counted.requirement).collect();
        states.into_iter().filter_map(|state| switched_off(state, n, device)).collect::<Vec<_>>()
    };
    site.devices.iter().enumerate().flat_map(of_device).collect()
}

fn switched_off(state: SettingId, n: usize, device: &DeviceResult<'_>) -> Option<Broken> {
    if !device.settings.states(state) || device.settings.is_enabled(state) {
        return None;
    }
    let asked = device.counted.requirement.entries.iter().filter(|resolved| resolved.entry.setting.same_function(state));
    let asked = asked.filter(|resolved| !resolved.entry.demands_nothing() && !resolved.entry.is_gap());
    Some(Broken {
        rule: RIDE_THROUGH_OFF.name,
        device: n,
        setting: state,
        with: Vec::new(),
        outcome: Outcome::DoesNotComply,
        basis: asked.filter_map(|resolved| standing(&resolved.entry, &device.book.rulebook)).max(),
        says: format!(
            "{} is not enabled, and the device has to stay on through disturbances; {}",
            state.function().title,
            Harm::DropsOutTooEasily.phrase()
        ),
        hint: "read it again on the device. Only if it is not enabled, enable it".to_owned(),
    })
}
