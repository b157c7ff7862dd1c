//! Trip stages that nobody asked for.

use super::{Broken, PRACTICE, Rule, Site};
use settings_model::catalogue::SettingId;
use settings_model::finding::Outcome;
use settings_model::ties::Example;

pub(super) const STAGE_NOBODY_ASKED_FOR: Rule = Rule {
    name: "stage-nobody-asked-for",
    sentence: "no trip stage is enabled that no layer asks for: it may cut into what the device must ride through",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { vector-shift: { state: enabled, threshold: 10 deg } }",
        near_miss: "inverter-1: { vector-shift: { state: off, threshold: 10 deg } }",
    },
    check,
};

fn check(site: &Site<'_>) -> Vec<Broken> {
    let mut broken = Vec::new();
    for (device, result) in site.devices.iter().enumerate() {
        // a kind of device that no layer speaks of at all is not judged
        if !result.book.rulebook.says_anything() {
            continue;
        }
        let (requirement, rulebook) = (&result.counted.requirement, &result.book.rulebook);
        let asked = |state| requirement.asks_of_function(state) || (result.counted.hangs && rulebook.speaks_of_function(state));
        let enabled = SettingId::trip_stages().filter(|state| result.settings.is_enabled(*state));
        broken.extend(enabled.filter(|state| !asked(*state)).map(|state| Broken {
            rule: STAGE_NOBODY_ASKED_FOR.name,
            device,
            setting: state,
            with: Vec::new(),
            outcome: Outcome::DoesNotComply,
            says: format!("{} is enabled, and no layer asks for it; drops out too easily", state.function().title),
            hint: "switch it off, or have the network operator ask for it in writing".to_owned(),
        }));
    }
    broken
}
