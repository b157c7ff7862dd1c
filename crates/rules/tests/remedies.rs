//! A remedy that could spoil a correct device asks first. Correct devices of the shipped sites are written down as somebody
//! reads them wrong (between lines, with the decimal point moved, with the other sign, under another region's name), and
//! what is to be done about it has to begin with what to see first.

use crate::common;

use jiff::civil::date;
use rules::assess::Assessor;
use rules::provenance::Verdict;
use rules::wording;
use serde_json::{Value as Json, json};
use settings_model::catalogue::{SettingId, Shape};
use settings_model::document::parse;
use settings_model::exact::Exact;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::{Finding, Outcome};
use settings_model::quantity::Dimension;
use settings_model::reader;
use settings_model::source::SourceId;
use settings_model::ties::TIES;
use std::path::Path;

/// Every shipped site, as JSON.
fn sites() -> Vec<(String, Json)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites");
    let mut sites: Vec<(String, Json)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap();
            (path.file_stem().unwrap().to_string_lossy().into_owned(), parse(SourceId(0), &text, &mut Vec::new()).unwrap().to_json())
        })
        .collect();
    sites.sort_by(|one, other| one.0.cmp(&other.0));
    sites
}

/// The verdict and what is found; `None` where the file is refused.
fn judged(site: &Json, assessor: &mut Assessor) -> Option<(Verdict, Vec<Finding>)> {
    let text = site.to_string();
    let kept = assessor.sources.len();
    let source = assessor.sources.add("site.json", text.as_str());
    let tree = reader::read(source, &text, Kind::Site).ok()?;
    let file: SiteFile<'_> = reader::typed(&tree).unwrap();
    let assessment = assessor.assess(&file);
    let came_to = (assessment.verdict, wording::findings(&assessment, &tree));
    drop(assessment);
    drop(file);
    assessor.sources.forget_after(kept);
    Some(came_to)
}

/// `257.5 V` as so many times that, with as many decimals as a display may have.
fn times(written: &str, factor: Exact) -> Option<String> {
    let (number, unit) = written.split_once(' ')?;
    let number = Exact::parse(number).ok()?;
    (number > Exact::ZERO).then(|| format!("{} {unit}", (number * factor).rounded(5)))
}

/// How a number of a dimension is read wrong.
fn misreadings(dimension: Dimension) -> Vec<Exact> {
    let points = [Exact::from(10), Exact::new(1, 1), Exact::HUNDRED, Exact::new(1, 2)];
    let more = match dimension {
        Dimension::Voltage => vec![Exact::new(1732, 3), Exact::from(2)],
        Dimension::Time => vec![Exact::from(1000)],
        _ => Vec::new(),
    };
    more.into_iter().chain(points).collect()
}

fn stated(settings: &Json) -> Vec<(SettingId, String)> {
    let functions = settings.as_object().into_iter().flatten();
    let named = functions.flat_map(|(function, parameters)| {
        parameters.as_object().into_iter().flatten().filter_map(move |(key, value)| {
            let value = value.get("value").unwrap_or(value).as_str()?.to_owned();
            Some((SettingId::find(function, key)?, value))
        })
    });
    named.collect()
}

/// The value of a setting in a site's JSON.
fn slot<'j>(site: &'j mut Json, device: &str, setting: SettingId) -> &'j mut Json {
    let slot = &mut site["devices"][device]["as-left"]["settings"][setting.function().key][setting.parameter().key];
    if slot.get("value").is_some() { &mut slot["value"] } else { slot }
}

fn asks_first(finding: &Finding) -> bool {
    finding.hint.as_deref().is_some_and(|hint| hint.starts_with("first "))
}

/// The findings of faults about one setting, or about all of its device.
fn about<'f>(findings: &'f [Finding], device: &str, setting: SettingId) -> impl Iterator<Item = &'f Finding> {
    let (own, whole) = (format!("{device}/{setting}"), device.to_owned());
    findings
        .iter()
        .filter(|finding| finding.outcome == Outcome::DoesNotComply)
        .filter(move |finding| finding.setting.as_deref().is_some_and(|named| named == own || named == whole))
}

