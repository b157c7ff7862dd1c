//! Of what percentages are: nominal voltage (`voltage`), active, reactive and apparent power. A percentage whose
//! base is not known is not read.

mod voltage;

use super::Against;
use super::collected::{At, Collected};
use super::device::DeviceModels;
use crate::trouble::TroubleKind;
use settings_model::exact::Exact;
use settings_model::files::PowerBase;
use settings_model::quantity::Amount;
use voltage::{Phases, VoltageBase};

/// Of what percentages are, for the newer models and for the older ones.
pub(super) struct Bases {
    pub(super) newer: Base,
    pub(super) older: Base,
    against: Against,
}

/// Of what the percentages of one generation of models are.
#[derive(Default)]
pub(super) struct Base {
    voltage: Option<VoltageBase>,
    active: Option<Exact>,
    active_rating: Option<Exact>,
    apparent: Option<Exact>,
    apparent_rating: Option<Exact>,
    supplying: Option<Exact>,
    absorbing: Option<Exact>,
    /// The model that says so.
    model: u16,
}

/// A converted number: what it comes to, the step, and whether it is exact.
pub(super) struct Converted<N> {
    pub(super) number: N,
    pub(super) step: Exact,
    pub(super) exact: bool,
}

/// What a percentage of power is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PowerOf {
    /// The set active power.
    ActiveMost,
    /// The set reactive power, each way its own.
    ReactiveMost,
    /// The set apparent power.
    ApparentMost,
    /// What is available at the moment.
    Available,
}

impl Bases {
    pub(super) fn of(device: &DeviceModels, against: &Against, collected: &mut Collected) -> Self {
        let mut bases = Self { newer: Base::default(), older: Base::default(), against: *against };
        let phases = Phases::of(device);
        bases.newer = bases.newer(device, phases, collected);
        bases.older = bases.older(device, phases, collected);
        bases
    }

    /// The nominal voltage to neutral that per-unit values count from.
    pub(super) fn nominal(&self) -> Option<Exact> {
        let of = |base: &Base| match base.voltage {
            Some(VoltageBase::Nominal(nominal)) => Some(nominal),
            _ => None,
        };
        self.against.nominal.or_else(|| of(&self.newer)).or_else(|| of(&self.older))
    }

    fn newer(&self, device: &DeviceModels, phases: Option<Phases>, collected: &mut Collected) -> Base {
        let Some(decoded) = device.model(702) else { return Base { model: 702, ..Base::default() } };
        let mut rated = |name: &str| {
            collected.number(At::fixed(decoded, name).as_ref(), &[]).map(|(number, _)| number).filter(|number| *number > Exact::ZERO)
        };
        let mut set = |setting: &str, rating: &str| rated(setting).or_else(|| rated(rating));
        let (volts, active, apparent) = (set("VNom", "VNomRtg"), set("WMax", "WMaxRtg"), set("VAMax", "VAMaxRtg"));
        let (supplying, absorbing) = (set("VarMaxInj", "VarMaxInjRtg"), set("VarMaxAbs", "VarMaxAbsRtg"));
        let (active_rating, apparent_rating) = (set("WMaxRtg", "WMax"), set("VAMaxRtg", "VAMax"));
        let voltage = volts.and_then(|volts| self.voltage_base(volts, phases, 702, collected));
        Base { voltage, active, active_rating, apparent, apparent_rating, supplying, absorbing, model: 702 }
    }

    fn older(&self, device: &DeviceModels, phases: Option<Phases>, collected: &mut Collected) -> Base {
        let mut number = |id: u16, name: &str| {
            let decoded = device.model(id)?;
            collected.number(At::fixed(decoded, name).as_ref(), &[]).map(|(number, _)| number.abs()).filter(|number| *number > Exact::ZERO)
        };
        let (active_rating, apparent_rating) = (number(120, "WRtg"), number(120, "VARtg"));
        let active = number(121, "WMax").or(active_rating);
        let apparent = number(121, "VAMax").or(apparent_rating);
        // supplying while generating is the first quadrant, absorbing the fourth: from memory
        let supplying = number(121, "VArMaxQ1").or_else(|| number(120, "VArRtgQ1"));
        let absorbing = number(121, "VArMaxQ4").or_else(|| number(120, "VArRtgQ4"));
        let (volts, offset) = (number(121, "VRef"), number(121, "VRefOfs"));
        let mut voltage = volts.and_then(|volts| self.voltage_base(volts, phases, 121, collected));
        if let (Some(offset), Some(_)) = (offset, voltage) {
            let says = format!(
                "model 121 holds an offset of {offset} V between the connection point and the device; at which of the two its percentages count is not said"
            );
            collected.trouble(TroubleKind::BaseUnknown, says, (Some(121), None), &[]);
            voltage = None;
        }
        Base {
            voltage,
            active,
            active_rating: active_rating.or(active),
            apparent,
            apparent_rating: apparent_rating.or(apparent),
            supplying,
            absorbing,
            model: 121,
        }
    }

