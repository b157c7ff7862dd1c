//! Faults of what answers to voltage and frequency.

use super::UnmetKind;
use super::whole_device::{SWAPPED, earlier_issues};
use crate::assess::regions_of;
use crate::exercise::scene::Scene;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{Equipment, SettingId};

const VOLT_VAR: SettingId = SettingId::of("volt-var", "points");

pub(super) const VOLT_VAR_SIGNS_REVERSED: UnmetKind = UnmetKind {
    name: "volt-var-signs-reversed",
    happened: "the curve was entered with the signs of a device that counts the other way",
    looks_like: "every level of the volt-var curve has the other sign: it supplies where it must absorb",
    teaches: "which sign absorbs is the device's own affair; a curve the wrong way round drives the voltage up",
    mended_by: "find out from the manual which sign the device calls absorbing, then turn the signs round",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let points = scene.held(inverter, VOLT_VAR)?.as_array()?.clone();
        let turned: Option<Vec<Json>> = points.iter().map(|point| Some(json!([point.get(0)?, turned(point.get(1)?.as_str()?)]))).collect();
        scene.hold(inverter, VOLT_VAR, Json::Array(turned?));
        Some(())
    },
};

/// A level with the other sign.
fn turned(level: &str) -> String {
    match level.strip_prefix('-') {
        Some(positive) => positive.to_owned(),
        None if level.starts_with('0') && !level.contains('.') => level.to_owned(),
        None => format!("-{level}"),
    }
}

pub(super) const TWO_REACTIVE_MODES: UnmetKind = UnmetKind {
    name: "two-reactive-modes",
    happened: "a fixed power factor from an earlier approval stayed enabled beside volt-var",
    looks_like: "volt-var and a fixed power factor are both enabled",
    teaches: "only one function sets reactive power; with two, which of them acts is not defined",
    mended_by: "leave the one that is asked for enabled, and switch the other off",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let modes = ["volt-var/state", "fixed-power-factor/state"].map(SettingId::named);
        let [volt_var, fixed] = [modes[0]?, modes[1]?];
        let [first, second] = if scene.holds(inverter, fixed, "enabled") { [fixed, volt_var] } else { [volt_var, fixed] };
        let is_one_of_two = scene.holds(inverter, first, "enabled") && !scene.holds(inverter, second, "enabled");
        is_one_of_two.then(|| scene.hold(inverter, second, json!("enabled")))
    },
};

pub(super) const SUPERSEDED_CURVE: UnmetKind = UnmetKind {
    name: "superseded-curve",
    happened: "a curve was copied from an older job: it is that of a superseded edition or issue",
    looks_like: "one curve is that of an older edition or issue; everything else is right",
    teaches: "yesterday's sheet is not today's requirement",
    mended_by: "enter the curve of the edition and issue that govern the site",
    fewest: 1,
    put: |scene, chance| {
        let inverter = chance.below(scene.inverters.len());
        let mut older = curves_of_older_editions(scene, inverter);
        older.extend(earlier_issues(scene, inverter).into_iter().flatten().filter(|(_, value)| value.is_array()));
        older.retain(|(setting, points)| scene.held(inverter, *setting).is_some_and(|held| held != points));
        let (setting, points) = chance.pick(&older)?.clone();
        scene.hold(inverter, setting, points);
        Some(())
    },
};

/// The curves of other editions of the standard, and of what it took the place of.
fn curves_of_older_editions(scene: &mut Scene<'_>, inverter: usize) -> Vec<(SettingId, Json)> {
    let own = scene.standard();
    let mut curves = Vec::new();
    for edition in scene.assessor.library.other_editions(&own, &mut scene.assessor.sources) {
        for other in regions_of(&edition, scene.assessor) {
            let values = scene.inverters[inverter].values_of(other.books().on(Equipment::Inverter));
            curves.extend(values.into_iter().filter(|(_, value)| value.is_array()));
        }
    }
    curves
}

pub(super) const RESPONSE_OFF: UnmetKind = UnmetKind {
    name: "response-off",
    happened: "a response that costs the owner energy was switched off",
    looks_like: "volt-watt, volt-var or an answer to frequency is off that has to be enabled; limits are where they belong",
    teaches: "the responses keep the voltage and the frequency for everybody; they are part of the approval",
    mended_by: "enable the response, and read its points back",
    fewest: 1,
    put: |scene, chance| {
        if scene.draft.work() == Some(SWAPPED) {
            return None; // it could not be told from a swapped device's factory values
        }
        let inverter = chance.below(scene.inverters.len());
        let states = ["volt-watt/state", "volt-var/state", "over-frequency-response/state", "under-frequency-response/state"];
        let enabled: Vec<SettingId> =
            states.into_iter().filter_map(SettingId::named).filter(|state| scene.holds(inverter, *state, "enabled")).collect();
        let state = *chance.pick(&enabled)?;
        scene.hold(inverter, state, json!("off"));
        Some(())
    },
};
