//! Trip stages from trip curves: each point in use is a stage, its threshold and its time.
//!
//! The models have no names of stages, and their points come in any order: the stage nearest to nominal
//! is the first. The time of the newer models is taken as a clearing time, as IEEE 1547 has it; that of
//! the older ones is not said to be one, so it counts only where it complies under every meaning.

use super::Origin;
use super::bases::{Base, Bases, Converted};
use super::collected::{At, Collected, in_steps, setting};
use super::device::DeviceModels;
use super::states::{self, Mode};
use crate::decode::{Decoded, Parts};
use crate::trouble::TroubleKind;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;
use settings_model::value::Value;

/// One side on which a device trips.
struct Side {
    /// The newer model and the older one.
    models: [u16; 2],
    mode: Mode,
    /// The stages, the one nearest to nominal first.
    stages: &'static [&'static str],
    /// The point of the threshold.
    level: &'static str,
    /// Whether it trips below its thresholds.
    is_low: bool,
}

const SIDES: [Side; 4] = [
    Side {
        models: [707, 129],
        mode: Mode::LowVoltageTrip,
        stages: &["undervoltage-1", "undervoltage-2", "undervoltage-3"],
        level: "V",
        is_low: true,
    },
    Side {
        models: [708, 130],
        mode: Mode::HighVoltageTrip,
        stages: &["overvoltage-1", "overvoltage-2", "overvoltage-3"],
        level: "V",
        is_low: false,
    },
    Side { models: [709, 135], mode: Mode::LowFrequencyTrip, stages: &["underfrequency-1", "underfrequency-2"], level: "Hz", is_low: true },
    Side { models: [710, 136], mode: Mode::HighFrequencyTrip, stages: &["overfrequency-1", "overfrequency-2"], level: "Hz", is_low: false },
];

pub(super) fn read(device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
    for side in &SIDES {
        match device.first_of(&side.models) {
            None => states::without_model(device, side.mode, &side.models, side.stages, collected),
            Some(id) => {
                super::curves::older_too(device, id, &side.models, collected);
                let Some(decoded) = device.model(id) else { continue };
                side.read(decoded, device, bases.base(id), collected);
            }
        }
    }
}

/// The trip curve that counts, and whether it acts.
struct InForce<'d> {
    model: u16,
    /// Off, absent or enabled, and the register that says so.
    switch: Option<(&'static str, Origin)>,
    curve: Option<&'d Parts>,
    /// The way to the curve.
    path: String,
    /// How many points lie there.
    room: usize,
}

/// A stage as the registers say it.
struct Stage {
    threshold: Converted<Amount>,
    threshold_from: Origin,
    level: Exact,
    time: (Exact, Exact),
    time_from: Origin,
}

impl InForce<'_> {
    fn is_newer(&self) -> bool {
        self.model >= 700
    }

    fn acts(&self) -> bool {
        matches!(self.switch, Some(("enabled", _)))
    }
}

impl Side {
    fn read(&self, decoded: &Decoded, device: &DeviceModels, base: &Base, collected: &mut Collected) {
        let it = self.in_force(decoded, device, collected);
        if let Some(("off", from)) = &it.switch {
            let says = format!("the trip of model {} ({}) is switched off", it.model, decoded.model.title);
            collected.trouble(TroubleKind::TripOff, says, (Some(it.model), Some(from.register)), &[]);
        }
        let Some(curve) = it.curve else {
            // no curve of an older model is in force, so nothing trips
            if let (false, Some((_, from))) = (it.is_newer(), &it.switch) {
                self.all_are("off", from, collected);
            }
            return;
        };
        let has_points = curve.code("ActPt").is_some_and(|used| used > 0);
        if let (Some((word, from)), false, false) = (&it.switch, it.acts(), has_points) {
            return self.all_are(word, from, collected);
        }
        let at = (Some(it.model), curve.point("ActPt").map(|held| held.register));
        let Some(points) = states::in_use(curve, it.room, at, &self.all_settings(), collected) else { return };
        if let Some(stages) = self.stages_of(points, &it, base, collected) {
            self.put(&stages, &it, curve, collected);
        }
    }

