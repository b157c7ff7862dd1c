//! Entering service, fixed power factor and reactive power, ramps, anti-islanding; and what acts beside
//! them for which the catalogue has no setting.

use super::bases::{Bases, Converted, PowerOf};
use super::collected::{At, Collected, in_steps, setting};
use super::curves::older_too;
use super::device::DeviceModels;
use super::states::{self, Mode};
use crate::decode::Decoded;
use crate::trouble::TroubleKind;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;
use settings_model::value::Value;

const FACTOR: &str = "fixed-power-factor";
const AMOUNT: &str = "fixed-reactive-power";

pub(super) fn read(device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
    if let Some(decoded) = device.model(703) {
        entering_service(decoded, bases, collected);
    }
    match device.first_of(&[704, 123]) {
        Some(704) => {
            older_too(device, 704, &[704, 123], collected);
            if let Some(decoded) = device.model(704) {
                newer(decoded, device, bases, collected);
            }
        }
        Some(_) => {
            if let Some(decoded) = device.model(123) {
                older(decoded, bases, collected);
            }
        }
        None => {
            states::without_model(device, Mode::FixedPowerFactor, &[704], &[FACTOR], collected);
            states::without_model(device, Mode::FixedReactivePower, &[704], &[AMOUNT], collected);
        }
    }
}

fn entering_service(decoded: &Decoded, bases: &Bases, collected: &mut Collected) {
    let at = |name: &str| At::fixed(decoded, name);
    let of = |key: &str| setting("reconnection", key);
    if let Some(code) = collected.code(at("ES").as_ref(), &[of("permitted")]) {
        let from = at("ES").map(|at| at.origin()).unwrap_or_default();
        collected.word(of("permitted"), if code == 1 { "yes" } else { "no" }, from);
    }
    for (key, name) in [("lower-voltage", "ESVLo"), ("upper-voltage", "ESVHi")] {
        let Some(at) = at(name) else { continue };
        let Some(percent) = collected.number(Some(&at), &[of(key)]) else { continue };
        match Bases::voltage(&bases.newer, percent) {
            Ok(Converted { number, step, exact }) => collected.put(of(key), Value::Quantity(number), in_steps(step, exact), at.origin()),
            Err(says) => {
                collected.trouble(TroubleKind::BaseUnknown, format!("{name}: {says}"), (Some(703), Some(at.held.register)), &[of(key)]);
            }
        }
    }
    for (key, name) in [
        ("lower-frequency", "ESHzLo"),
        ("upper-frequency", "ESHzHi"),
        ("observation-time", "ESDlyTms"),
        ("random-delay", "ESRndTms"),
        ("ramp-time", "ESRmpTms"),
    ] {
        collected.quantity(of(key), at(name).as_ref(), Exact::ONE);
    }
}

fn newer(decoded: &Decoded, device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
    let at = |name: &str| At::fixed(decoded, name);
    let factor = ["state", "power-factor", "direction"].map(|key| setting(FACTOR, key));
    let acts = switch(decoded, "PFWInjEna", Mode::FixedPowerFactor, device, factor[0], collected);
    collected.aside(acts, |collected| newer_factor(decoded, &factor, collected));
    let amount = ["state", "amount", "direction"].map(|key| setting(AMOUNT, key));
    let acts = switch(decoded, "VarSetEna", Mode::FixedReactivePower, device, amount[0], collected);
    collected.aside(acts, |collected| fixed_amount(decoded, bases, &amount, collected));
    if let Some(code) = collected.code(at("AntiIslEna").as_ref(), &[setting("active-anti-islanding", "state")]) {
        let from = at("AntiIslEna").map(|at| at.origin()).unwrap_or_default();
        collected.word(setting("active-anti-islanding", "state"), if code == 1 { "enabled" } else { "off" }, from);
    }
    ramps(decoded, collected);
    states::ends_by_itself(decoded, "PFWInjRvrtRem", &factor, collected);
    states::ends_by_itself(decoded, "VarSetRvrtRem", &amount, collected);
    for beside in ["WMaxLimPctRvrtRem", "WSetRvrtRem", "PFWAbsRvrtRem"] {
        states::ends_by_itself(decoded, beside, &[], collected);
    }
    beside(decoded, collected);
}

fn switch(decoded: &Decoded, name: &str, mode: Mode, device: &DeviceModels, state: Option<SettingId>, collected: &mut Collected) -> bool {
    let Some((word, from)) = states::switched(decoded, name, mode, device, &[state], collected) else { return false };
    collected.word(state, word, from);
    word == "enabled"
}

