//! Export limits that look right one by one and add up wrong.

use super::{Broken, PRACTICE, Rule, Site};
use crate::assess::DeviceResult;
use settings_model::catalogue::{SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::facts::FactId;
use settings_model::finding::Outcome;
use settings_model::quantity::Dimension;
use settings_model::settings::Settings;
use settings_model::ties::{AUSTRALIA_A, Example};
use settings_model::value::Value;

const LIMIT: SettingId = SettingId::of("export-limit", "site-total");
const COUNTS: SettingId = SettingId::of("export-limit", "counts");
const STATE: SettingId = SettingId::of("export-limit", "state");
const DIRECTION: SettingId = SettingId::of("export-sensor", "direction");
const PHASE: SettingId = SettingId::of("export-sensor", "phase");
const LOCATION: SettingId = SettingId::of("export-sensor", "location");
const MASTER: SettingId = SettingId::of("export-sensor", "master");

pub(super) const LIMIT_HELD_TWICE: Rule = Rule {
    name: "limit-held-twice",
    sentence: "where several inverters each hold the site's export limit, one of them is the master, or together they may export it several times over",
    source: PRACTICE,
    example: Example {
        failing: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW } } }",
        near_miss: "{ inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: this-device } }, inverter-2: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { master: another-device } } }",
        under: AUSTRALIA_A,
    },
    check: held_twice,
};

fn held_twice(site: &Site<'_>) -> Vec<Broken> {
    if site.devices.len() < 2 {
        return Vec::new();
    }
    let holders: Vec<(usize, &DeviceResult<'_>, Exact)> =
        site.devices.iter().enumerate().filter_map(|(n, device)| Some((n, device, limit_of(&device.settings, site)?))).collect();
    let total = holders.iter().fold(Exact::ZERO, |sum, (.., limit)| sum + *limit);
    let own_master: Vec<_> = holders.iter().filter(|(_, device, _)| !follows_another(&device.settings)).collect();
    let (Some(approved), [_, .., (device, _, limit)]) = (site.facts.number(FactId::ApprovedExport), &own_master[..]) else {
        return Vec::new();
    };
    if total <= approved {
        return Vec::new();
    }
    let (count, show) = (own_master.len(), |watts| Dimension::ActivePower.show(watts));
    vec![Broken {
        rule: LIMIT_HELD_TWICE.name,
        device: *device,
        setting: LIMIT,
        with: Vec::new(),
        outcome: Outcome::DoesNotComply,
        says: format!(
            "one of {count} inverters that each hold a limit, {} here, {} together; {} is approved for the site; may export more than approved",
            show(*limit),
            show(total),
            show(approved)
        ),
        hint: "let one device measure and hold the limit for all, and say so under `export-sensor/master`; or share the limit out"
            .to_owned(),
    }]
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
};

fn counted_per_phase(site: &Site<'_>) -> Vec<Broken> {
    let of_device = |(device, result): (usize, &DeviceResult<'_>)| {
        if !is_word(&result.settings, COUNTS, "each-phase") {
            return None;
        }
        let limit = limit_of(&result.settings, site)?;
        let phases = result.facts.number(FactId::DevicePhases)?;
        let (approved, through) = (site.facts.number(FactId::ApprovedExport)?, limit * phases);
        let show = |watts| Dimension::ActivePower.show(watts);
        (through > approved).then(|| Broken {
            rule: LIMIT_COUNTED_PER_PHASE.name,
            device,
            setting: LIMIT,
            with: vec![COUNTS],
            outcome: Outcome::DoesNotComply,
            says: format!(
                "{} is counted on each of {phases} phases, {} in all; {} is approved for the site; may export more than approved",
                show(limit),
                show(through),
                show(approved)
            ),
            hint: "first see what the number means on this device. Only if it counts each phase: have it count the site's total, or enter the limit divided by the phases".to_owned(),
        })
    };
    site.devices.iter().enumerate().filter_map(of_device).collect()
}

pub(super) const LIMIT_CANNOT_SEE: Rule = Rule {
    name: "limit-cannot-see",
    sentence: "an export limit acts only where its sensor sees the export: at the connection point, the right way round, on its own phase",
    source: PRACTICE,
    example: Example {
        failing: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { location: main-switchboard, direction: reversed } }",
        near_miss: "inverter-1: { export-limit: { state: enabled, site-total: 5 kW }, export-sensor: { location: main-switchboard, direction: correct } }",
        under: AUSTRALIA_A,
    },
    check: cannot_see,
};

/// What a sensor may be, and what then follows.
const BLIND: [(SettingId, &str, &str); 3] = [
    (DIRECTION, "reversed", "the sensor is reversed: export looks like import, and the limit never acts"),
    (PHASE, "other", "the sensor sits on another phase than the device takes it for"),
    (LOCATION, "inverter-terminals", "the sensor sees the inverter's output and not the site's export"),
];

fn cannot_see(site: &Site<'_>) -> Vec<Broken> {
    let mut broken = Vec::new();
    for (device, result) in site.devices.iter().enumerate() {
        if !result.settings.is_enabled(STATE) {
            continue;
        }
        broken.extend(BLIND.iter().filter(|(setting, word, _)| is_word(&result.settings, *setting, word)).map(|(setting, _, says)| {
            Broken {
                rule: LIMIT_CANNOT_SEE.name,
                device,
                setting: *setting,
                with: vec![STATE],
                outcome: Outcome::DoesNotComply,
                says: format!("{says}; may export more than approved"),
                hint: "mend the sensor, then show by switching a known load that the limit acts".to_owned(),
            }
        }));
    }
    broken
}

/// The limit that a device holds for the site, while it acts.
fn limit_of(settings: &Settings, site: &Site<'_>) -> Option<Exact> {
    let known = settings.get(LIMIT).filter(|_| settings.is_enabled(STATE))?;
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
