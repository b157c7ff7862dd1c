//! The installation as a whole: what its devices add up to, and what was calculated for it.

use crate::rise::{self, BEGINS, Begins, CONSUMER_MAINS, TOTAL};
use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Device, DeviceKind, SiteFile};
use settings_model::quantity::Amount;
use settings_model::requirement::Requirement;
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
pub fn sums(site: &SiteFile<'_>, facts: &Facts) -> Settings {
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

/// What an installation comes to.
#[derive(Clone, Debug)]
pub struct Figures {
    /// Of figures that are known in several ways, the highest.
    pub highest: Settings,
    /// The same with the lowest, where two of them differ.
    pub lowest: Option<Settings>,
    /// What the cables lead to, and the file states otherwise: the setting, what is stated, what comes out.
    pub contradicted: Vec<(SettingId, Exact, Exact)>,
    /// Whether no layer says where a rise is counted from, and a service line makes a difference to it.
    pub begins_nowhere: bool,
    /// The figures that come of its own cables.
    pub of_cables: Vec<SettingId>,
}

/// How far a stated figure may lie off, in per cent of the nominal voltage: it may be rounded to a tenth.
const NEAR: (i64, u32) = (5, 2);

/// What a site states of its installation, what its devices add up to, and the voltage rise that its own cables
/// lead to, counted from where its requirement says.
#[must_use]
pub fn figures(site: &SiteFile<'_>, facts: &Facts, asked: &Requirement) -> Figures {
    let highest = sums(site, facts);
    let mut figures = Figures { lowest: None, highest, contradicted: Vec::new(), begins_nowhere: false, of_cables: Vec::new() };
    let begins = Begins::asked(asked);
    if let Some(resolved) = asked.get(BEGINS).filter(|_| !figures.highest.states(BEGINS))
        && let Some(word) = &resolved.entry.require
    {
        // a figure is taken to be counted as it is asked, unless the file says otherwise
        figures.highest.set(BEGINS, stated(word.clone()));
    }
    let from = |begins| rise::reckoned(site, facts, begins);
    let (most, least) = match begins {
        Some(begins) => (from(begins), None),
        None => (from(Begins::DistributionMain), from(Begins::PointOfSupply)),
    };
    let Some(most) = most else { return figures };
    let least = least.unwrap_or(most);
    figures.begins_nowhere = asked.get(TOTAL).is_some() && least.total != most.total;
    let mut lowest = figures.highest.clone();
    let rises = [(TOTAL, Some(most.total), Some(least.total)), (CONSUMER_MAINS, most.consumer_mains, least.consumer_mains)];
    for (setting, high, low) in rises {
        let (Some(high), Some(low)) = (high, low.or(high)) else { continue };
        let typed = site.installation.0.get(setting).and_then(|known| known.value.part(Part::Whole)).map(|amount| amount.number);
        let near = Exact::new(NEAR.0, NEAR.1);
        let off = typed.filter(|typed| *typed + near < low || *typed > high + near);
        figures.contradicted.extend(off.map(|typed| (setting, typed, if typed < low { low } else { high })));
        let is_asked = asked.get(setting).is_some_and(|resolved| !resolved.entry.demands_nothing());
        if !is_asked && typed.is_none() {
            continue;
        }
        if typed.is_none_or(|typed| typed < high) {
            figures.of_cables.push(setting);
        }
        // a limit may lie between what was rounded and what comes out, so both are judged; who states more than
        // the cables lead to has said so
        let (high, low) = match typed {
            Some(typed) if typed >= high => (typed, typed),
            Some(typed) => (high, low.min(typed)),
            None => (high, low),
        };
        figures.highest.set(setting, stated(Value::Quantity(Amount::plain(high))));
        lowest.set(setting, stated(Value::Quantity(Amount::plain(low))));
    }
    figures.lowest = (lowest != figures.highest).then_some(lowest);
    figures
}

fn stated(value: Value) -> Known {
    Known { value, evidence: None, step: None }
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