fn newer_factor(decoded: &Decoded, settings: &[Option<SettingId>; 3], collected: &mut Collected) {
    let Some(group) = decoded.parts.groups("PFWInj").first() else { return };
    let at = |name: &str| Some(At { model: 704, path: format!("PFWInj.{name}"), held: group.point(name)? });
    let is_one = at("PF").is_some_and(|at| at.held.number() == Some(Exact::ONE));
    power_factor(at("PF").as_ref(), settings[1], collected);
    if is_one {
        return collected.not_read(settings[2], "at a power factor of 1 it leans neither way");
    }
    if let Some(code) = collected.code(at("Ext").as_ref(), &[settings[2]]) {
        let from = at("Ext").map(|at| at.origin()).unwrap_or_default();
        // over-excited: it supplies reactive power
        collected.word(settings[2], if code == 0 { "supplying" } else { "absorbing" }, from);
    }
}

/// A power factor lies above 0 and at most at 1.
fn power_factor(at: Option<&At<'_>>, setting: Option<SettingId>, collected: &mut Collected) {
    let Some((value, step)) = collected.number(at, &[setting]) else { return };
    let Some(at) = at else { return };
    if value <= Exact::ZERO || value > Exact::ONE {
        let says = format!("{}: {value} is no power factor", at.path);
        return collected.trouble(TroubleKind::NotExpressible, says, (Some(at.model), Some(at.held.register)), &[setting]);
    }
    collected.put(setting, Value::Quantity(Amount::plain(value)), in_steps(step, true), at.origin());
}

/// An amount of reactive power, of which VarSetMod says what it counts.
fn fixed_amount(decoded: &Decoded, bases: &Bases, settings: &[Option<SettingId>; 3], collected: &mut Collected) {
    let hanging = [settings[1], settings[2]];
    let mode_at = At::fixed(decoded, "VarSetMod");
    let Some(mode) = collected.code(mode_at.as_ref(), &hanging) else { return };
    let at = At::fixed(decoded, if mode == 4 { "VarSet" } else { "VarSetPct" });
    let Some(number) = collected.number(at.as_ref(), &hanging) else { return };
    let converted = match mode {
        4 => bases.newer.of_vars(number, bases.reactive_of()),
        0 => bases.reactive(&bases.newer, number, PowerOf::ActiveMost),
        1 => bases.reactive(&bases.newer, number, PowerOf::ReactiveMost),
        3 => bases.reactive(&bases.newer, number, PowerOf::ApparentMost),
        _ => bases.reactive(&bases.newer, number, PowerOf::Available),
    };
    put_amount(converted, at.as_ref(), &hanging, collected);
}

fn put_amount(
    converted: Result<Converted<Exact>, String>,
    at: Option<&At<'_>>,
    settings: &[Option<SettingId>; 2],
    collected: &mut Collected,
) {
    let Some(at) = at else { return };
    match converted {
        Ok(Converted { number, step, exact }) => {
            let step = in_steps(step, exact);
            collected.put(settings[0], Value::Quantity(Amount::plain(number.abs())), step, at.origin());
            if number != Exact::ZERO {
                collected.word(settings[1], if number > Exact::ZERO { "supplying" } else { "absorbing" }, at.origin());
            }
        }
        Err(says) => {
            let says = format!("{}: {says}", at.path);
            collected.trouble(TroubleKind::BaseUnknown, says, (Some(at.model), Some(at.held.register)), settings);
        }
    }
}

/// Ramps count per second in the register, and per minute in the catalogue.
fn ramps(decoded: &Decoded, collected: &mut Collected) {
    let settings = ["rise", "fall"].map(|key| setting("active-power-ramp", key));
    let (at, of) = (At::fixed(decoded, "WRmp"), At::fixed(decoded, "WRmpRef"));
    if at.as_ref().is_none_or(|at| at.held.number().is_none()) {
        settings.iter().for_each(|setting| collected.not_implemented(*setting, "model 704: WRmp is not implemented"));
        return;
    }
    match collected.code(of.as_ref(), &settings) {
        Some(1) => settings.iter().for_each(|setting| collected.quantity(*setting, at.as_ref(), Exact::from(60))),
        Some(_) => {
            settings.iter().for_each(|setting| collected.not_read(*setting, "model 704 counts the ramp in current, and not in power"));
        }
        None => {}
    }
}

/// What acts, and is no setting of the catalogue; it explains why a device gives less than it could.
fn beside(decoded: &Decoded, collected: &mut Collected) {
    let number = |name: &str| decoded.parts.point(name).and_then(|held| held.number());
    power_limit(decoded, "WMaxLimPctEna", collected);
    let by_percent = decoded.parts.code("WSetMod") == Some(0);
    let held = if by_percent {
        number("WSetPct").map(|of| format!("{of} % of what it is set to give at most"))
    } else {
        number("WSet").map(|watts| format!("{watts} W"))
    };
    let held = format!("active power is held at {}", held.as_deref().unwrap_or("a fixed amount, which it does not tell"));
    acts(decoded, "WSetEna", TroubleKind::PowerLimited, &held, collected);
    acts(decoded, "PFWAbsEna", TroubleKind::ActsBeside, "a fixed power factor is held while charging", collected);
}

