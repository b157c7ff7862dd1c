//! Trip stages that nobody asked for.

use super::{Broken, PRACTICE, Rule, Site};
use settings_model::finding::Outcome;
use settings_model::ties::{AUSTRALIA_A, Example};

pub(super) const STAGE_NOBODY_ASKED_FOR: Rule = Rule {
    name: "stage-nobody-asked-for",
    sentence: "no trip stage is enabled that no requirement asks for: it may cut into what the device must ride through",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { vector-shift: { state: enabled, threshold: 10 deg } }",
        near_miss: "inverter-1: { vector-shift: { state: off, threshold: 10 deg } }",
        under: AUSTRALIA_A,
    },
    check,
    looks_at: |site, device, setting| site.devices[device].counted.unasked_stages.contains(&setting),
};

fn check(site: &Site<'_>) -> Vec<Broken> {
    let mut broken = Vec::new();
    for (device, result) in site.devices.iter().enumerate() {
        let enabled = result.counted.unasked_stages.iter().copied().filter(|state| result.settings.is_enabled(*state));
        broken.extend(enabled.map(|state| Broken {
            rule: STAGE_NOBODY_ASKED_FOR.name,
            device,
            setting: state,
            with: Vec::new(),
            outcome: Outcome::DoesNotComply,
            basis: None,
            says: format!("{} is enabled, and no requirement asks for it; trips too early", state.function().title),
            hint: "switch it off, or have the network operator ask for it in writing".to_owned(),
        }));
    }
    broken
}
