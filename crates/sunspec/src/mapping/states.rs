//! Absent, off or enabled. A model that is not there, a bit that is clear, a switch that is off and a
//! switch that is not implemented are four different answers.

use super::Origin;
use super::collected::{At, Collected, setting};
use super::device::DeviceModels;
use crate::decode::Decoded;
use crate::trouble::TroubleKind;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;

/// The bits of CtrlModes in model 702, by position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(super) enum Mode {
    FixedReactivePower = 2,
    FixedPowerFactor = 3,
    VoltVar = 4,
    Frequency = 5,
    LowVoltageTrip = 7,
    HighVoltageTrip = 8,
    WattVar = 9,
    VoltWatt = 10,
    LowFrequencyTrip = 12,
    HighFrequencyTrip = 13,
}

/// Whether the device says that it has a function: `None` where it does not say.
pub(super) fn has(device: &DeviceModels, mode: Mode) -> Option<(bool, Origin)> {
    let at = At::fixed(device.model(702)?, "CtrlModes")?;
    let bits = at.held.bits()?;
    Some((bits >> (mode as u8) & 1 == 1, at.origin()))
}

/// The state of functions whose model does not lie there: absent, where the device says that it lacks
/// them, and otherwise not read.
pub(super) fn without_model(device: &DeviceModels, mode: Mode, models: &[u16], functions: &[&str], collected: &mut Collected) {
    let states: Vec<Option<SettingId>> = functions.iter().map(|function| setting(function, "state")).collect();
    match has(device, mode) {
        Some((false, from)) => states.iter().for_each(|state| collected.word(*state, "absent", from.clone())),
        Some((true, from)) if device.is_whole => {
            let says = format!("the device says that it has {}, and model {} does not lie there", functions[0], models[0]);
            collected.trouble(TroubleKind::ModelMissing, says, (Some(702), Some(from.register)), &states);
        }
        _ => {}
    }
}

/// Whether a function acts, by a switch of its model; the word for it, where that can be told.
pub(super) fn switched(
    decoded: &Decoded,
    switch: &str,
    mode: Mode,
    device: &DeviceModels,
    states: &[Option<SettingId>],
    collected: &mut Collected,
) -> Option<(&'static str, Origin)> {
    let at = At::fixed(decoded, switch);
    let is_there = has(device, mode);
    if let (Some((false, from)), None) = (&is_there, at.as_ref().and_then(|at| at.held.code())) {
        return Some(("absent", from.clone()));
    }
    let code = collected.code(at.as_ref(), states)?;
    let from = at.as_ref().map(At::origin).unwrap_or_default();
    match (code, is_there) {
        (1, Some((false, _))) => {
            let says = format!("{switch} of model {} is enabled, and by model 702 the device lacks the function", decoded.model.id);
            collected.trouble(TroubleKind::Contradiction, says, (Some(decoded.model.id), Some(from.register)), states);
            None
        }
        (1, _) => Some(("enabled", from)),
        _ => Some(("off", from)),
    }
}

/// The same of the older models, where a bit switches a function on and a number says by which curve.
pub(super) fn switched_by_bit(
    decoded: &Decoded,
    states: &[Option<SettingId>],
    collected: &mut Collected,
) -> Option<(&'static str, Origin)> {
    let at = At::fixed(decoded, "ModEna")?;
    let Some(bits) = at.held.bits() else {
        states.iter().for_each(|state| collected.not_implemented(*state, "ModEna is not implemented"));
        return None;
    };
    let word = if bits & 1 == 1 { "enabled" } else { "off" };
    Some((word, at.origin()))
}

/// What will not stay as it is: a change under way, or a setting that ends by itself. Names it, and says
/// whether there is any.
pub(super) fn unsettled(decoded: &Decoded, settings: &[Option<SettingId>], collected: &mut Collected) {
    let model = decoded.model.id;
    let code = |names: [&str; 2]| {
        names.into_iter().find_map(|name| decoded.parts.point(name)).and_then(|held| Some((held.code()?, held.register)))
    };
    let asked = code(["AdptCrvReq", "AdptCtlReq"]);
    let result = code(["AdptCrvRslt", "AdptCtlRslt"]);
    if let (Some((asked @ 1.., _)), Some((result, register))) = (asked, result) {
        let at = (Some(model), Some(register));
        match result {
            0 => collected.trouble(
                TroubleKind::ChangeUnderWay,
                format!("model {model}: taking curve {asked} into force is under way; read it again"),
                at,
                settings,
            ),
            2 => collected.trouble(
                TroubleKind::ChangeFailed,
                format!("model {model}: taking curve {asked} into force failed; the one before is in force"),
                at,
                &[],
            ),
            _ => {}
        }
    }
    ends_by_itself(decoded, "RvrtRem", settings, collected);
}