    fn in_force<'d>(&self, decoded: &'d Decoded, device: &DeviceModels, collected: &mut Collected) -> InForce<'d> {
        let (model, all) = (decoded.model.id, self.all_settings());
        let room = decoded.parts.code("NPt").map_or(0, usize::from);
        if model >= 700 {
            let switch = states::switched(decoded, "Ena", self.mode, device, &self.states(), collected);
            let curve = states::in_force(decoded, "Crv", &all, collected);
            states::unsettled(decoded, &all, collected);
            let curve = curve.and_then(|curve| curve.groups("MustTrip").first());
            return InForce { model, switch, curve, path: path(decoded, 0, "MustTrip."), room };
        }
        let switch = states::switched_by_bit(decoded, &self.states(), collected);
        let named = states::named(decoded, &all, collected);
        let index = named.map_or(0, |(index, _)| index);
        InForce { model, switch, curve: named.map(|(_, curve)| curve), path: path(decoded, index, ""), room }
    }

    /// Every stage is in one state, whatever its values.
    fn all_are(&self, word: &str, from: &Origin, collected: &mut Collected) {
        self.states().iter().for_each(|state| collected.word(*state, word, from.clone()));
    }

    /// The stages, the one nearest to nominal first.
    fn stages_of(&self, points: &[Parts], it: &InForce<'_>, base: &Base, collected: &mut Collected) -> Option<Vec<Stage>> {
        let (all, model, path) = (self.all_settings(), it.model, &it.path);
        let mut stages = Vec::new();
        for (n, point) in points.iter().enumerate() {
            let at = |name: &str| Some(At { model, path: format!("{path}Pt.{}.{name}", n + 1), held: point.point(name)? });
            let (level_at, time_at) = (at(self.level)?, at("Tms")?);
            let (level, time) = (self.needed(&level_at, &all, collected)?, self.needed(&time_at, &all, collected)?);
            let threshold = if self.level == "V" {
                match Bases::voltage(base, level) {
                    Ok(threshold) => threshold,
                    Err(says) => {
                        let says = format!("{}: {says}", level_at.path);
                        collected.trouble(TroubleKind::BaseUnknown, says, (Some(model), Some(level_at.held.register)), &all);
                        return None;
                    }
                }
            } else {
                Converted { number: Amount::plain(level.0), step: level.1, exact: true }
            };
            stages.push(Stage { threshold, threshold_from: level_at.origin(), level: level.0, time, time_from: time_at.origin() });
        }
        stages.sort_by_key(|stage| stage.level);
        if self.is_low {
            stages.reverse();
        }
        let register = stages.first().map(|stage| stage.threshold_from.register);
        let unclear = stages.windows(2).find(|pair| pair[0].level == pair[1].level || pair[0].time.0 < pair[1].time.0);
        if let Some([one, other]) = unclear {
            let says = match one.level == other.level {
                true => format!("model {model}: two trip points at {} {}; which stages are meant cannot be told", one.level, self.unit()),
                false => format!(
                    "model {model}: the trip point at {} {} is slower than the one at {} {}, which lies nearer to nominal",
                    other.level,
                    self.unit(),
                    one.level,
                    self.unit()
                ),
            };
            collected.trouble(TroubleKind::TripPointsUnclear, says, (Some(model), register), &all);
            return None;
        }
        if stages.len() > self.stages.len() {
            let says = format!(
                "model {model}: {} trip points, and {} stages are known; which of them are meant cannot be told",
                stages.len(),
                self.stages.len()
            );
            collected.trouble(TroubleKind::MoreStages, says, (Some(model), register), &all);
            return None;
        }
        Some(stages)
    }

    /// The number of a point that is in use, so that it has to be there.
    fn needed(&self, at: &At<'_>, all: &[Option<SettingId>], collected: &mut Collected) -> Option<(Exact, Exact)> {
        if at.held.says == crate::decode::Says::NotImplemented {
            let says = format!("{} is in use, and not implemented", at.path);
            collected.trouble(TroubleKind::PointMissing, says, (Some(at.model), Some(at.held.register)), all);
            return None;
        }
        collected.number(Some(at), all)
    }

    fn put(&self, stages: &[Stage], it: &InForce<'_>, curve: &Parts, collected: &mut Collected) {
        let time_key = if it.is_newer() { "clearing-time" } else { "unnamed-time" };
        for (function, stage) in self.stages.iter().zip(stages) {
            if let Some((word, from)) = &it.switch {
                collected.word(setting(function, "state"), word, from.clone());
            }
            let threshold = &stage.threshold;
            let step = in_steps(threshold.step, threshold.exact);
            collected.put(setting(function, "threshold"), Value::Quantity(threshold.number), step, stage.threshold_from.clone());
            let time = Value::Quantity(Amount::plain(stage.time.0));
            collected.put(setting(function, time_key), time, in_steps(stage.time.1, true), stage.time_from.clone());
        }
        let Some(used) = curve.point("ActPt") else { return };
        let from = Origin { model: it.model, point: format!("{}ActPt", it.path), register: used.register, raw: used.raw.clone() };
        // where a curve has no further point, there is no further stage
        for (n, function) in self.stages.iter().enumerate().skip(stages.len()) {
            collected.word(setting(function, "state"), if n < it.room { "off" } else { "absent" }, from.clone());
        }
    }

    fn unit(&self) -> &'static str {
        if self.level == "V" { "%" } else { "Hz" }
    }

    fn states(&self) -> Vec<Option<SettingId>> {
        self.stages.iter().map(|function| setting(function, "state")).collect()
    }

    /// All that a curve says something of.
    fn all_settings(&self) -> Vec<Option<SettingId>> {
        let keys = ["state", "threshold", "clearing-time", "unnamed-time"];
        self.stages.iter().flat_map(|function| keys.map(|key| setting(function, key))).collect()
    }
}

/// The way to the curve in force.
fn path(decoded: &Decoded, index: usize, within: &str) -> String {
    let numbered = if decoded.parts.groups("Crv").len() > 1 { format!("{}.", index + 1) } else { String::new() };
    format!("Crv.{numbered}{within}")
}