    /// What 100 % is, from the device's nominal voltage; what has to be known of it is said.
    fn voltage_base(&self, volts: Exact, phases: Option<Phases>, model: u16, collected: &mut Collected) -> Option<VoltageBase> {
        let (base, trouble) = voltage::base(volts, phases, self.against.nominal);
        if let Some((kind, says)) = trouble {
            collected.trouble(kind, format!("model {model}: {says}"), (Some(model), None), &[]);
        }
        base
    }

    /// A percentage of the nominal voltage, as the catalogue has voltages; or what it lacks.
    pub(super) fn voltage(base: &Base, percent: (Exact, Exact)) -> Result<Converted<Amount>, String> {
        let of = base.voltage.ok_or_else(|| format!("a percentage of the nominal voltage, which model {} does not tell", base.model))?;
        of.of_percent(percent)
    }

    /// A percentage of reactive power, of what the standard takes it; positive supplies.
    pub(super) fn reactive(&self, base: &Base, number: (Exact, Exact), of: PowerOf) -> Result<Converted<Exact>, String> {
        let shown = match of {
            PowerOf::ActiveMost => base.active,
            PowerOf::ApparentMost => base.apparent,
            PowerOf::ReactiveMost if number.0 < Exact::ZERO => base.absorbing,
            PowerOf::ReactiveMost => base.supplying,
            PowerOf::Available => return Err("a percentage of the reactive power that is available at the moment".to_owned()),
        };
        converted(number, shown, base.asked(self.against.percent_of.reactive), base.model)
    }

    /// A percentage of active power, of what the standard takes it.
    pub(super) fn active(&self, base: &Base, number: (Exact, Exact), of: PowerOf) -> Result<Converted<Exact>, String> {
        if of == PowerOf::Available {
            return Err("a percentage of the active power that is available at the moment".to_owned());
        }
        converted(number, base.active, base.asked(self.against.percent_of.active), base.model)
    }

    /// Of what the standard takes percentages of reactive power.
    pub(super) fn reactive_of(&self) -> PowerBase {
        self.against.percent_of.reactive
    }

    /// The base that the newer models, or the older, go by.
    pub(super) fn base(&self, model: u16) -> &Base {
        if model >= 700 { &self.newer } else { &self.older }
    }
}

impl Base {
    fn asked(&self, of: PowerBase) -> Option<Exact> {
        match of {
            PowerBase::RatedApparentPower => self.apparent_rating,
            PowerBase::RatedActivePower => self.active_rating,
        }
    }

    /// Vars, as a percentage of what the standard takes it.
    pub(super) fn of_vars(&self, number: (Exact, Exact), of: PowerBase) -> Result<Converted<Exact>, String> {
        converted(number, Some(Exact::HUNDRED), self.asked(of), self.model)
    }
}

/// A percentage of one power as a percentage of another.
fn converted(
    (percent, resolution): (Exact, Exact),
    shown: Option<Exact>,
    asked: Option<Exact>,
    model: u16,
) -> Result<Converted<Exact>, String> {
    if percent == Exact::ZERO && shown.is_none_or(|shown| asked.is_none_or(|asked| asked == shown)) {
        // nothing is nothing of every base; the step then is the register's own
        return Ok(Converted { number: percent, step: resolution, exact: true });
    }
    let (Some(shown), Some(asked)) = (shown, asked) else {
        return Err(format!("a percentage of a power that model {model} does not tell"));
    };
    if shown == asked {
        return Ok(Converted { number: percent, step: resolution, exact: true });
    }
    let over = |number: Exact| (number * shown).divided_roughly(asked, 12).map(|number| nine_digits(number).0);
    let (number, step) = over(percent).zip(over(resolution)).ok_or("more digits than can be calculated with")?;
    let exact = number * asked == percent * shown;
    Ok(Converted { number, step: if exact { step } else { step + Exact::new(1, 6) }, exact })
}

/// Rounded to nine significant digits and nine decimals, and whether nothing was lost.
pub(super) fn nine_digits(number: Exact) -> (Exact, bool) {
    let (rounded, _) = number.nine_digits();
    (rounded, rounded == number)
}
