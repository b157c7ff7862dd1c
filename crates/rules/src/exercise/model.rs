//! A complying site to draw faults on: one made for a requirement, or one of the trainer's own.
//!
//! It states every value that is entered or read back, so that what a fault puts wrong does not show by being
//! stated at all.

use super::draft::{Draft, is_of_kind, written};
use super::trouble::Troubles;
use crate::assess::{Assessor, DeviceResult};
use crate::provenance::Verdict;
use crate::sheet::{Row, Task, rows};
use jiff::ToSpan;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{Equipment, HeldBy, SettingId, Shape};
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::{Amount, Dimension};
use settings_model::requirement::Requirement;
use settings_model::value::Value;

/// What a class's sites are made for.
#[derive(Clone, Debug)]
pub enum MadeFor {
    /// A region of a standard, or a version of a network there.
    Requirements {
        /// The network and its version, if an operator adds to the standard.
        network: Option<(String, semver::Version)>,
        /// The base standard and edition.
        standard: String,
        /// The region.
        region: String,
    },
    /// A site of the trainer's own, as its file says it.
    Site(Json),
}

/// How far back a site may have been applied for, so that an older version of a network governs it.
const MONTHS_BACK: i64 = 180;

/// Complying sites of several kinds for a requirement, or the one that was given.
///
/// # Errors
/// In words, why there is none.
pub fn models(of: &MadeFor, assessor: &mut Assessor) -> Result<Vec<Draft>, String> {
    match of {
        MadeFor::Site(site) => own(site, assessor).map(|model| vec![model]),
        MadeFor::Requirements { network, standard, region } => {
            let network = network.as_ref();
            let bare = |kind, assessor: &mut Assessor| bare(kind, network, standard, region, assessor);
            let drafts: Vec<Draft> = KINDS_OF_SITE.iter().map(|kind| bare(kind, assessor)).collect();
            let title = || network.map_or_else(|| format!("{standard}/{region}"), |(name, version)| format!("{name}/{version}/{region}"));
            let governed: Vec<Draft> = drafts.into_iter().filter_map(|draft| governed(draft, network, assessor)).collect();
            if governed.is_empty() {
                let says = "it governs no site of any date up to then; name a later day with `--as-of`";
                return Err(format!("{}, as of {}: {says}", title(), assessor.today));
            }
            let made: Vec<Draft> = governed.iter().filter_map(|draft| complying(draft, assessor)).collect();
            if made.is_empty() {
                let says = match governed.iter().any(|draft| leaves_open(draft, assessor)) {
                    true => {
                        "the network operator says some of its values, so no site complies under it alone; name a network that says them"
                    }
                    false => "no complying site could be made for it; name one of your own as the model",
                };
                return Err(format!("{}, as of {}: {says}", title(), assessor.today));
            }
            Ok(made)
        }
    }
}

/// Whether a value that is asked there is left to a network operator that has not said it.
fn leaves_open(draft: &Draft, assessor: &mut Assessor) -> bool {
    let open = |device: &DeviceResult<'_>| device.counted.requirement.entries.iter().any(|resolved| resolved.entry.is_left_open());
    draft.judged(assessor, |assessment, _| assessment.devices.iter().any(open)) == Some(true)
}

/// The trainer's own site without what tells whose it is, with every value stated.
fn own(site: &Json, assessor: &mut Assessor) -> Result<Draft, String> {
    let mut draft = Draft(site.clone());
    let Some(tree) = draft.0.as_object_mut() else { return Err("the model is no site".to_owned()) };
    for key in ["answerable", "pinned", "training"] {
        tree.remove(key);
    }
    draft.0["site"] = json!("model");
    if let Some(supply) = draft.0.get_mut("supply").and_then(Json::as_object_mut) {
        supply.remove("connection-point");
    }
    for device in draft.devices() {
        let Some(device) = draft.0["devices"][&device].as_object_mut() else { continue };
        for key in ["as-found", "serial"] {
            device.remove(key);
        }
        if let Some(left) = device.get_mut("as-left").and_then(Json::as_object_mut) {
            left.remove("region-photo");
            left.insert("date".to_owned(), json!(assessor.today.to_string()));
            left.insert("role".to_owned(), json!(ROLE));
        }
    }
    fill(&mut draft, assessor);
    let verdict = draft.judged(assessor, |assessment, _| assessment.verdict);
    if verdict != Some(Verdict::Complies) {
        return Err(
            "the model has to comply as it was left, or its own faults would be the student's; `asleft check SITE` says what is wrong"
                .to_owned(),
        );
    }
    add_what_is_off(&mut draft, assessor);
    Ok(draft)
}

/// Who looks at a device.
pub const ROLE: &str = "licensed installer";