#[test]
fn a_value_read_wrong_is_looked_at_before_anything_is_set() {
    let mut assessor = Assessor::new(common::shipped_library(), date(2026, 11, 25));
    let mut tried = 0;
    for (name, site) in sites() {
        let Some((Verdict::Complies, _)) = judged(&site, &mut assessor) else { continue };
        for device in site["devices"].as_object().unwrap().keys() {
            for (setting, value) in stated(&site["devices"][device]["as-left"]["settings"]) {
                let Shape::Quantity(dimension) = setting.parameter().shape else { continue };
                for factor in misreadings(dimension) {
                    let mut wrong = site.clone();
                    let Some(shown) = times(&value, factor) else { continue };
                    *slot(&mut wrong, device, setting) = json!(shown);
                    let Some((Verdict::DoesNotComply, findings)) = judged(&wrong, &mut assessor) else { continue };
                    for finding in about(&findings, device, setting).filter(|finding| ["too-high", "too-low"].contains(&finding.name)) {
                        // of what has one edge, only what lies near it can be told
                        let edges = ["set it to at most", "set it to at least", "set it to under", "set it to over"];
                        if finding.hint.as_deref().is_some_and(|hint| edges.iter().any(|edge| hint.starts_with(edge))) {
                            continue;
                        }
                        tried += 1;
                        assert!(asks_first(finding), "{name}: {device}/{setting} read as {shown}: {:?}", finding.hint);
                    }
                }
            }
        }
    }
    assert!(tried > 200, "{tried}");
    println!("{tried} values read wrong");
}

#[test]
fn signs_are_understood_before_they_are_turned() {
    let mut assessor = Assessor::new(common::shipped_library(), date(2026, 11, 25));
    let mut tried = 0;
    for (name, site) in sites() {
        let Some((Verdict::Complies, _)) = judged(&site, &mut assessor) else { continue };
        for device in site["devices"].as_object().unwrap().keys() {
            let volt_var = SettingId::named("volt-var/points").unwrap();
            let mut wrong = site.clone();
            if wrong["devices"][device]["as-left"]["settings"]["volt-var"]["points"].is_null() {
                continue;
            }
            let Some(points) = slot(&mut wrong, device, volt_var).as_array_mut() else { continue };
            for point in points {
                let level = point[1].as_str().unwrap().to_owned();
                point[1] = json!(level.strip_prefix('-').map_or_else(|| format!("-{level}"), str::to_owned).replace("-0 %", "0 %"));
            }
            let Some((Verdict::DoesNotComply, findings)) = judged(&wrong, &mut assessor) else { continue };
            for finding in about(&findings, device, volt_var).filter(|finding| finding.name == "signs-reversed") {
                tried += 1;
                assert!(asks_first(finding), "{name}: {:?}", finding.hint);
                assert!(finding.hint.as_deref().unwrap().contains("Only if"), "{name}: {:?}", finding.hint);
            }
        }
    }
    assert!(tried >= 5, "{tried}");
}

#[test]
fn a_region_is_looked_at_before_it_is_selected() {
    let mut assessor = Assessor::new(common::shipped_library(), date(2026, 11, 25));
    let mut tried = 0;
    for (name, site) in sites() {
        let region = site["requirements"]["region"].as_str().unwrap_or_default().to_owned();
        for device in site["devices"].as_object().unwrap().keys() {
            if site["devices"][device]["as-left"]["region-selected"] != json!(region) {
                continue;
            }
            let mut wrong = site.clone();
            wrong["devices"][device]["as-left"]["region-selected"] = json!("another-region");
            let Some((Verdict::DoesNotComply, findings)) = judged(&wrong, &mut assessor) else { continue };
            for finding in findings.iter().filter(|finding| finding.name == "wrong-region") {
                tried += 1;
                let hint = finding.hint.as_deref().unwrap();
                assert!(asks_first(finding) && hint.contains("may reset what was entered"), "{name}: {hint}");
            }
        }
    }
    assert!(tried >= 20, "{tried}");
}

