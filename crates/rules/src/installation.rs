//! The installation as a whole: what its devices add up to, and what was calculated for it.

use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Device, DeviceKind, SiteFile};
use settings_model::quantity::Amount;
use settings_model::settings::{Known, Settings};
use settings_model::value::Value;

/// How the installation is named in findings, beside the site's devices.
pub const NAME: &str = "installation";

/// The word for a function that the site does not have.
const ABSENT: u8 = 0;

/// What a site states of its installation, and what its devices add up to. A sum stays unstated
/// while any part of it is.
///
/// # Panics
/// If the catalogue lacks a figure that is added up here; a test asks for each.
#[must_use]
pub fn figures(site: &SiteFile<'_>, facts: &Facts) -> Settings {
    let mut figures = site.installation.clone();
    let mut state = |name: &str, value: Value| {
        let setting = SettingId::named(name).expect("the catalogue has every figure that is added up");
        figures.set(setting, Known { value, evidence: None, step: None });
    };
    let mut number = |name: &str, number: Option<Exact>| {
        number.into_iter().for_each(|number| state(name, Value::Quantity(Amount::plain(number))));
    };
    number("site-rating/nameplate-total", facts.number(FactId::NameplateTotal));
    number("site-rating/limited-total", facts.number(FactId::LimitedTotal));
    let phases = by_phase(site, facts);
    number("site-rating/largest-phase", phases.and_then(|sums| sums.into_iter().max()));
    let difference = phases.and_then(|sums| Some(*sums.iter().max()? - *sums.iter().min()?));
    number("site-rating/phase-difference", difference.filter(|_| facts.number(FactId::Phases) == Some(Exact::from(3))));
    let has_relay = site.devices.iter().any(|(_, device)| device.kind == DeviceKind::GridProtectionRelay);
    state("central-protection/state", Value::Word(if has_relay { ENABLED } else { ABSENT }));
    figures
}

/// The nameplates on each phase; `None` while it is not known where, or what, every inverter feeds.
fn by_phase(site: &SiteFile<'_>, facts: &Facts) -> Option<[Exact; 3]> {
    let supply = facts.number(FactId::Phases)?;
    let mut sums = [Exact::ZERO; 3];
    for device in site.inverters() {
        let nameplate = device.nameplate?.number;
        for (sum, share) in sums.iter_mut().zip(shares(device, supply, nameplate)?) {
            *sum = *sum + share;
        }
    }
    Some(sums)
}

fn shares(device: &Device<'_>, supply: Exact, nameplate: Exact) -> Option<[Exact; 3]> {
    let mut shares = [Exact::ZERO; 3];
    let three = Exact::from(3);
    match device.phases() {
        Some(1) if supply == Exact::ONE => shares[0] = nameplate,
        Some(1) => shares[device.on_phase? as usize] = nameplate,
        None if supply == Exact::ONE => shares[0] = nameplate,
        Some(3) => shares = [nameplate.divided_roughly(three, 9)?; 3],
        _ => return None,
    }
    Some(shares)
}
