//! Faults of a whole device: the values of somewhere else, or of another time.

use super::UnmetKind;
use crate::assess::{of_version, regions_of};
use crate::exercise::chance::Chance;
use crate::exercise::scene::Scene;
use crate::exercise::trouble::{Spot, What};
use serde_json::{Value as Json, json};
use settings_model::catalogue::{Equipment, SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;

pub(super) const REGION_NEVER_SELECTED: UnmetKind = UnmetKind {
    name: "region-never-selected",
    happened: "the device was put to work as it came out of its box: no region was ever selected",
    looks_like: "no region is recorded as selected, and the values are those of another region",
    teaches: "a region is selected first; everything else is entered on top of it",
    mended_by: "select the region, enter what the network asks, read every value back",
    fewest: 2,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let (_, values) = another_region(scene, chance, inverter)?;
        put_all(scene, inverter, values);
        scene.select(inverter, None);
        Some(())
    },
};

pub(super) const OTHER_REGION_SELECTED: UnmetKind = UnmetKind {
    name: "other-region-selected",
    happened: "another region was selected, and what the network asks was entered on top of it",
    looks_like: "another region is recorded as selected; the values that come with a region are that region's",
    teaches: "regions differ in a few values only, such as 249 V against 258 V: read back which one is selected",
    mended_by: "select the right region, then enter what the network asks anew: selecting may have undone it",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let (region, values) = another_region(scene, chance, inverter)?;
        let brought: Vec<_> = values.into_iter().filter(|(setting, _)| !scene.inverters[inverter].is_moved_by_network(*setting)).collect();
        put_all(scene, inverter, brought);
        scene.select(inverter, Some(&region));
        Some(())
    },
};

pub(super) const LABEL_OVER_OTHER_VALUES: UnmetKind = UnmetKind {
    name: "label-over-other-values",
    happened: "the region was put right in the records, or on the display alone: the device kept the values of the one before",
    looks_like: "the right region is recorded as selected, over the values of another region",
    teaches: "a label proves nothing: read values back",
    mended_by: "select the region again, confirm it as the manual says, and read every value back",
    fewest: 2,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let (_, values) = another_region(scene, chance, inverter)?;
        put_all(scene, inverter, values);
        Some(())
    },
};

pub(super) const FIRMWARE_DEFAULTS: UnmetKind = UnmetKind {
    name: "firmware-defaults",
    happened: "a firmware update put the device back to its region's own values",
    looks_like: "the right region, and every value that the network had moved is back at the region's own; no warranty replacement",
    teaches: "after an update the settings are read back, every one",
    mended_by: "enter what the network asks, as `asleft sheet SITE` lists it under ENTER, and read every value back",
    fewest: 2,
    put: |scene, chance| {
        if scene.draft.work() == Some(SWAPPED) {
            return None;
        }
        let inverter = chance.below(scene.inverters.len());
        back_to_region(scene, inverter)
    },
};

/// The word for a warranty swap under `work`.
pub(super) const SWAPPED: &str = "warranty-replacement";

pub(super) const WARRANTY_SWAP: UnmetKind = UnmetKind {
    name: "warranty-swap-at-factory-values",
    happened: "a device was swapped under warranty and left as the factory sets it",
    looks_like: "the work is a warranty replacement; the network's values are missing, and voltage responses and export limit are off",
    teaches: "a swapped device is commissioned like a new one",
    mended_by: "commission it as a new device: the whole settings sheet, from the region on",
    fewest: 2,
    put: |scene, chance| {
        if scene.draft.work() != Some(SWAPPED) {
            return None;
        }
        let inverter = chance.below(scene.inverters.len());
        // that a network moves nothing is no hindrance
        let _ = back_to_region(scene, inverter);
        for state in ["volt-watt/state", "volt-var/state", "export-limit/state"].into_iter().filter_map(SettingId::named) {
            if scene.holds(inverter, state, "enabled") {
                scene.hold(inverter, state, json!("off"));
            }
        }
        Some(())
    },
};

pub(super) const SUPERSEDED_ISSUE: UnmetKind = UnmetKind {
    name: "superseded-issue",
    happened: "the settings were entered by an issue of the network's document that no longer governs the site",
    looks_like: "what the network asks was entered, but as an earlier issue had it",
    teaches: "which issue governs depends on the dates of application, approval and installation",
    mended_by: "find out which issue governs, and enter its values",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let earlier = earlier_issues(scene, inverter);
        let values = chance.pick(&earlier)?.clone();
        // of what was not asked then, the region's own is left
        let unasked = network_asks(scene, inverter).into_iter().filter(|setting| values.iter().all(|(other, _)| other != setting));
        let region_alone: Vec<_> =
            unasked.filter_map(|setting| Some((setting, scene.inverters[inverter].of_region_alone(setting)?))).collect();
        put_all(scene, inverter, values.into_iter().chain(region_alone).collect());
        // what is all back at the region's own might as well come of an update
        scene.stated(inverter).into_iter().any(|setting| is_neither(scene, inverter, setting)).then_some(())
    },
};

