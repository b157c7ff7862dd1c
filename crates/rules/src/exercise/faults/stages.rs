//! Faults of trip stages, and of connecting again.

use super::UnmetKind;
use crate::exercise::chance::Chance;
use crate::exercise::scene::Scene;
use serde_json::json;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

pub(super) const NUISANCE_TRIPS_LOOSENED: UnmetKind = UnmetKind {
    name: "loosened-to-stop-nuisance-trips",
    happened: "an owner complained of drop-outs; limits were raised and volt-watt switched off until it ran through",
    looks_like: "overvoltage thresholds are above what is required, and volt-watt is off",
    teaches: "a drop-out is diagnosed by measuring, never by raising a limit",
    mended_by: "put the limits back and volt-watt on; measure the voltage at the terminals and the supply, and work out the rise",
    fewest: 2,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let raised = Exact::from(4 + chance.below(6) as i64);
        for threshold in ["sustained-overvoltage/threshold", "overvoltage-1/threshold"].into_iter().filter_map(SettingId::named) {
            if let Some((volts, dimension)) = scene.number(inverter, threshold) {
                scene.hold_number(inverter, threshold, (volts + raised).rounded(0), dimension);
            }
        }
        let volt_watt = SettingId::named("volt-watt/state")?;
        scene.holds(inverter, volt_watt, "enabled").then(|| scene.hold(inverter, volt_watt, json!("off")))
    },
};

pub(super) const DELAY_SHORTENED: UnmetKind = UnmetKind {
    name: "delay-shortened",
    happened: "a trip delay was set shorter, perhaps to be on the safe side",
    looks_like: "one stage's delay or clearing time is below what is required; its threshold is right",
    teaches: "too fast is a fault too: the network needs the device to stay on through a short dip",
    mended_by: "set the delay to what is required",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let is_time = |setting: &SettingId| matches!(setting.parameter().key, "definite-delay" | "operate-time" | "clearing-time");
        let acts = |setting: &SettingId| setting.state().is_none_or(|state| !scene.holds(inverter, state, "off"));
        let times: Vec<SettingId> = scene.stated(inverter).into_iter().filter(|setting| is_time(setting) && acts(setting)).collect();
        let time = *chance.pick(&times)?;
        let (seconds, dimension) = scene.number(inverter, time)?;
        let share = *chance.pick(&[Exact::new(1, 1), Exact::new(2, 1), Exact::new(4, 1)])?;
        let shorter = (seconds * share).rounded(2);
        (shorter > Exact::ZERO && shorter < seconds).then(|| scene.hold_number(inverter, time, shorter, dimension))
    },
};

pub(super) const STAGE_OFF: UnmetKind = UnmetKind {
    name: "stage-off",
    happened: "a trip stage was switched off for a test and never on again",
    looks_like: "one trip stage is off that has to be enabled",
    teaches: "what was switched off for a test is written down, and switched on before leaving",
    mended_by: "enable the stage, and read its threshold and time back",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let states: Vec<SettingId> = scene.thresholds(inverter).into_iter().filter_map(SettingId::state).collect();
        let enabled: Vec<SettingId> = states.into_iter().filter(|state| scene.holds(inverter, *state, "enabled")).collect();
        let state = *chance.pick(&enabled)?;
        scene.hold(inverter, state, json!("off"));
        Some(())
    },
};

pub(super) const STAGE_NOBODY_ASKED_FOR: UnmetKind = UnmetKind {
    name: "stage-nobody-asked-for",
    happened: "a loss-of-mains stage that another country asks for was left enabled",
    looks_like: "vector shift or rate of change of frequency is enabled, and no requirement asks for it",
    teaches: "more protection is not better: a stage that nobody asked for cuts into what the device must ride through",
    mended_by: "switch it off, or have the network operator ask for it in writing",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let states = ["vector-shift/state", "rate-of-change-of-frequency/state"].map(SettingId::named);
        let off: Vec<SettingId> = states.into_iter().flatten().filter(|state| scene.holds(inverter, *state, "off")).collect();
        let state = *chance.pick(&off)?;
        scene.hold(inverter, state, json!("enabled"));
        Some(())
    },
};

pub(super) const DIGITS_SWAPPED: UnmetKind = UnmetKind {
    name: "digits-swapped",
    happened: "two digits changed places when a threshold was typed in",
    looks_like: "one threshold has the digits of the required one, in another order",
    teaches: "read every value back from the device, not from the sheet",
    mended_by: "enter the threshold again, and read it back",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let mut swaps: Vec<(SettingId, Exact, Dimension)> = Vec::new();
        for threshold in scene.thresholds(inverter) {
            let Some((number, dimension)) = scene.number(inverter, threshold) else { continue };
            swaps.extend(swapped(number).into_iter().map(|other| (threshold, other, dimension)));
        }
        let (threshold, other, dimension) = *chance.pick(&swaps)?;
        scene.hold_number(inverter, threshold, other, dimension);
        Some(())
    },
};

/// The numbers that come of two neighbouring digits in the wrong order, as far as nobody would notice at once.
fn swapped(number: Exact) -> Vec<Exact> {
    let text = number.to_string();
    let of_pair = |at: usize| {
        let mut bytes = text.clone().into_bytes();
        bytes.swap(at, at + 1);
        let other = Exact::parse(&String::from_utf8(bytes).ok()?).ok()?;
        let is_near = (other - number).abs() * Exact::from(5) < number;
        (is_near && other != number).then_some(other)
    };
    (0..text.len().saturating_sub(1)).filter_map(of_pair).collect()
}

pub(super) const RECONNECTS_TOO_SOON: UnmetKind = UnmetKind {
    name: "reconnects-too-soon",
    happened: "the observation time was cut so that the device is back sooner after an outage",
    looks_like: "the observation time before connecting is shorter than required",
    teaches: "after an outage the network has to settle before everybody comes back",
    mended_by: "set the observation time to what is required",
    fewest: 1,
    put: |scene, chance: &mut Chance| {
        let inverter = chance.below(scene.inverters.len());
        sooner(scene, chance, inverter)
    },
};

fn sooner(scene: &mut Scene<'_>, chance: &mut Chance, inverter: usize) -> Option<()> {
    let time = SettingId::named("reconnection/observation-time")?;
    let (seconds, dimension) = scene.number(inverter, time)?;
    let share = *chance.pick(&[Exact::new(1, 1), Exact::new(25, 2), Exact::new(5, 1)])?;
    scene.hold_number(inverter, time, (seconds * share).rounded(0), dimension);
    Some(())
}