/// A limit of active power, by a switch. At all of what the device may give it limits nothing.
fn power_limit(decoded: &Decoded, switch: &str, collected: &mut Collected) {
    let percent = decoded.parts.point("WMaxLimPct").and_then(|held| held.number());
    let (kind, says) = match percent {
        Some(percent) if percent >= Exact::HUNDRED => {
            (TroubleKind::ActsBeside, "a limit of active power is switched on, and lets all through".to_owned())
        }
        Some(percent) => (TroubleKind::PowerLimited, format!("active power is limited to {percent} % of what it is set to give at most")),
        None => (TroubleKind::PowerLimited, "active power is limited, to what it does not tell".to_owned()),
    };
    acts(decoded, switch, kind, &says, collected);
}

/// Names what a switch has act; a switch that is neither on nor off leaves open whether it does.
fn acts(decoded: &Decoded, switch: &str, kind: TroubleKind, says: &str, collected: &mut Collected) {
    let Some(at) = At::fixed(decoded, switch) else { return };
    let (model, register) = (decoded.model.id, at.held.register);
    match at.held.code() {
        Some(1) => collected.trouble(kind, format!("model {model}: {says} ({switch})"), (Some(model), Some(register)), &[]),
        Some(2..) => drop(collected.code(Some(&at), &[])),
        _ => {}
    }
}

fn older(decoded: &Decoded, bases: &Bases, collected: &mut Collected) {
    let at = |name: &str| At::fixed(decoded, name);
    let mut switch = |name: &str, state: Option<SettingId>| {
        let code = collected.code(at(name).as_ref(), &[state])?;
        let from = at(name).map(|at| at.origin()).unwrap_or_default();
        collected.word(state, if code == 1 { "enabled" } else { "off" }, from);
        Some(code == 1)
    };
    let factor = ["state", "power-factor", "direction"].map(|key| setting(FACTOR, key));
    let amount = ["state", "amount", "direction"].map(|key| setting(AMOUNT, key));
    let (factor_acts, amount_acts) = (switch("OutPFSet_Ena", factor[0]) == Some(true), switch("VArPct_Ena", amount[0]) == Some(true));
    older_factor(decoded, &factor, factor_acts, collected);
    if amount_acts {
        older_amount(decoded, bases, &[amount[1], amount[2]], collected);
    }
    power_limit(decoded, "WMaxLim_Ena", collected);
    collected.not_read(setting("reconnection", "permitted"), "the older models do not say whether connecting is permitted");
}

/// The sign says which way the power factor leans, by one of two conventions, and not which.
fn older_factor(decoded: &Decoded, settings: &[Option<SettingId>; 3], acts: bool, collected: &mut Collected) {
    let at = At::fixed(decoded, "OutPFSet");
    let Some((value, step)) = collected.number(at.as_ref(), &[settings[1], settings[2]]) else { return };
    let Some(at) = at else { return };
    let (size, place) = (value.abs(), (Some(123), Some(at.held.register)));
    if size <= Exact::ZERO || size > Exact::ONE {
        let says = format!("OutPFSet: {value} is no power factor");
        let kind = if acts { TroubleKind::NotExpressible } else { TroubleKind::ActsBeside };
        return collected.trouble(kind, says, place, &[settings[1], settings[2]]);
    }
    collected.put(settings[1], Value::Quantity(Amount::plain(size)), in_steps(step, true), at.origin());
    let says = "OutPFSet has a sign, and the register does not say by which of two conventions it counts";
    match acts && size != Exact::ONE {
        true => collected.trouble(TroubleKind::DirectionUnknown, says, place, &[settings[2]]),
        false => collected.not_read(settings[2], says),
    }
}

fn older_amount(decoded: &Decoded, bases: &Bases, settings: &[Option<SettingId>; 2], collected: &mut Collected) {
    let Some(mode) = collected.code(At::fixed(decoded, "VArPct_Mod").as_ref(), settings) else { return };
    let (name, of) = match mode {
        1 => ("VArWMaxPct", PowerOf::ActiveMost),
        2 => ("VArMaxPct", PowerOf::ReactiveMost),
        _ => ("VArAvalPct", PowerOf::Available),
    };
    let at = At::fixed(decoded, name);
    let Some(number) = collected.number(at.as_ref(), settings) else { return };
    put_amount(bases.reactive(&bases.older, number, of), at.as_ref(), settings, collected);
}