/// What a made site is like.
struct KindOfSite {
    phases: u8,
    approved: &'static str,
    inverters: &'static [Unit],
}

/// One inverter of a made site.
struct Unit {
    source: &'static str,
    nameplate: &'static str,
    rated: &'static str,
    phases: u8,
}

const KINDS_OF_SITE: [KindOfSite; 4] = [
    KindOfSite { phases: 1, approved: "5 kW", inverters: &[Unit { source: "solar", nameplate: "6 kVA", rated: "6 kW", phases: 1 }] },
    KindOfSite {
        phases: 1,
        approved: "5 kW",
        inverters: &[
            Unit { source: "solar", nameplate: "5 kVA", rated: "5 kW", phases: 1 },
            Unit { source: "storage", nameplate: "4 kVA", rated: "4 kW", phases: 1 },
        ],
    },
    KindOfSite { phases: 3, approved: "5 kW", inverters: &[Unit { source: "solar", nameplate: "10 kVA", rated: "10 kW", phases: 3 }] },
    KindOfSite {
        phases: 3,
        approved: "6 kW",
        inverters: &[
            Unit { source: "solar", nameplate: "8 kVA", rated: "8 kW", phases: 3 },
            Unit { source: "solar-and-storage", nameplate: "6 kVA", rated: "6 kW", phases: 3 },
        ],
    },
];

/// The site with every value stated, and whatever the requirement asks of its papers.
fn complying(bare: &Draft, assessor: &mut Assessor) -> Option<Draft> {
    let choices = choices_of_papers(bare, assessor);
    for mut with in every_choice(bare, &choices) {
        fill(&mut with, assessor);
        if complies(&with, assessor) {
            add_export(&mut with, assessor);
            add_what_is_off(&mut with, assessor);
            return Some(with);
        }
    }
    None
}

/// The site with every combination of what its papers may say, the plainest first.
fn every_choice(bare: &Draft, choices: &[(PathOfFact, &'static [&'static str])]) -> Vec<Draft> {
    let mut all = vec![bare.clone()];
    for ((group, key), words) in choices {
        let with_word = |draft: &Draft, word: &str| {
            let mut with = draft.clone();
            with.0[*group][*key] = json!(word);
            with
        };
        let more: Vec<Draft> = all.iter().flat_map(|draft| words.iter().map(|word| with_word(draft, word)).collect::<Vec<_>>()).collect();
        all.extend(more);
    }
    all
}

/// Where a site's papers state a fact.
type PathOfFact = (&'static str, &'static str);

/// What the site's papers may say, of each fact that the requirement asks for.
fn choices_of_papers(bare: &Draft, assessor: &mut Assessor) -> Vec<(PathOfFact, &'static [&'static str])> {
    let stated_at = |fact: FactId| match fact {
        FactId::SubNetwork => Some(("supply", "sub-network")),
        FactId::Route => Some(("requirements", "route")),
        FactId::Work => Some(("work", "kind")),
        FactId::ExportKind => Some(("export", "kind")),
        _ => None,
    };
    let asked = bare.judged(assessor, |assessment, _| {
        let mut asked: Vec<FactId> = Vec::new();
        for device in &assessment.devices {
            asked.extend(device.book.rulebook.hanging(&Facts::default()).into_iter().flat_map(|(_, facts)| facts));
        }
        asked.sort_unstable();
        asked.dedup();
        asked
    });
    let words = |fact: FactId| match fact.row().shape {
        settings_model::facts::FactShape::Choice(words) => words,
        _ => &[],
    };
    asked.unwrap_or_default().into_iter().filter_map(|fact| Some((stated_at(fact)?, words(fact)))).collect()
}

/// A site without dates and settings.
fn bare(kind: &KindOfSite, network: Option<&(String, semver::Version)>, standard: &str, region: &str, assessor: &mut Assessor) -> Draft {
    let requirements = match network {
        Some((_, version)) => json!({ "overlay": format!("={version}"), "region": region }),
        None => json!({ "standard": standard, "region": region }),
    };
    let mut site = json!({ "kind": "site", "site": "model", "requirements": requirements });
    if let Some((network, _)) = network {
        site["network"] = json!(network);
    }
    let (certified, nominal) = edition_and_nominal(standard, assessor);
    // where the standard has none, the usual ones of where it is used
    let nominal = nominal.unwrap_or(Exact::from(if kind.phases == 1 { 120 } else { 277 }));
    site["supply"] = json!({ "phases": kind.phases, "nominal": format!("{} line-neutral", Dimension::Voltage.show(nominal)) });
    site["export"] = json!({ "kind": "fixed", "approved": kind.approved });
    for (n, unit) in kind.inverters.iter().enumerate() {
        let mut device = json!({
            "certified": certified,
            "source": unit.source,
            "nameplate": unit.nameplate,
            "rated-power": unit.rated,
            "phases": unit.phases,
        });
        device["as-left"] = json!({
            "date": assessor.today.to_string(), "role": ROLE, "known-by": "display", "region-selected": region, "settings": {},
        });
        if kind.inverters.len() > 1 {
            // the first measures for all, or each would hold the limit by itself
            device["as-left"]["settings"]["export-sensor"]["master"] = json!(if n == 0 { "this-device" } else { "another-device" });
        }
        site["devices"][format!("inverter-{}", n + 1)] = device;
    }
    Draft(site)
}

