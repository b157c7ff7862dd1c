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

const NAMEPLATE_TOTAL: SettingId = SettingId::of("site-rating", "nameplate-total");
const LIMITED_TOTAL: SettingId = SettingId::of("site-rating", "limited-total");
const LARGEST_PHASE: SettingId = SettingId::of("site-rating", "largest-phase");
const PHASE_DIFFERENCE: SettingId = SettingId::of("site-rating", "phase-difference");
const RELAY: SettingId = SettingId::of("central-protection", "state");

/// What a site states of its installation, and what its devices add up to. A sum stays unstated
/// while any part of it is.
#[must_use]
pub fn figures(site: &SiteFile<'_>, facts: &Facts) -> Settings {
    let phases = by_phase(site, facts);
    let largest = phases.and_then(|sums| sums.into_iter().max());
    // on a single phase there is nothing to balance
    let of_three = phases.filter(|_| facts.number(FactId::Phases) == Some(Exact::from(3)));
    let difference = of_three.and_then(|sums| Some(*sums.iter().max()? - *sums.iter().min()?));
    let sums = [
        (NAMEPLATE_TOTAL, facts.number(FactId::NameplateTotal)),
        (LIMITED_TOTAL, facts.number(FactId::LimitedTotal)),
        (LARGEST_PHASE, largest),
        (PHASE_DIFFERENCE, difference),
    ];
    let has_relay = site.devices.iter().any(|(_, device)| device.kind == DeviceKind::GridProtectionRelay);
    let relay = Value::Word(if has_relay { ENABLED } else { ABSENT });
    let sums = sums.into_iter().filter_map(|(setting, sum)| Some((setting, Value::Quantity(Amount::plain(sum?)))));
    let mut figures = site.installation.0.clone();
    for (setting, value) in sums.chain([(RELAY, relay)]) {
        figures.set(setting, Known { value, evidence: None, step: None });
    }
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
