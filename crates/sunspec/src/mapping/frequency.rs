//! Responses to the frequency: droop, or the slope and the curves of the older models.

use super::collected::{At, Collected, setting};
use super::curves::older_too;
use super::device::DeviceModels;
use super::states::{self, Mode};
use crate::decode::Decoded;
use crate::trouble::TroubleKind;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;

const OVER: &str = "over-frequency-response";
const UNDER: &str = "under-frequency-response";
const MODELS: [u16; 3] = [711, 127, 134];

pub(super) fn read(device: &DeviceModels, collected: &mut Collected) {
    let Some(id) = device.first_of(&MODELS) else {
        return states::without_model(device, Mode::Frequency, &MODELS, &[OVER, UNDER], collected);
    };
    older_too(device, id, if id == 711 { &MODELS } else { &MODELS[..1] }, collected);
    if id == 711 {
        if let Some(decoded) = device.model(id) {
            droop(decoded, device, collected);
        }
        return;
    }
    match (device.model(127), device.model(134)) {
        (Some(slope), Some(curves)) => both(slope, curves, collected),
        (Some(slope), None) => by_slope(slope, collected),
        (None, Some(curves)) => by_curve(curves, collected),
        (None, None) => {}
    }
}

fn droop(decoded: &Decoded, device: &DeviceModels, collected: &mut Collected) {
    let keys = ["state", "deadband", "droop", "response-time"];
    let all: Vec<Option<SettingId>> = [OVER, UNDER].iter().flat_map(|function| keys.map(|key| setting(function, key))).collect();
    let states = [setting(OVER, "state"), setting(UNDER, "state")];
    let switch = states::switched(decoded, "Ena", Mode::Frequency, device, &states, collected);
    let control = states::in_force(decoded, "Ctl", &all, collected);
    states::unsettled(decoded, &all, collected);
    let Some(control) = control else { return };
    let numbered = if decoded.parts.groups("Ctl").len() > 1 { "1." } else { "" };
    let at = |name: &str| Some(At { model: 711, path: format!("Ctl.{numbered}{name}"), held: control.point(name)? });
    for (function, deadband, slope) in [(OVER, "DbOf", "KOf"), (UNDER, "DbUf", "KUf")] {
        if let Some((word, from)) = &switch {
            collected.word(setting(function, "state"), word, from.clone());
        }
        collected.quantity(setting(function, "deadband"), at(deadband).as_ref(), Exact::ONE);
        // per unit of frequency for per unit of power: 0.05 is 5 %
        collected.quantity(setting(function, "droop"), at(slope).as_ref(), Exact::HUNDRED);
        collected.quantity(setting(function, "response-time"), at("RspTms").as_ref(), Exact::ONE);
    }
}

/// Both older models answer to a high frequency; at most one may be switched on.
fn both(slope: &Decoded, curves: &Decoded, collected: &mut Collected) {
    let is_on = |decoded: &Decoded| decoded.parts.point("ModEna").and_then(|held| held.bits()).is_some_and(|bits| bits & 1 == 1);
    match (is_on(slope), is_on(curves)) {
        (true, true) => {
            let says = "models 127 and 134 both answer to a high frequency, and both are switched on";
            let settings = ["state", "start", "end", "deadband"].map(|key| setting(OVER, key));
            collected.trouble(TroubleKind::Contradiction, says, (Some(134), Some(curves.at)), &settings);
        }
        (false, true) => by_curve(curves, collected),
        _ => by_slope(slope, collected),
    }
}

/// The start counts from nominal. The slope is one of the power at that moment, and no droop of rated power.
fn by_slope(decoded: &Decoded, collected: &mut Collected) {
    let state = setting(OVER, "state");
    if let Some((word, from)) = states::switched_by_bit(decoded, &[state], collected) {
        collected.word(state, word, from);
    }
    collected.quantity(setting(OVER, "deadband"), At::fixed(decoded, "HzStr").as_ref(), Exact::ONE);
    for (key, why) in [
        ("droop", "model 127 holds a slope of the power at the moment of the rise, which is no droop of rated power"),
        ("end", "model 127 holds a slope of the power at the moment of the rise, which has no fixed end"),
        ("hysteresis", "model 127 says where the response ends, and not how the device comes back"),
    ] {
        collected.not_read(setting(OVER, key), why);
    }
}

/// A curve from full power down to none says where the response starts and ends; any other is not told.
fn by_curve(decoded: &Decoded, collected: &mut Collected) {
    let (state, start, end) = (setting(OVER, "state"), setting(OVER, "start"), setting(OVER, "end"));
    let settings = [start, end];
    let switch = states::switched_by_bit(decoded, &[state], collected);
    let named = states::named(decoded, &[state, start, end], collected);
    if let Some((word, from)) = switch {
        collected.word(state, if named.is_none() { "off" } else { word }, from);
    }
    let Some((index, curve)) = named else { return };
    let room = decoded.parts.code("NPt").map_or(0, usize::from);
    let at = (Some(134), curve.point("ActPt").map(|held| held.register));
    let Some(points) = states::in_use(curve, room, at, &settings, collected) else { return };
    let level = |point: &crate::decode::Parts| point.point("W").and_then(|held| held.number());
    let is_plain = matches!(points, [first, last] if level(first) == Some(Exact::HUNDRED) && level(last) == Some(Exact::ZERO));
    if !is_plain {
        let says = "model 134: the curve in force is not one from full power to none, so its start and end cannot be told";
        return collected.trouble(TroubleKind::NotExpressible, says, at, &settings);
    }
    for (n, (setting, point)) in settings.into_iter().zip(points).enumerate() {
        let at = point.point("Hz").map(|held| At { model: 134, path: format!("Crv.{}.Pt.{}.Hz", index + 1, n + 1), held });
        collected.quantity(setting, at.as_ref(), Exact::ONE);
    }
}
