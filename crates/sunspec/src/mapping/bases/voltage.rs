//! What 100 % of a voltage is, from what a device calls its nominal voltage.
//!
//! Model 702 gives it to neutral on one phase and between lines otherwise; older models do not say which. Where it is
//! the site's own nominal voltage, however it is spelt, percentages are told per unit; otherwise in volts.

use super::{Converted, nine_digits};
use crate::mapping::device::DeviceModels;
use crate::trouble::TroubleKind;
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::quantity::Amount;

/// What 100 % of a voltage is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum VoltageBase {
    /// The site's nominal voltage to neutral, however the device spells it.
    Nominal(Exact),
    /// So many volts to neutral.
    ToNeutral(Exact),
    /// So many volts between the lines of a three-phase supply.
    BetweenLines(Exact),
}

/// How a device is connected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Phases {
    Single,
    Split,
    Three,
}

/// What 100 % is, and what has to be known of it.
type Found = (Option<VoltageBase>, Option<(TroubleKind, String)>);

/// Nominal voltages between lines and to neutral that the trade pairs. Common practice, no source.
const PAIRS: [(i64, i64); 9] = [(208, 120), (220, 127), (380, 220), (400, 230), (415, 240), (440, 254), (480, 277), (600, 347), (690, 400)];

/// √3, to eighteen decimals.
fn root_three() -> Exact {
    Exact::new(1_732_050_807_568_877_294, 18)
}

/// What 100 % is, for a device of so many volts at a site of such a nominal voltage, if one is named.
pub(super) fn base(volts: Exact, phases: Option<Phases>, nominal: Option<Exact>) -> Found {
    match nominal {
        Some(nominal) => at_site(volts, phases, nominal),
        None => alone(volts, phases),
    }
}

fn at_site(volts: Exact, phases: Option<Phases>, nominal: Exact) -> Found {
    let is_sites = Some(VoltageBase::Nominal(nominal));
    match (spelt(volts, nominal), phases) {
        (Some(Phases::Single), Some(Phases::Split | Phases::Three)) => {
            let says = format!(
                "{volts} V is the site's nominal voltage to neutral, and by the definitions it would be between lines on this device; taken as to neutral"
            );
            (is_sites, Some((TroubleKind::NominalUnclear, says)))
        }
        (Some(_), None) => (is_sites, None),
        (Some(spelt), Some(phases)) if spelt == phases => (is_sites, None),
        _ => {
            let own = phases.map(|phases| own(volts, phases));
            let told =
                if own.is_some() { "its percentages are told in volts" } else { "whether it is to neutral or between lines is not known" };
            let says = format!("the device's nominal voltage is {volts} V, the site's {nominal} V to neutral: {told}");
            (own, Some((if own.is_some() { TroubleKind::NominalDiffers } else { TroubleKind::BaseUnknown }, says)))
        }
    }
}

fn alone(volts: Exact, phases: Option<Phases>) -> Found {
    let base = match phases {
        Some(Phases::Single) => VoltageBase::Nominal(volts),
        Some(Phases::Split) => VoltageBase::Nominal(volts.half()),
        Some(Phases::Three) => {
            let pair = PAIRS.iter().find(|(lines, _)| Exact::from(*lines) == volts);
            pair.map_or(VoltageBase::BetweenLines(volts), |(_, neutral)| VoltageBase::Nominal(Exact::from(*neutral)))
        }
        None => {
            let says = format!(
                "of {volts} V it is not known whether they are to neutral or between lines; name the site, whose nominal voltage tells"
            );
            return (None, Some((TroubleKind::BaseUnknown, says)));
        }
    };
    (Some(base), None)
}

/// How a device spells the site's nominal voltage, if that is what its volts are: 277 V and 480 V are one pair of the
/// trade, so √3 is met within half a per cent.
fn spelt(volts: Exact, nominal: Exact) -> Option<Phases> {
    let off = (volts - nominal * root_three()).abs() * Exact::from(200);
    match volts {
        _ if volts == nominal => Some(Phases::Single),
        _ if volts == nominal + nominal => Some(Phases::Split),
        _ => (off <= volts).then_some(Phases::Three),
    }
}

