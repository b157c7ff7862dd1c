//! Devices that are set as the shipped codes and networks ask, each reactive mode that they give figures for in turn.

use jiff::civil::date;
use response::characteristic::Circumstances;
use response::device::{Device, ReactiveMode, device};
use rules::assess::{Assessor, candidates};
use rules::book::Book;
use rules::phrase::to_set;
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::Part;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::library::{Library, Profile};
use settings_model::value::Value;
use std::path::Path;
use std::sync::OnceLock;

/// A device as a code asks.
pub struct Coded {
    pub name: String,
    pub device: Device,
    pub nominal: f64,
    pub response_time: f64,
}

/// Another than the state of being enabled.
const DISABLED: u8 = ENABLED - 1;
const MODES: [&str; 5] = ["volt-var", "fixed-power-factor", "fixed-reactive-power", "power-dependent-power-factor", "watt-var"];
/// Rated apparent power, phases.
const SIZES: [(i64, i64); 4] = [(3_680, 1), (5_000, 1), (12_000, 3), (40_000, 3)];

/// All of them.
pub fn all() -> &'static [Coded] {
    static ALL: OnceLock<Vec<Coded>> = OnceLock::new();
    ALL.get_or_init(read)
}

fn read() -> Vec<Coded> {
    let mut assessor = Assessor::new(library(), date(2026, 11, 25));
    let mut all = Vec::new();
    for candidate in candidates(&mut assessor) {
        let book = candidate.book(Equipment::Inverter);
        for (rated, phases) in SIZES {
            all.extend(MODES.iter().filter_map(|mode| of(&candidate.title, book, mode, rated, phases)));
        }
    }
    all
}

fn library() -> Library {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles");
    let (mut library, mut folders) = (Library::default(), vec![root.clone()]);
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "yaml") {
                let key = path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
                let text = std::fs::read_to_string(&path).unwrap();
                library.add(Profile { path: key.clone(), name: key, text: text.into(), shipped: true });
            }
        }
    }
    library
}

fn of(title: &str, book: &Book, mode: &str, rated: i64, phases: i64) -> Option<Coded> {
    let frequency = book.rulebook.nominal_frequency;
    let nominal = if frequency.is_some_and(|hertz| hertz == Exact::from(60)) { 240 } else { 230 };
    let mut facts = Facts::default();
    for (fact, number) in [(FactId::NominalVoltage, nominal), (FactId::Phases, phases), (FactId::DevicePhases, phases)] {
        facts.set_number(fact, number.into());
    }
    [FactId::Nameplate, FactId::RatedPower].into_iter().for_each(|fact| facts.set_number(fact, rated.into()));
    let requirement = &book.requirement(&facts, &[]).requirement;
    let all = requirement.entries.iter();
    let mut values: Vec<(SettingId, Value)> =
        all.filter_map(|resolved| Some((resolved.entry.setting, to_set(&resolved.entry, &requirement.ties, &facts)?))).collect();
    for other in MODES {
        let Some(state) = SettingId::find(other, "state") else { continue };
        values.retain(|(id, _)| *id != state);
        values.push((state, Value::Word(if other == mode { ENABLED } else { DISABLED })));
    }
    let value = |id: SettingId| values.iter().find(|(other, _)| *other == id).map(|(_, value)| value);
    let (device, _) = device(&value, Circumstances { facts: &facts, nominal_frequency: frequency }, book.rulebook.percent_of);
    // nothing here simulates frequency
    let device = device.map(|device| Device { over_frequency: None, under_frequency: None, ..device });
    let device = device.filter(|device| !matches!(device.reactive, ReactiveMode::Unity))?;
    let seconds =
        |function: &str| value(SettingId::find(function, "response-time")?)?.part(Part::Whole)?.at(&facts).map(Exact::approximate);
    let response_time = [mode, "volt-watt"].into_iter().filter_map(seconds).fold(0.0, f64::max);
    Some(Coded { name: format!("{title}, {mode}"), device, nominal: nominal as f64, response_time })
}