/// Names what ends by itself: a point holds the time that is left.
pub(super) fn ends_by_itself(decoded: &Decoded, left: &str, settings: &[Option<SettingId>], collected: &mut Collected) {
    let (model, held) = (decoded.model.id, decoded.parts.point(left));
    let Some((held, seconds)) = held.and_then(|held| Some((held, held.number().filter(|left| *left > Exact::ZERO)?))) else { return };
    let says = format!("model {model}: what is in force ends by itself in {seconds} s ({left}); what holds then is another thing");
    // where no setting depends on it, nothing is left open
    let kind = if settings.is_empty() { TroubleKind::ActsBeside } else { TroubleKind::Temporary };
    collected.trouble(kind, says, (Some(model), Some(held.register)), settings);
}

/// The groups of a model that repeats curves: which one is in force. The first one is; it is marked as
/// read-only.
pub(super) fn in_force<'d>(
    decoded: &'d Decoded,
    groups: &str,
    settings: &[Option<SettingId>],
    collected: &mut Collected,
) -> Option<&'d crate::decode::Parts> {
    let curves = decoded.parts.groups(groups);
    let at = (Some(decoded.model.id), Some(decoded.at));
    let Some((first, stored)) = curves.split_first() else {
        collected.trouble(TroubleKind::NoPoints, format!("model {} holds no curve", decoded.model.id), at, settings);
        return None;
    };
    let is_marked = |curve: &crate::decode::Parts| curve.code("ReadOnly") == Some(1);
    if !is_marked(first) {
        if let Some(other) = stored.iter().position(is_marked) {
            let says =
                format!("model {}: the first curve is the one in force, and curve {} is marked so instead", decoded.model.id, other + 2);
            collected.trouble(TroubleKind::InForceUnclear, says, at, settings);
            return None;
        }
        let says = format!("model {}: the first curve, which is the one in force, is not marked read-only", decoded.model.id);
        collected.trouble(TroubleKind::InForceNotMarked, says, at, &[]);
    }
    if let Some(other) = stored.iter().position(|curve| differs(first, curve)) {
        let says =
            format!("model {}: curve {} says something else than the first; it is stored, and not in force", decoded.model.id, other + 2);
        collected.trouble(TroubleKind::StoredNotInForce, says, at, &[]);
    }
    Some(first)
}

/// Whether two curves differ in more than who may write them.
fn differs(one: &crate::decode::Parts, other: &crate::decode::Parts) -> bool {
    let points = |curve: &crate::decode::Parts| {
        let mut raw = Vec::new();
        curve.each("", &mut |path, held| {
            if !path.ends_with("ReadOnly") && !path.ends_with("VRefAuto") {
                raw.push(held.raw.clone());
            }
        });
        raw
    };
    points(one) != points(other)
}

/// The curve of an older model that a number names, counted from 1; none where it is 0.
pub(super) fn named<'d>(
    decoded: &'d Decoded,
    settings: &[Option<SettingId>],
    collected: &mut Collected,
) -> Option<(usize, &'d crate::decode::Parts)> {
    let model = decoded.model.id;
    let active = decoded.parts.point("ActCrv")?;
    let at = (Some(model), Some(active.register));
    let curves = decoded.parts.groups("Crv");
    match active.code() {
        None => settings.iter().for_each(|setting| collected.not_implemented(*setting, "ActCrv is not implemented")),
        Some(0) => collected.trouble(TroubleKind::NoCurveInForce, format!("model {model}: no curve is in force"), at, &[]),
        Some(number) => {
            let index = usize::from(number) - 1;
            if let Some(curve) = curves.get(index) {
                if let Some(other) = curves.iter().enumerate().position(|(n, other)| n != index && differs(curve, other)) {
                    let says =
                        format!("model {model}: curve {number} is in force; curve {} says something else, and is only stored", other + 1);
                    collected.trouble(TroubleKind::StoredNotInForce, says, at, &[]);
                }
                return Some((index, curve));
            }
            let says = format!("model {model}: curve {number} is named as the one in force, and there are {}", curves.len());
            collected.trouble(TroubleKind::InForceUnclear, says, at, settings);
        }
    }
    None
}

/// The points of a curve that are in use; what lies behind them may be anything.
pub(super) fn in_use<'d>(
    curve: &'d crate::decode::Parts,
    layout: usize,
    at: (Option<u16>, Option<u16>),
    settings: &[Option<SettingId>],
    collected: &mut Collected,
) -> Option<&'d [crate::decode::Parts]> {
    let points = curve.groups("Pt");
    match curve.code("ActPt").map(usize::from) {
        Some(used) if used <= points.len().min(layout) && used > 0 => Some(&points[..used]),
        Some(0) => {
            collected.trouble(TroubleKind::NoPoints, "a curve with no points in use", at, settings);
            None
        }
        Some(used) => {
            let says = format!("{used} points are said to be in use, and there is room for {}", points.len().min(layout));
            collected.trouble(TroubleKind::PointsBeyondLayout, says, at, settings);
            None
        }
        None => {
            collected.trouble(TroubleKind::NoPoints, "a curve that does not say how many of its points are in use", at, settings);
            None
        }
    }
}