/// The three that were seen in the field, as they were written down.
#[test]
fn what_is_asked_names_the_likely_reading() {
    let mut assessor = Assessor::new(common::shipped_library(), date(2026, 11, 25));
    let relay = |threshold: &str| {
        json!({ "kind": "site", "site": "a", "network": "tarn-basin", "requirements": { "region": "australia-c" },
            "dates": { "applied": "2026-05-01", "installed": "2026-06-01" }, "supply": { "phases": 3, "nominal": "230 V line-neutral" },
            "export": { "kind": "none" },
            "devices": { "relay": { "kind": "grid-protection-relay", "as-left": { "date": "2026-06-01", "known-by": "display",
                "settings": { "overvoltage-1": { "state": "enabled", "threshold": threshold, "definite-delay": "1 s" } } } } } })
    };
    for (threshold, says) in [
        (
            "450.3 V",
            "first see whether it reads between lines: 450.3 V there is about 260 V to neutral. Only if it reads to neutral, set it to 260 V",
        ),
        ("26 V", "first read it again: 26 V may be, with its decimal point in another place, 260 V. Only if it reads so, set it to 260 V"),
        (
            "2600 V",
            "first read it again: 2600 V may be, with its decimal point in another place, 260 V. Only if it reads so, set it to 260 V",
        ),
        ("1.13 V", "first see whether it is per unit and no volts: 1.13 V then is about 259.9 V. Only if it is in volts, set it to 260 V"),
    ] {
        let (_, findings) = judged(&relay(threshold), &mut assessor).unwrap();
        let told = findings.iter().find(|finding| finding.setting.as_deref() == Some("relay/overvoltage-1/threshold"));
        let hint = told.and_then(|finding| finding.hint.as_deref()).unwrap_or_else(|| panic!("{threshold}: {findings:#?}"));
        assert!(hint.starts_with(says), "{hint}");
    }
    // a value that no reading explains is simply wrong
    let (_, findings) = judged(&relay("270 V"), &mut assessor).unwrap();
    let told = findings.iter().find(|finding| finding.setting.as_deref() == Some("relay/overvoltage-1/threshold")).unwrap();
    assert!(told.hint.as_deref().unwrap().starts_with("set it to 260 V"), "{:?}", told.hint);
}

/// A device of an older edition has none of the newer one's regions.
#[test]
fn no_region_is_selected_that_a_device_does_not_have() {
    let mut assessor = Assessor::new(common::shipped_library(), date(2026, 11, 25));
    let older = |more: Json| {
        let mut site = json!({ "kind": "site", "site": "a", "requirements": { "standard": "as-nzs-4777.2/2020-amd2", "region": "australia-a" },
            "dates": { "applied": "2026-05-01", "installed": "2026-06-01" }, "supply": { "phases": 1, "nominal": "230 V line-neutral" },
            "devices": { "inverter-1": { "certified": { "standard": "as-nzs-4777.2", "edition": { "year": 2015 } }, "nameplate": "5 kVA",
                "as-left": { "date": "2026-06-01", "known-by": "display", "settings": {} } } } });
        site["devices"]["inverter-1"]["as-left"].as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        site
    };
    for more in [json!({}), json!({ "region-selected": "new-zealand" })] {
        let (_, findings) = judged(&older(more), &mut assessor).unwrap();
        let hints: Vec<&str> = findings.iter().filter_map(|finding| finding.hint.as_deref()).collect();
        assert!(hints.iter().any(|hint| hint.contains("certified to as-nzs-4777.2/2015") && hint.contains("`stands-under`")), "{hints:#?}");
        assert!(hints.iter().all(|hint| !hint.contains("select that")), "{hints:#?}");
    }
}

/// Remedies that stand in tables: what moves, turns or fits something begins with what to see first.
#[test]
fn remedies_of_the_tables_ask_first() {
    const DOES: [&str; 7] = ["turn ", "move ", "reset", "swap", "raise", "lower ", "isolate"];
    let settings = SettingId::all().filter_map(|setting| Some((setting.to_string(), setting.parameter().to_do?)));
    let ties = TIES.iter().map(|tie| (tie.name.to_owned(), tie.to_do));
    let mut acting = 0;
    for (name, to_do) in settings.chain(ties).filter(|(_, to_do)| DOES.iter().any(|word| to_do.contains(word))) {
        acting += 1;
        assert!(to_do.starts_with("first "), "{name}: {to_do}");
    }
    assert!(acting >= 3, "{acting}");
}
