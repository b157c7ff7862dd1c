//! Export limits that look right one by one and add up wrong.

use super::{Broken, PRACTICE, Rule, Site};
use crate::judge::rounded_off;
use crate::outcome::DeviceResult;
use crate::provenance::{Standing, standing};
use settings_model::catalogue::{Equipment, SettingId, Shape};
use settings_model::claim::{Limit, Part, Term};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
use settings_model::settings::Settings;
use settings_model::ties::{AUSTRALIA_A, Example};
use settings_model::value::Value;

const LIMIT: SettingId = SettingId::of("export-limit", "site-total");
const PER_PHASE: SettingId = SettingId::of("export-limit", "per-phase");
const HARD: SettingId = SettingId::of("export-limit", "hard-limit");
const FALLBACK: SettingId = SettingId::of("remote-control", "fallback");
const COUNTS: SettingId = SettingId::of("export-limit", "counts");
const STATE: SettingId = SettingId::of("export-limit", "state");
const DIRECTION: SettingId = SettingId::of("export-sensor", "direction");
const PHASE: SettingId = SettingId::of("export-sensor", "phase");
const SUMS: SettingId = SettingId::of("export-sensor", "sums");
const LOCATION: SettingId = SettingId::of("export-sensor", "location");
const MASTER: SettingId = SettingId::of("export-sensor", "master");

pub(super) const LIMIT_HELD_TWICE: Rule = Rule {
    name: "limit-held-twice",
    sentence: "where several inverters each hold the site's export limit, one of them is the master, or together they may export it several times over; the same holds of the hard limit, and of the limit that they fall back to",
    source: PRACTICE,
    example: Example {
        failing: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW } } }",
        near_miss: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: this-device } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: another-device } } }",
        under: AUSTRALIA_A,
    },
    check: held_twice,
    looks_at: |site, device, setting| [STATE, LIMIT, MASTER].contains(&setting) && limit_of(&site.devices[device].settings, site).is_some(),
};

/// The limits on what leaves the site that each inverter may hold by itself: that of ordinary days, the one above
/// which it disconnects, and the one that it falls back to when it can be reached no more.
const HELD: [(SettingId, &str); 3] = [(LIMIT, "limit"), (HARD, "hard limit"), (FALLBACK, "fallback limit")];

fn held_twice(site: &Site<'_>) -> Vec<Broken> {
    if site.devices.iter().filter(|device| device.kind == Equipment::Inverter).nth(1).is_none() {
        return Vec::new();
    }
    HELD.iter().filter_map(|(held, what)| together(*held, what, site)).collect()
}

/// An inverter that holds a limit for the site.
struct Holder {
    device: usize,
    /// As what it states the limit.
    setting: SettingId,
    /// The number that it states.
    limit: Exact,
    /// How often that number may leave the site: once on each phase, where the device counts phase by phase.
    times: Exact,
}

impl Holder {
    fn of(device: usize, held: SettingId, site: &Site<'_>) -> Option<Self> {
        let result = &site.devices[device];
        let by_phase = each_phase(result, site).filter(|_| held == LIMIT);
        if let Some(((setting, limit), times)) = by_phase.zip(result.facts.number(FactId::DevicePhases)) {
            return Some(Self { device, setting, limit, times });
        }
        Some(Self { device, setting: held, limit: held_by(result, held, site)?, times: Exact::ONE })
    }

    /// `inverter-1 3.33 kW on each of 3 phases`.
    fn says(&self, site: &Site<'_>) -> String {
        let shown = format!("{} {}", site.devices[self.device].name, Dimension::ActivePower.show(self.limit));
        if self.times == Exact::ONE { shown } else { format!("{shown} on each of {} phases", self.times) }
    }
}

/// What the inverters that each hold a limit for the site let through together.
fn together(held: SettingId, what: &str, site: &Site<'_>) -> Option<Broken> {
    let holders = site.devices.iter().enumerate().filter(|(_, device)| !follows_another(&device.settings));
    let holders: Vec<Holder> = holders.filter_map(|(n, _)| Holder::of(n, held, site)).collect();
    let [first, _, ..] = &holders[..] else { return None };
    let total = holders.iter().fold(Exact::ZERO, |sum, holder| sum + holder.limit * holder.times);
    let rounded = |holder: &Holder| rounded_off(site.devices[holder.device].settings.get(holder.setting), Part::Whole) * holder.times;
    let off = holders.iter().fold(Exact::ZERO, |off, holder| off + rounded(holder));
    let cap = Cap::of(held, site)?;
    let outcome = cap.outcome(total, off)?;
    let show = |watts| Dimension::ActivePower.show(watts);
    let each: Vec<String> = holders.iter().map(|holder| holder.says(site)).collect();
    Some(Broken {
        rule: LIMIT_HELD_TWICE.name,
        device: first.device,
        setting: first.setting,
        with: Vec::new(),
        outcome,
        basis: cap.basis,
        says: format!(
            "{} inverters each hold a {what}: {}, {} together; {}; may export more than {}",
            holders.len(),
            each.join(", "),
            show(total),
            cap.says(),
            cap.word()
        ),
        hint: "let one device measure and hold the limit for all, and say so under `export-sensor/master`; or share the limit out"
            .to_owned(),
    })
}

