//! Only one function may set reactive power.

use super::{Broken, PRACTICE, Rule, Site};
use crate::outcome::DeviceResult;
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Limit, Words};
use settings_model::finding::Outcome;
use settings_model::requirement::Requirement;
use settings_model::ties::{AUSTRALIA_A, Example};
use settings_model::value::Value;

/// The rule's name, where it is broken and where requirements ask for it to be.
pub(crate) const NAME: &str = "two-reactive-modes";

pub(super) const TWO_REACTIVE_MODES: Rule = Rule {
    name: NAME,
    sentence: "only one function sets reactive power: volt-var, a fixed power factor, a fixed amount, or one that follows power",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { volt-var: { state: enabled }, fixed-power-factor: { state: enabled, power-factor: 0.95, direction: absorbing } }",
        near_miss: "inverter-1: { volt-var: { state: enabled }, fixed-power-factor: { state: off, power-factor: 0.95, direction: absorbing } }",
        under: AUSTRALIA_A,
    },
    check,
    looks_at: |site, device, setting| MODES.contains(&setting) && acting(&site.devices[device]).any(|mode| mode != setting),
};

const MODES: [SettingId; 5] = [
    SettingId::of("volt-var", "state"),
    SettingId::of("fixed-power-factor", "state"),
    SettingId::of("fixed-reactive-power", "state"),
    SettingId::of("power-dependent-power-factor", "state"),
    SettingId::of("watt-var", "state"),
];

/// Two of them that a requirement has enabled at once, if it does.
pub(crate) fn asked_together(requirement: &Requirement) -> Option<(SettingId, SettingId)> {
    let has_to_be_enabled = |mode: &SettingId| {
        let claims = requirement.get(*mode).map(|resolved| &resolved.entry.comply);
        claims.is_some_and(|claims| claims.iter().any(|claim| matches!(claim.limit, Limit::OneOf(words) if words == Words::one(ENABLED))))
    };
    let mut asked = MODES.into_iter().filter(has_to_be_enabled);
    Some((asked.next()?, asked.next()?))
}

/// The modes that are enabled, as the device states or its region brings; one that is stated comes last, for it is
/// where the finding points.
fn acting(device: &DeviceResult<'_>) -> impl Iterator<Item = SettingId> {
    let acts = |mode: &SettingId| device.held().value_of(*mode) == Some(&Value::Word(ENABLED));
    let (stated, brought): (Vec<_>, Vec<_>) = MODES.into_iter().filter(acts).partition(|mode| device.settings.states(*mode));
    brought.into_iter().chain(stated)
}

fn check(site: &Site<'_>) -> Vec<Broken> {
    let of_device = |(device, result): (usize, &DeviceResult<'_>)| {
        let mut acting = acting(result);
        let (first, second) = (acting.next()?, acting.next().filter(|second| result.settings.states(*second))?);
        let titles = [first, second].map(|mode| mode.function().title.to_lowercase());
        let is_stated = result.settings.states(first);
        let by_region = if is_stated { "" } else { ", which the selected region brings," };
        let hint = if is_stated {
            "enable the one that is asked for, and switch the other off"
        } else {
            "read both on the device, and state them: many switch one off as the other is enabled; only one of them may act"
        };
        Some(Broken {
            rule: TWO_REACTIVE_MODES.name,
            device,
            setting: second,
            with: if is_stated { vec![first] } else { Vec::new() },
            // what the region brings nobody read: the device may have switched it off
            outcome: if is_stated { Outcome::DoesNotComply } else { Outcome::NotProven },
            basis: None,
            says: format!("{}{by_region} and {} are both enabled; which of them acts is not defined", titles[0], titles[1]),
            hint: hint.to_owned(),
        })
    };
    site.devices.iter().enumerate().filter_map(of_device).collect()
}