fn edition_and_nominal(standard: &str, assessor: &mut Assessor) -> (Json, Option<Exact>) {
    let key = standard.split('/').next().unwrap_or_default();
    let Ok(file) = assessor.library.standard(standard, &mut assessor.sources) else { return (Json::Null, None) };
    let edition = file.file.edition.value;
    let mut certified = json!({ "standard": key, "edition": { "year": edition.year } });
    if edition.amendment > 0 {
        certified["edition"]["amendment"] = json!(edition.amendment);
    }
    (certified, file.file.nominal.map(|nominal| nominal.0))
}

/// The site with dates on which the wanted version governs it, the latest first.
fn governed(mut draft: Draft, network: Option<&(String, semver::Version)>, assessor: &mut Assessor) -> Option<Draft> {
    // some versions ask too when the site was last altered, which most sites do not say
    for (months, is_altered) in (0..MONTHS_BACK).map(|months| (months, false)).chain((0..MONTHS_BACK).map(|months| (months, true))) {
        let installed = assessor.today.checked_sub((months * 30 + 9).days()).ok()?;
        let day = |before: i64| installed.checked_sub(before.days()).ok().map(|day| json!(day.to_string()));
        draft.0["dates"] = json!({ "applied": day(65)?, "approved": day(43)?, "installed": day(0)? });
        if is_altered {
            draft.0["dates"]["altered"] = day(0)?;
        }
        let Some((network, version)) = network else { return Some(draft) };
        let version = version.to_string();
        let governs = draft.judged(assessor, |assessment, _| {
            let layers = assessment.book.iter().flat_map(|book| &book.rulebook.layers);
            layers.into_iter().any(|layer| layer.key == *network && layer.version == version)
        });
        if governs == Some(true) {
            return Some(draft);
        }
    }
    None
}

/// Whether nothing is wrong at it, and nothing left open.
#[must_use]
pub fn complies(draft: &Draft, assessor: &mut Assessor) -> bool {
    draft.judged(assessor, |assessment, _| Troubles::of(assessment)).is_some_and(|found| found.verdict == Verdict::Complies)
}

/// States every value that is entered or read back, as the sheet says, and then whatever is still not proven.
fn fill(draft: &mut Draft, assessor: &mut Assessor) {
    for also_tested in [false, true] {
        let values = draft.judged(assessor, |assessment, _| {
            let unproven = Troubles::of(assessment).unproven;
            let is_wanted = |device: &DeviceResult<'_>, row: &Row| match row.task {
                Task::Enter | Task::Verify => true,
                Task::WorkOut => row.setting.parameter().held_by == HeldBy::Calculated,
                Task::TypeTest => {
                    also_tested
                        && unproven.iter().any(|spot| spot.device == device.name && spot.what == super::trouble::What::Setting(row.setting))
                }
                Task::NotChecked => false,
            };
            let mut values = Vec::new();
            for device in &assessment.devices {
                let requirement = &device.counted.requirement;
                let all = rows(&device.book, requirement, &device.facts, &device.departures);
                for row in all.iter().filter(|row| is_wanted(device, row) && !device.settings.states(row.setting)) {
                    let Some(value) = value_of(row, requirement, &device.facts) else { continue };
                    values.push((device.name.to_owned(), device.kind, row.setting, value, evidence(requirement, row.setting)));
                }
            }
            values
        });
        let mut photo = 0;
        for (device, kind, setting, value, evidence) in values.unwrap_or_default() {
            if kind == Equipment::Installation {
                draft.0["installation"][setting.function().key][setting.parameter().key] = value;
                continue;
            }
            draft.hold(&device, setting, value);
            if let Some(kind) = evidence {
                photo += usize::from(kind == Evidence::Photo);
                draft.known_by(&device, setting, kind.word(), (kind == Evidence::Photo).then_some(photo));
            }
        }
    }
}

