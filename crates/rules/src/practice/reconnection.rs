//! Reconnecting only to trip again.

use super::{Broken, PRACTICE, Rule, Site};
use crate::outcome::DeviceResult;
use settings_model::catalogue::SettingId;
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
use settings_model::ties::{AUSTRALIA_A, Example};

/// A remark and no fault: the average needs ten minutes, the window looks at once.
pub(super) const RECONNECTS_ABOVE_AVERAGE_LIMIT: Rule = Rule {
    name: "reconnects-above-average-limit",
    sentence: "a device that connects at a voltage above its 10-minute limit may connect only to trip again",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { sustained-overvoltage: { threshold: 252 V }, reconnection: { upper-voltage: 253 V } }",
        near_miss: "inverter-1: { sustained-overvoltage: { threshold: 253 V }, reconnection: { upper-voltage: 253 V } }",
        under: AUSTRALIA_A,
    },
    check,
    looks_at: |site, device, setting| {
        let both = [UPPER, LIMIT];
        both.contains(&setting) && both.iter().all(|one| site.devices[device].settings.states(*one))
    },
};

const UPPER: SettingId = SettingId::of("reconnection", "upper-voltage");
const LIMIT: SettingId = SettingId::of("sustained-overvoltage", "threshold");

fn is_as_its_region(result: &DeviceResult<'_>, setting: SettingId) -> bool {
    let base = result.counted.requirement.get(setting).and_then(|resolved| resolved.base.require.as_ref());
    base.is_some() && base == result.settings.get(setting).map(|known| &known.value)
}

fn check(site: &Site<'_>) -> Vec<Broken> {
    let volts =
        |result: &DeviceResult<'_>, name| -> Option<Exact> { result.settings.get(name)?.value.part(Part::Whole)?.at(&result.facts) };
    let of_device = |(device, result): (usize, &DeviceResult<'_>)| {
        let (window, trip) = (volts(result, UPPER)?, volts(result, LIMIT)?);
        let show = |volts| Dimension::Voltage.show(volts);
        // where the standard's own region has it so, it is meant so
        let is_meant = || is_as_its_region(result, UPPER) && is_as_its_region(result, LIMIT);
        (window > trip && !is_meant()).then(|| Broken {
            rule: RECONNECTS_ABOVE_AVERAGE_LIMIT.name,
            device,
            setting: UPPER,
            with: vec![LIMIT],
            outcome: Outcome::Remark,
            basis: None,
            says: format!("connects up to {}, above the 10-minute limit of {}: may connect and trip again", show(window), show(trip)),
            hint: "ask the network operator whether the window should follow the limit".to_owned(),
        })
    };
    site.devices.iter().enumerate().filter_map(of_device).collect()
}
