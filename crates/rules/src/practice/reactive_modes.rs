//! Only one function may set reactive power.

use super::{Broken, PRACTICE, Rule, Site};
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Limit, Words};
use settings_model::finding::Outcome;
use settings_model::requirement::Requirement;
use settings_model::ties::{AUSTRALIA_A, Example};

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
    looks_at: |_, _, setting| MODES.contains(&setting),
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

fn check(site: &Site<'_>) -> Vec<Broken> {
    let of_device = |(device, result): (usize, &crate::assess::DeviceResult<'_>)| {
        let mut enabled = MODES.into_iter().filter(|mode| result.settings.is_enabled(*mode));
        let (first, second) = (enabled.next()?, enabled.next()?);
        let titles = [first, second].map(|mode| mode.function().title.to_lowercase());
        Some(Broken {
            rule: TWO_REACTIVE_MODES.name,
            device,
            setting: second,
            with: vec![first],
            outcome: Outcome::DoesNotComply,
            says: format!("{} and {} are both enabled; which one acts is chance", titles[0], titles[1]),
            hint: "enable the one that is asked for, and switch the other off".to_owned(),
        })
    };
    site.devices.iter().enumerate().filter_map(of_device).collect()
}