/// Whether a setting was changed to something else than the region's own.
fn is_neither(scene: &Scene<'_>, inverter: usize, setting: SettingId) -> bool {
    let of = &scene.inverters[inverter];
    let spot = Spot { device: of.name.clone(), what: What::Setting(setting) };
    scene.edited.contains(&spot) && of.of_region_alone(setting).as_ref() != scene.held(inverter, setting)
}

pub(super) const READ_BETWEEN_LINES: UnmetKind = UnmetKind {
    name: "read-between-lines",
    happened: "the thresholds were entered between two lines on a device that counts line to neutral",
    looks_like: "every voltage threshold is 1.732 times what is required",
    teaches: "a voltage says nothing without what it is measured between",
    mended_by: "find out what the display counts, then enter the thresholds line to neutral",
    fewest: 2,
    put: |scene, chance| {
        let three_phase: Vec<usize> = (0..scene.inverters.len()).filter(|n| feeds_three_phases(scene, *n)).collect();
        let inverter = *chance.pick(&three_phase)?;
        for threshold in scene.thresholds(inverter) {
            if let Some((volts, Dimension::Voltage)) = scene.number(inverter, threshold) {
                let between_lines = (volts * Exact::new(1_732_051, 6)).rounded(0);
                scene.hold_number(inverter, threshold, between_lines, Dimension::Voltage);
            }
        }
        Some(())
    },
};

/// What each earlier issue of the network's document asked.
pub(super) fn earlier_issues(scene: &mut Scene<'_>, inverter: usize) -> Vec<Vec<(SettingId, Json)>> {
    let Some(network) = scene.draft.0.get("network").and_then(Json::as_str).map(str::to_owned) else { return Vec::new() };
    let layers = &scene.inverters[inverter].book.rulebook.layers;
    let own = layers.iter().find(|layer| layer.key == network).and_then(|layer| semver::Version::parse(&layer.version).ok());
    let (region, all) = (scene.region(inverter), scene.assessor.library.versions(&network));
    let earlier = all.into_iter().filter(|version| own.as_ref().is_some_and(|own| version < own));
    let asked = earlier.filter_map(|version| {
        let before = of_version(&network, &version, &region, scene.assessor)?;
        Some(scene.inverters[inverter].values_of(before.books().on(Equipment::Inverter)))
    });
    asked.collect()
}

fn feeds_three_phases(scene: &Scene<'_>, inverter: usize) -> bool {
    scene.draft.0["devices"][&scene.inverters[inverter].name]["phases"] == json!(3)
}

/// Another region of the standard that the site stands under, and what it asks of an inverter.
fn another_region(scene: &mut Scene<'_>, chance: &mut Chance, inverter: usize) -> Option<(String, Vec<(SettingId, Json)>)> {
    let (standard, own) = (scene.standard(), scene.region(inverter));
    let others: Vec<_> = regions_of(&standard, scene.assessor).into_iter().filter(|other| other.region != own).collect();
    let other = chance.pick(&others)?;
    let values = scene.inverters[inverter].values_of(other.books().on(Equipment::Inverter));
    Some((other.region.clone(), values))
}

/// Puts in values of what the inverter states: what a device does not show it does not show with other values either.
fn put_all(scene: &mut Scene<'_>, inverter: usize, values: Vec<(SettingId, Json)>) {
    for (setting, value) in values {
        // of a range, another place in it is no difference
        let is_range = matches!(setting.parameter().shape, Shape::Quantity(_)) && keeps(scene, inverter, setting, &value);
        if scene.held(inverter, setting).is_some() && !is_range {
            scene.hold(inverter, setting, value);
        }
    }
}

/// Whether what the inverter holds is as good as another value for what it is asked.
fn keeps(scene: &Scene<'_>, inverter: usize, setting: SettingId, value: &Json) -> bool {
    let Some(resolved) = scene.inverters[inverter].asked.requirement.get(setting) else { return false };
    let shape = setting.parameter().shape;
    let Shape::Quantity(dimension) = shape else { return false };
    let parsed = value.as_str().and_then(|text| dimension.parse(text).ok());
    let held = parsed.map(settings_model::value::Value::Quantity);
    held.is_some_and(|held| resolved.entry.comply.iter().all(|claim| held.keeps(claim) == Some(true)))
}

/// The settings for which a network asks otherwise than the region brings.
fn network_asks(scene: &Scene<'_>, inverter: usize) -> Vec<SettingId> {
    let of = &scene.inverters[inverter];
    scene.stated(inverter).into_iter().filter(|setting| of.is_moved_by_network(*setting)).collect()
}

/// Puts back to the region's own what the network moved, and off what only the network asks for.
fn back_to_region(scene: &mut Scene<'_>, inverter: usize) -> Option<()> {
    let moved = network_asks(scene, inverter);
    if moved.is_empty() {
        return None;
    }
    for setting in moved {
        match scene.inverters[inverter].of_region_alone(setting) {
            Some(value) => scene.hold(inverter, setting, value),
            None if setting.is_state() && scene.holds(inverter, setting, "enabled") => scene.hold(inverter, setting, json!("off")),
            None => {}
        }
    }
    Some(())
}
