//! Faults of export limits, and of the sensor that they act by.

use super::UnmetKind;
use super::whole_device::SWAPPED;
use crate::exercise::scene::Scene;
use serde_json::json;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

const STATE: SettingId = SettingId::of("export-limit", "state");
const LIMIT: SettingId = SettingId::of("export-limit", "site-total");
const COUNTS: SettingId = SettingId::of("export-limit", "counts");
const DIRECTION: SettingId = SettingId::of("export-sensor", "direction");
const PHASE: SettingId = SettingId::of("export-sensor", "phase");
const FITTED: SettingId = SettingId::of("export-sensor", "ratio-fitted");
const ENTERED: SettingId = SettingId::of("export-sensor", "ratio-entered");
const MASTER: SettingId = SettingId::of("export-sensor", "master");

pub(super) const SENSOR_REVERSED: UnmetKind = UnmetKind {
    name: "sensor-reversed",
    happened: "the export sensor was put on the wrong way round",
    looks_like: "the sensor's direction is reversed: export looks like import, and the limit never acts",
    teaches: "a limit is shown by a test with a known flow, not by its setting",
    mended_by: "isolate, turn the sensor round, then show by switching a known load that the limit acts",
    fewest: 1,
    put: |scene, _| {
        let inverter = with_word(scene, DIRECTION, "correct")?;
        scene.hold(inverter, DIRECTION, json!("reversed"));
        Some(())
    },
};

pub(super) const SENSOR_ON_OTHER_PHASE: UnmetKind = UnmetKind {
    name: "sensor-on-other-phase",
    happened: "the export sensor sits on another phase than the device takes it for",
    looks_like: "the sensor's phase is another one",
    teaches: "each sensor is shown by a load on its own phase",
    mended_by: "isolate, move the sensor to its own phase, then show by a load on that phase that it is seen",
    fewest: 1,
    put: |scene, _| {
        let inverter = with_word(scene, PHASE, "own")?;
        scene.hold(inverter, PHASE, json!("other"));
        Some(())
    },
};

pub(super) const SENSOR_RATIO_WRONG: UnmetKind = UnmetKind {
    name: "sensor-ratio-wrong",
    happened: "the ratio of the current transformer was left at what the device comes with",
    looks_like: "the ratio entered is not that of the transformer fitted: every limit acts at a multiple of itself",
    teaches: "the ratio is read on the transformer's nameplate",
    mended_by: "enter the ratio of the transformer that is fitted",
    fewest: 1,
    put: |scene, chance| {
        let inverter = (0..scene.inverters.len()).find(|n| scene.number(*n, FITTED).is_some() && scene.number(*n, ENTERED).is_some())?;
        let (fitted, _) = scene.number(inverter, FITTED)?;
        let common: Vec<Exact> = [20, 40, 60, 80, 100].map(Exact::from).into_iter().filter(|ratio| *ratio != fitted).collect();
        let entered = *chance.pick(&common)?;
        scene.hold(inverter, ENTERED, serde_json::from_str(&entered.to_string()).ok()?);
        Some(())
    },
};

pub(super) const LIMIT_PER_PHASE: UnmetKind = UnmetKind {
    name: "limit-entered-per-phase",
    happened: "the site's export limit was entered on a device that counts it on each phase",
    looks_like: "the limit is the site's, and the device counts it on each phase: the site may export three times as much",
    teaches: "ask what the number means on this device before entering it",
    mended_by: "have the device count the site's total, or enter the limit divided by the phases",
    fewest: 1,
    put: |scene, _| {
        let inverter = with_word(scene, COUNTS, "site-total")?;
        scene.hold(inverter, COUNTS, json!("each-phase"));
        Some(())
    },
};

pub(super) const LIMIT_HELD_TWICE: UnmetKind = UnmetKind {
    name: "limit-held-twice",
    happened: "a second inverter was added, and each holds the whole limit by itself",
    looks_like: "several inverters hold the site's limit, and each takes itself for the one that limits",
    teaches: "a limit of the site is held once, or shared out",
    mended_by: "let one device measure and hold the limit for all, or share it out",
    fewest: 1,
    put: |scene, _| {
        let follower = with_word(scene, MASTER, "another-device")?;
        scene.hold(follower, MASTER, json!("this-device"));
        Some(())
    },
};

pub(super) const LIMIT_ABOVE_APPROVAL: UnmetKind = UnmetKind {
    name: "limit-above-approval",
    happened: "the export limit was left at the rating of the device",
    looks_like: "the export limit is above the export that is approved",
    teaches: "the approval limits the site, whatever the device could do",
    mended_by: "set the limit to what is approved",
    fewest: 1,
    put: |scene, chance| {
        let holders: Vec<usize> = (0..scene.inverters.len()).filter(|n| scene.holds(*n, STATE, "enabled")).collect();
        let inverter = *chance.pick(&holders)?;
        let (watts, _) = scene.number(inverter, LIMIT)?;
        let more = *chance.pick(&[Exact::new(12, 1), Exact::new(15, 1), Exact::from(2)])?;
        let above = if watts == Exact::ZERO { Exact::from(5000) } else { watts * more };
        scene.hold_number(inverter, LIMIT, above, Dimension::ActivePower);
        Some(())
    },
};

pub(super) const LIMIT_OFF: UnmetKind = UnmetKind {
    name: "export-limit-off",
    happened: "the export limit was entered, and never enabled",
    looks_like: "the export limit has its value and is off",
    teaches: "stating a value switches nothing on",
    mended_by: "enable the limit, and show by a test that it acts",
    fewest: 1,
    put: |scene, _| {
        if scene.draft.work() == Some(SWAPPED) {
            return None; // it could not be told from a swapped device's factory values
        }
        let inverter = (0..scene.inverters.len()).find(|n| scene.holds(*n, STATE, "enabled"))?;
        scene.hold(inverter, STATE, json!("off"));
        Some(())
    },
};

/// The first inverter that states this word of a setting, and whose export limit acts.
fn with_word(scene: &Scene<'_>, setting: SettingId, word: &str) -> Option<usize> {
    (0..scene.inverters.len()).find(|n| scene.holds(*n, setting, word) && scene.holds(*n, STATE, "enabled"))
}