pub(super) const LIMIT_HELD_BY_NOBODY: Rule = Rule {
    name: "limit-held-by-nobody",
    sentence: "where an inverter is limited by another device of the site, one of them holds the limit",
    source: PRACTICE,
    example: Example {
        failing: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: another-device } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: another-device } } }",
        near_miss: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: another-device } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: this-device } } }",
        under: AUSTRALIA_A,
    },
    check: held_by_nobody,
    looks_at: |site, device, setting| setting == MASTER && site.devices[device].settings.is_enabled(STATE),
};

/// Inverters that are all limited by one another. Where one of them should hold a limit and does not, that is the finding.
fn held_by_nobody(site: &Site<'_>) -> Vec<Broken> {
    let is_limited = |device: &DeviceResult<'_>| device.kind == Equipment::Inverter && device.settings.is_enabled(STATE);
    let should_be = |device: &DeviceResult<'_>| device.counted.requirement.get(STATE).is_some_and(|state| !state.entry.demands_nothing());
    let holds =
        |device: &DeviceResult<'_>| (is_limited(device) || should_be(device)) && !is_word(&device.settings, MASTER, "another-device");
    let is_held = site.devices.iter().any(holds);
    let first = site.devices.iter().position(is_limited).filter(|_| !is_held);
    let broken = |device| Broken {
        rule: LIMIT_HELD_BY_NOBODY.name,
        device,
        setting: MASTER,
        with: vec![STATE],
        outcome: Outcome::NotProven,
        basis: None,
        says: "limited by another device, and no device of the site holds the limit".to_owned(),
        hint: "see which device measures and holds the limit, and state that one; a controller that is no inverter is `controller`"
            .to_owned(),
    };
    first.map(broken).into_iter().collect()
}

/// The most that may leave the site.
struct Cap {
    most: Exact,
    /// How it is known, where a requirement says it; `None` where the approval does.
    basis: Option<Standing>,
    is_approved: bool,
}

impl Cap {
    /// The least of what is approved and what the requirements of its devices leave.
    fn of(held: SettingId, site: &Site<'_>) -> Option<Self> {
        let most = |device: &DeviceResult<'_>| {
            let entry = &device.counted.requirement.get(held)?.entry;
            let edges = entry.comply.iter().filter(|claim| claim.on == Term::Var(held.into())).filter_map(|claim| match claim.limit {
                Limit::AtMost(bound) => bound.value.at(&device.facts),
                _ => None,
            });
            Some(Self { most: edges.min()?, basis: standing(entry, &device.book.rulebook), is_approved: false })
        };
        let required = site.devices.iter().filter_map(most).min_by_key(|cap| cap.most);
        // a hard limit may lie above what is approved: the limit below it holds that
        let approved = site.facts.number(FactId::ApprovedExport).filter(|_| held != HARD);
        match (approved, required) {
            (Some(approved), Some(required)) if required.most < approved => Some(required),
            (Some(approved), _) => Some(Self { most: approved, basis: None, is_approved: true }),
            (None, required) => required,
        }
    }

    /// What comes of a power that may leave the site, shown to within `off` either way; `None` where it keeps to the cap.
    fn outcome(&self, power: Exact, off: Exact) -> Option<Outcome> {
        match (power - off > self.most, power + off > self.most) {
            (true, _) => Some(Outcome::DoesNotComply),
            (false, true) => Some(Outcome::NotProven),
            (false, false) => None,
        }
    }

    /// `5 kW is approved for the site`.
    fn says(&self) -> String {
        let most = Dimension::ActivePower.show(self.most);
        if self.is_approved {
            format!("{most} is approved for the site")
        } else {
            format!("{most} is the most that its requirement leaves the site")
        }
    }

    fn word(&self) -> &'static str {
        if self.is_approved { "approved" } else { "allowed" }
    }
}

pub(super) const LIMIT_COUNTED_PER_PHASE: Rule = Rule {
    name: "limit-counted-per-phase",
    sentence: "a limit that the device counts on each phase is a third of the site's, or the site may export three times the approval",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW, counts: each-phase } }",
        near_miss: "inverter-1: { export-limit: { state: enabled, site-total: 1.66 kW, counts: each-phase } }",
        under: AUSTRALIA_A,
    },
    check: counted_per_phase,
    looks_at: |site, device, setting| {
        let of = &site.devices[device];
        (setting == COUNTS && limit_of(&of.settings, site).is_some())
            || (setting == PER_PHASE && each_phase(of, site).is_some_and(|(held, _)| held == PER_PHASE) && Cap::of(LIMIT, site).is_some())
    },
};