fn own(volts: Exact, phases: Phases) -> VoltageBase {
    match phases {
        Phases::Single => VoltageBase::ToNeutral(volts),
        Phases::Split => VoltageBase::ToNeutral(volts.half()),
        Phases::Three => VoltageBase::BetweenLines(volts),
    }
}

impl VoltageBase {
    /// A percentage and its resolution, as the catalogue has voltages.
    pub(super) fn of_percent(self, (percent, resolution): (Exact, Exact)) -> Result<Converted<Amount>, String> {
        let hundredth = Exact::new(1, 2);
        let (share, step) = (percent * hundredth, resolution * hundredth);
        match self {
            Self::Nominal(nominal) => {
                let number = Amount::times(share, FactId::NominalVoltage);
                Ok(Converted { number, step: nine_digits(step * nominal).0, exact: true })
            }
            Self::ToNeutral(volts) => {
                let (number, exact) = nine_digits(share * volts);
                Ok(Converted { number: Amount::plain(number), step: nine_digits(step * volts).0, exact })
            }
            Self::BetweenLines(volts) => {
                let over = |number: Exact| (number * volts).divided_roughly(root_three(), 12).map(|number| nine_digits(number).0);
                let (number, step) = over(share).zip(over(step)).ok_or("more digits than can be calculated with")?;
                // rounded up, so that the interval always holds the true value
                Ok(Converted { number: Amount::plain(number), step: step + Exact::new(1, 6), exact: false })
            }
        }
    }
}

impl Phases {
    /// As model 701 says it, or the model of older measurements that lies there.
    pub(super) fn of(device: &DeviceModels) -> Option<Self> {
        let of_older = |models: [u16; 2]| models.into_iter().any(|id| device.has(id));
        match device.model(701).and_then(|state| state.parts.code("ACType")) {
            Some(0) => Some(Self::Single),
            Some(1) => Some(Self::Split),
            Some(2) => Some(Self::Three),
            _ if of_older([101, 111]) => Some(Self::Single),
            _ if of_older([102, 112]) => Some(Self::Split),
            _ if of_older([103, 113]) => Some(Self::Three),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_site_the_devices_own_nominal_voltage_counts() {
        use Phases::{Single, Split, Three};
        let nominal = |volts: i64| Some(VoltageBase::Nominal(Exact::from(volts)));
        for (volts, phases, expected) in [
            (230, Some(Single), nominal(230)),
            (240, Some(Split), nominal(120)),
            (480, Some(Three), nominal(277)),
            (405, Some(Three), Some(VoltageBase::BetweenLines(Exact::from(405)))),
            (230, None, None),
        ] {
            let (base, trouble) = base(Exact::from(volts), phases, None);
            assert_eq!((base, trouble.is_some()), (expected, expected.is_none()), "{volts} {phases:?}");
        }
    }

    #[test]
    fn the_sites_nominal_voltage_is_known_however_it_is_spelt() {
        use Phases::{Single, Split, Three};
        let volts = |tenths: i64| Exact::new(tenths, 1);
        for (own, phases, nominal, expected) in [
            (2300, Some(Single), 230, None),
            (4000, Some(Three), 230, None),
            (4800, Some(Three), 277, None),
            (4150, Some(Three), 240, None),
            (2080, Some(Three), 120, None),
            (2400, Some(Split), 120, None),
            (2400, None, 120, None),
            (4000, None, 230, None),
            (2300, Some(Three), 230, Some(TroubleKind::NominalUnclear)),
            (4000, Some(Three), 240, Some(TroubleKind::NominalDiffers)),
            (2400, Some(Single), 120, Some(TroubleKind::NominalDiffers)),
            (2450, None, 230, Some(TroubleKind::BaseUnknown)),
        ] {
            let (base, trouble) = base(volts(own), phases, Some(Exact::from(nominal)));
            let kind = trouble.map(|(kind, _)| kind);
            assert_eq!(kind, expected, "{own} {phases:?} at {nominal}");
            let is_sites = base == Some(VoltageBase::Nominal(Exact::from(nominal)));
            assert_eq!(is_sites, matches!(kind, None | Some(TroubleKind::NominalUnclear)), "{own} {phases:?} at {nominal}");
        }
    }
}