/// The kind of evidence to state, where one is asked for that the display is not.
fn evidence(requirement: &Requirement, setting: SettingId) -> Option<Evidence> {
    let claims = &requirement.get(setting)?.entry.comply;
    let kinds = claims.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None })?;
    let has = |kind: &Evidence| kinds.has(*kind as u8);
    if has(&Evidence::Display) { None } else { [Evidence::Photo, Evidence::Read, Evidence::Test].into_iter().find(has) }
}

/// A value that a sheet asks for: the one it names, or one inside the range it leaves.
#[must_use]
pub fn value_of(row: &Row, requirement: &Requirement, facts: &Facts) -> Option<Json> {
    if let Some(value) = &row.set {
        return written(value, row.setting, facts);
    }
    inside(row.setting, &requirement.get(row.setting)?.entry.comply, facts)
}

/// Some value inside a set: of words the last; of a range its lowest, else its highest, else between.
fn inside(setting: SettingId, claims: &[Claim], facts: &Facts) -> Option<Json> {
    let own = |claim: &&Claim| claim.on == Term::Var(Var { setting, part: Part::Whole });
    if let Shape::Choice(words) = setting.parameter().shape {
        let allowed =
            claims.iter().filter(own).find_map(|claim| if let Limit::OneOf(allowed) = claim.limit { Some(allowed) } else { None });
        return allowed?.iter().last().and_then(|word| words.get(usize::from(word))).map(|word| json!(word));
    }
    if let Shape::Curve { .. } = setting.parameter().shape {
        let line = claims.iter().find_map(|claim| if let Limit::Above(line) = &claim.limit { Some(line.to_vec()) } else { None });
        return written(&Value::Curve(line?), setting, facts);
    }
    let Shape::Quantity(dimension) = setting.parameter().shape else { return None };
    let edge = |wanted: fn(&Limit) -> Option<Bound>| claims.iter().filter(own).find_map(|claim| wanted(&claim.limit));
    let low = edge(|limit| if let Limit::AtLeast(bound) = limit { Some(*bound) } else { None });
    let high = edge(|limit| if let Limit::AtMost(bound) = limit { Some(*bound) } else { None });
    let at = |bound: Bound| bound.value.at(facts);
    let number = match (low, high) {
        (Some(low), _) if !low.open => at(low)?,
        (_, Some(high)) if !high.open => at(high)?,
        (Some(low), Some(high)) => (at(low)? + at(high)?).half(),
        (None, Some(high)) => at(high)?.half(),
        (Some(low), None) => at(low)? + at(low)?.half(),
        (None, None) => return None,
    };
    Some(json!(Amount::plain(number).show(dimension)))
}

/// An export limit and its sensor, as the approval has them, where no layer asks otherwise: the first inverter
/// measures and holds the limit for all.
fn add_export(draft: &mut Draft, assessor: &mut Assessor) {
    let Some(approved) = draft.0["export"]["approved"].as_str().map(str::to_owned) else { return };
    let devices = draft.devices();
    for (n, device) in devices.iter().enumerate() {
        let own = [
            ("export-limit/state", json!("enabled")),
            ("export-limit/site-total", json!(approved)),
            ("export-limit/counts", json!("site-total")),
        ];
        let sensor = [
            ("export-sensor/location", json!("main-switchboard")),
            ("export-sensor/ratio-fitted", json!(40)),
            ("export-sensor/ratio-entered", json!(40)),
            ("export-sensor/direction", json!("correct")),
            ("export-sensor/phase", json!("own")),
        ];
        let master = ("export-sensor/master", json!(if n == 0 { "this-device" } else { "another-device" }));
        let sensor = sensor.into_iter().filter(|_| n == 0);
        add(draft, device, own.into_iter().chain(sensor).chain([master]), assessor);
    }
}

/// What is off everywhere and stated all the same, as a full reading of a device would have it.
fn add_what_is_off(draft: &mut Draft, assessor: &mut Assessor) {
    let devices = draft.devices();
    let inverters = devices.into_iter().filter(|device| is_of_kind(draft, device, Equipment::Inverter)).collect::<Vec<_>>();
    for device in inverters {
        for off in ["fixed-power-factor/state", "fixed-reactive-power/state", "vector-shift/state", "rate-of-change-of-frequency/state"] {
            add(draft, &device, [(off, json!("off"))], assessor);
        }
    }
}

/// States what is not stated yet, unless the site would then no longer comply.
fn add(draft: &mut Draft, device: &str, values: impl IntoIterator<Item = (&'static str, Json)>, assessor: &mut Assessor) {
    let mut with = draft.clone();
    for (name, value) in values {
        let Some(setting) = SettingId::named(name) else { continue };
        if with.held(device, setting).is_none() {
            with.hold(device, setting, value);
        }
    }
    if complies(&with, assessor) {
        *draft = with;
    }
}