fn counted_per_phase(site: &Site<'_>) -> Vec<Broken> {
    let of_device = |(device, result): (usize, &DeviceResult<'_>)| {
        let (setting, limit) = each_phase(result, site)?;
        let phases = result.facts.number(FactId::DevicePhases)?;
        let (cap, through) = (Cap::of(LIMIT, site)?, limit * phases);
        let off = rounded_off(result.settings.get(setting), Part::Whole) * phases;
        let show = |watts| Dimension::ActivePower.show(watts);
        cap.outcome(through, off).map(|outcome| Broken {
            rule: LIMIT_COUNTED_PER_PHASE.name,
            device,
            setting,
            with: if setting == LIMIT { vec![COUNTS] } else { Vec::new() },
            outcome,
            basis: cap.basis,
            says: format!(
                "{} is counted on each of {phases} phases, {} in all; {}; may export more than {}",
                show(limit),
                show(through),
                cap.says(),
                cap.word()
            ),
            hint: "first see what the number means on this device. Only if it counts each phase: have it count the site's total, or enter the limit divided by the phases".to_owned(),
        })
    };
    site.devices.iter().enumerate().filter_map(of_device).collect()
}

/// The limit that a device holds on each phase, while it acts.
fn each_phase(result: &DeviceResult<'_>, site: &Site<'_>) -> Option<(SettingId, Exact)> {
    if is_word(&result.settings, COUNTS, "each-phase") {
        return Some((LIMIT, limit_of(&result.settings, site)?));
    }
    // a limit on the whole besides holds whatever each phase may
    if result.settings.states(LIMIT) { None } else { Some((PER_PHASE, held_by(result, PER_PHASE, site)?)) }
}

pub(super) const LIMIT_CANNOT_SEE: Rule = Rule {
    name: "limit-cannot-see",
    sentence: "an export limit acts only where its sensor sees the export: at the connection point, the right way round, on its own phase, all phases of the supply",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { location: main-switchboard, direction: reversed } }",
        near_miss: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { location: main-switchboard, direction: correct } }",
        under: AUSTRALIA_A,
    },
    check: cannot_see,
    looks_at: |site, device, setting| {
        let looked_at = || BLIND.iter().any(|(looked_at, ..)| *looked_at == setting);
        site.devices[device].settings.is_enabled(STATE) && (looked_at() || (setting == SUMS && site.facts.get(FactId::Phases).is_some()))
    },
};

/// What a sensor may be, and what then follows.
const BLIND: [(SettingId, &str, &str); 3] = [
    (DIRECTION, "reversed", "the sensor is reversed: export looks like import, and the limit never acts"),
    (PHASE, "other", "the sensor sits on another phase than the device takes it for"),
    (LOCATION, "inverter-terminals", "the sensor sees the inverter's output and not the site's export"),
];

/// What is added up, where the supply has several phases.
const ONE_PHASE: (SettingId, &str, &str) = (SUMS, "single-phase", "the sensor counts one phase of several");

fn has_several_phases(site: &Site<'_>) -> bool {
    site.facts.number(FactId::Phases).is_some_and(|phases| phases > Exact::ONE)
}

fn cannot_see(site: &Site<'_>) -> Vec<Broken> {
    let mut broken = Vec::new();
    for (device, result) in site.devices.iter().enumerate() {
        if !result.settings.is_enabled(STATE) {
            continue;
        }
        let sees_one_of_several = is_word(&result.settings, SUMS, "single-phase") && has_several_phases(site);
        let blind = BLIND.iter().filter(|(setting, word, _)| is_word(&result.settings, *setting, word));
        broken.extend(blind.chain(sees_one_of_several.then_some(&ONE_PHASE)).map(|(setting, _, says)| Broken {
            rule: LIMIT_CANNOT_SEE.name,
            device,
            setting: *setting,
            with: vec![STATE],
            outcome: Outcome::DoesNotComply,
            basis: None,
            says: format!("{says}; may export more than approved"),
            hint: "mend the sensor, then show by switching a known load that the limit acts".to_owned(),
        }));
    }
    broken
}

/// The limit that a device holds for the site, while it acts.
fn limit_of(settings: &Settings, site: &Site<'_>) -> Option<Exact> {
    limit_in(settings, LIMIT, site)
}

fn held_by(result: &DeviceResult<'_>, held: SettingId, site: &Site<'_>) -> Option<Exact> {
    limit_in(&result.settings, held, site)
}

fn limit_in(settings: &Settings, held: SettingId, site: &Site<'_>) -> Option<Exact> {
    let known = settings.get(held).filter(|_| held.state().is_some_and(|state| settings.is_enabled(state)))?;
    match &known.value {
        Value::Quantity(amount) => amount.at(site.facts),
        _ => None,
    }
}

fn follows_another(settings: &Settings) -> bool {
    is_word(settings, MASTER, "another-device") || is_word(settings, MASTER, "controller")
}

fn is_word(settings: &Settings, setting: SettingId, word: &str) -> bool {
    let Shape::Choice(words) = setting.parameter().shape else { return false };
    let held = settings.get(setting).map(|known| &known.value);
    matches!(held, Some(Value::Word(index)) if words.get(usize::from(*index)) == Some(&word))
}
