//! Curves that follow the voltage or the power: volt-var, volt-watt, watt-var.

use super::Origin;
use super::bases::{Base, Bases, Converted, PowerOf};
use super::collected::{At, Collected, in_steps, setting};
use super::device::DeviceModels;
use super::states::{self, Mode};
use crate::decode::{Decoded, Parts, Says};
use crate::trouble::TroubleKind;
use settings_model::catalogue::SettingId;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;
use settings_model::settings::Step;
use settings_model::value::{Point, Value};

/// A function with a curve.
struct Curve {
    function: &'static str,
    mode: Mode,
    /// The newer model, and the older one where there is one.
    models: &'static [u16],
    /// The measured point, and the point that follows.
    axes: [&'static str; 2],
    /// The same in the older models.
    older_axes: [&'static str; 2],
}

const CURVES: [Curve; 3] = [
    Curve { function: "volt-var", mode: Mode::VoltVar, models: &[705, 126], axes: ["V", "Var"], older_axes: ["V", "VAr"] },
    Curve { function: "volt-watt", mode: Mode::VoltWatt, models: &[706, 132], axes: ["V", "W"], older_axes: ["V", "W"] },
    Curve { function: "watt-var", mode: Mode::WattVar, models: &[712], axes: ["W", "Var"], older_axes: ["W", "Var"] },
];

pub(super) fn read(device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
    for curve in &CURVES {
        match device.first_of(curve.models) {
            None => states::without_model(device, curve.mode, curve.models, &[curve.function], collected),
            Some(id) => {
                older_too(device, id, curve.models, collected);
                let Some(decoded) = device.model(id) else { continue };
                curve.read(decoded, device, bases, collected);
            }
        }
    }
}

/// Names an older model that says the same thing as a newer one.
pub(super) fn older_too(device: &DeviceModels, used: u16, models: &[u16], collected: &mut Collected) {
    for older in models.iter().filter(|id| **id != used && device.has(**id)) {
        let says = format!("model {older} says the same thing as model {used}; the newer one was used");
        collected.trouble(TroubleKind::OlderModelToo, says, (Some(*older), None), &[]);
    }
}

impl Curve {
    fn read(&self, decoded: &Decoded, device: &DeviceModels, bases: &Bases, collected: &mut Collected) {
        let id = decoded.model.id;
        let is_newer = id >= 700;
        let all = self.all_settings();
        let state = setting(self.function, "state");
        let (switch, index, curve) = if is_newer {
            let switch = states::switched(decoded, "Ena", self.mode, device, &[state], collected);
            let curve = states::in_force(decoded, "Crv", &all, collected);
            states::unsettled(decoded, &all, collected);
            (switch, 0, curve)
        } else {
            let switch = states::switched_by_bit(decoded, &[state], collected);
            let named = states::named(decoded, &all, collected);
            (switch, named.map_or(0, |(index, _)| index), named.map(|(_, curve)| curve))
        };
        let acts = matches!(switch, Some(("enabled", _)));
        if let Some((word, from)) = switch {
            // an older function that is switched on, and has no curve, does nothing
            let word = if curve.is_none() && !is_newer { "off" } else { word };
            collected.word(state, word, from);
        }
        let Some(curve) = curve else { return };
        if !acts && curve.code("ActPt").is_none_or(|used| used == 0) {
            return;
        }
        let numbered = if decoded.parts.groups("Crv").len() > 1 { format!("{}.", index + 1) } else { String::new() };
        let path = format!("Crv.{numbered}");
        collected.aside(acts, |collected| {
            self.points(decoded, curve, &path, (bases, acts), collected);
            if is_newer {
                self.beside(decoded, curve, &path, bases.base(id), acts, collected);
            }
        });
    }

    /// The points in use, put in the order of what is measured.
    fn points(&self, decoded: &Decoded, curve: &Parts, path: &str, (bases, acts): (&Bases, bool), collected: &mut Collected) {
        let (id, points_setting) = (decoded.model.id, setting(self.function, "points"));
        let register = curve.point("ActPt").map(|held| held.register);
        let room = decoded.parts.code("NPt").map_or(0, usize::from);
        let Some(points) = states::in_use(curve, room, (Some(id), register), &[points_setting], collected) else { return };
        let Some(of) = self.power_of(decoded, curve, path, collected) else { return };
        let axes = if id >= 700 { self.axes } else { self.older_axes };
        let (mut made, mut step, mut from) =
            (Vec::new(), Step { size: Exact::ZERO, level: Some(Exact::ZERO), exact: true }, Origin::default());
        for (n, point) in points.iter().enumerate() {
            let at = |name: &str| Some(At { model: id, path: format!("{path}Pt.{}.{name}", n + 1), held: point.point(name)? });
            let [Some(x_at), Some(y_at)] = axes.map(at) else { return };
            for at in [&x_at, &y_at] {
                if at.held.says == Says::NotImplemented {
                    let says = format!("{} is in use, and not implemented", at.path);
                    return collected.trouble(TroubleKind::PointMissing, says, (Some(id), Some(at.held.register)), &[points_setting]);
                }
                from.raw.extend(&at.held.raw);
            }
            if n == 0 {
                from = Origin { model: id, point: format!("{path}Pt"), register: x_at.held.register, raw: from.raw };
            }
            let (Some(x), Some(y)) = (collected.number(Some(&x_at), &[points_setting]), collected.number(Some(&y_at), &[points_setting]))
            else {
                return;
            };
            let (x, y) = match (self.measured(x, bases, id), self.follows(y, of, bases, id)) {
                (Ok(x), Ok(y)) => (x, y),
                (Err(says), _) | (_, Err(says)) => {
                    let says = format!("model {id}: {says}; the curve is not read");
                    return collected.trouble(TroubleKind::BaseUnknown, says, (Some(id), Some(x_at.held.register)), &[points_setting]);
                }
            };
            step.size = step.size.max(x.step);
            step.level = step.level.map(|level| level.max(y.step));
            step.exact &= x.exact && y.exact;
            made.push(Point { x: x.number, y: Amount::plain(y.number) });
        }
        if self.function == "watt-var" {
            self.leave_out_charging(&mut made, (id, register, acts), collected);
        }
        self.put(made, step, from, points_setting, collected);
    }

    fn put(&self, mut made: Vec<Point>, step: Step, from: Origin, setting: Option<SettingId>, collected: &mut Collected) {
        let at = (Some(from.model), Some(from.register));
        if made.windows(2).all(|pair| pair[0].x.number >= pair[1].x.number)
            && made.first().map(|p| p.x.number) != made.last().map(|p| p.x.number)
        {
            made.reverse();
        }
        if made.windows(2).any(|pair| pair[0].x.number > pair[1].x.number) {
            let says = format!("model {}: the points of {} go neither up nor down", from.model, self.function);
            return collected.trouble(TroubleKind::PointsOutOfOrder, says, at, &[setting]);
        }
        if made.len() < 2 || made.len() > settings_model::notation::MAX_POINTS {
            let says = format!("model {}: {} of {} points, which is no curve", from.model, self.function, made.len());
            return collected.trouble(TroubleKind::NotExpressible, says, at, &[setting]);
        }
        collected.put(setting, Value::Curve(made), Some(Box::new(step)), from);
    }

    /// Watt-var runs from full charge to full generation; the catalogue has the generating side.
    fn leave_out_charging(&self, made: &mut Vec<Point>, (id, register, acts): (u16, Option<u16>, bool), collected: &mut Collected) {
        let is_charging = |point: &Point| point.x.number < Exact::ZERO || (point.x.number == Exact::ZERO && point.y.number == Exact::ZERO);
        let first = made.iter().position(|point| !is_charging(point)).unwrap_or(made.len());
        if acts && made.iter().take(first).any(|point| point.y.number != Exact::ZERO) {
            let says = format!("model {id}: reactive power while charging is set too; it is not compared");
            collected.trouble(TroubleKind::ActsBeside, says, (Some(id), register), &[]);
        }
        // a point at no power that begins the generating side stays, where nothing charges before it
        if first > 1 || made.first().is_some_and(|point| point.x.number < Exact::ZERO) {
            made.drain(..first);
        }
    }

    /// Of what the level of a curve is a percentage.
    fn power_of(&self, decoded: &Decoded, curve: &Parts, path: &str, collected: &mut Collected) -> Option<PowerOf> {
        let id = decoded.model.id;
        let held = curve.point("DeptRef")?;
        let at = At { model: id, path: format!("{path}DeptRef"), held };
        let code = collected.code(Some(&at), &[setting(self.function, "points")])?;
        // the older models count from 1, and the codes of volt-watt differ from those of the others
        Some(match (id, code) {
            (706, 0) | (132, 1) => PowerOf::ActiveMost,
            (706, _) | (132, _) => PowerOf::Available,
            (705 | 712, 0) | (126, 1) => PowerOf::ActiveMost,
            (705 | 712, 1) | (126, 2) => PowerOf::ReactiveMost,
            (705 | 712, 3) => PowerOf::ApparentMost,
            _ => PowerOf::Available,
        })
    }

    fn measured(&self, x: (Exact, Exact), bases: &Bases, id: u16) -> Result<Converted<Amount>, String> {
        if self.function != "watt-var" {
            return Bases::voltage(bases.base(id), x);
        }
        let converted = bases.active(bases.base(id), x, PowerOf::ActiveMost)?;
        Ok(Converted { number: Amount::plain(converted.number), step: converted.step, exact: converted.exact })
    }

    fn follows(&self, y: (Exact, Exact), of: PowerOf, bases: &Bases, id: u16) -> Result<Converted<Exact>, String> {
        match self.function {
            "volt-watt" => bases.active(bases.base(id), y, of),
            _ => bases.reactive(bases.base(id), y, of),
        }
    }

    /// What else the newer models say of a curve.
    fn beside(&self, decoded: &Decoded, curve: &Parts, path: &str, base: &Base, acts: bool, collected: &mut Collected) {
        let id = decoded.model.id;
        let at = |name: &str| Some(At { model: id, path: format!("{path}{name}"), held: curve.point(name)? });
        collected.quantity(setting(self.function, "response-time"), at("RspTms").as_ref(), Exact::ONE);
        if self.function == "volt-var" {
            let reference = setting(self.function, "reference-voltage");
            if let Some((at, volts)) = at("VRef").and_then(|at| Some((at.clone(), collected.number(Some(&at), &[reference])?))) {
                match Bases::voltage(base, volts) {
                    Ok(volts) => collected.put(reference, Value::Quantity(volts.number), in_steps(volts.step, volts.exact), at.origin()),
                    Err(says) => collected.trouble(
                        TroubleKind::BaseUnknown,
                        format!("{}: {says}", at.path),
                        (Some(id), Some(at.held.register)),
                        &[reference],
                    ),
                }
            }
            let follows = setting(self.function, "reference-follows");
            if let Some(code) = collected.code(at("VRefAutoEna").as_ref(), &[follows]) {
                let from = at("VRefAutoEna").map(|at| at.origin()).unwrap_or_default();
                collected.word(follows, if code == 1 { "enabled" } else { "off" }, from);
            }
            collected.quantity(setting(self.function, "reference-time-constant"), at("VRefAutoTms").as_ref(), Exact::ONE);
        }
        if acts && let Some(at) = at("Pri") {
            let first = setting("power-priority", "first");
            match at.held.code() {
                Some(0) => collected.word(first, "active-power", at.origin()),
                Some(1) => collected.word(first, "reactive-power", at.origin()),
                Some(_) => collected.not_read(first, "the device goes by a priority of its maker's own"),
                None => {}
            }
        }
    }

    fn all_settings(&self) -> Vec<Option<SettingId>> {
        let keys = ["state", "points", "response-time", "reference-voltage", "reference-follows", "reference-time-constant"];
        keys.iter().map(|key| setting(self.function, key)).collect()
    }
}
