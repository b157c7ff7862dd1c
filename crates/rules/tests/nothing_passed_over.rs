//! Every device and every stated value of a site is judged, or named as not judged, and then the site is not plainly
//! fine: over every shipped site and over sites drawn from them.
//!
//! Whether a value is judged is asked from outside: it is, where some other value in its place changes what is found.

mod common;

use common::shipped_library;
use rules::assess::{Assessor, NotJudged};
use rules::provenance::Verdict;
use rules::wording;
use settings_model::catalogue::{ENABLED, Equipment, SettingId, Shape};
use settings_model::exact::Exact;
use settings_model::files::{Kind, SiteFile};
use settings_model::quantity::Amount;
use settings_model::reader;
use settings_model::settings::Known;
use settings_model::value::{Point, Value};
use std::path::Path;

/// What a site came to, as far as it can be told apart.
#[derive(PartialEq)]
struct Came {
    verdict: Verdict,
    findings: Vec<(String, String)>,
    not_judged: Vec<String>,
}

fn judge(site: &SiteFile<'_>, root: &settings_model::document::Node, assessor: &mut Assessor) -> Came {
    let assessment = assessor.assess(site);
    let findings = wording::findings(&assessment, root);
    let not_judged: Vec<String> = assessment.not_judged.iter().flat_map(NotJudged::paths).collect();
    // what was passed over is told in words, in the headline, and never with a plain verdict
    let is_told = |name: &str| findings.iter().any(|finding| finding.name == name);
    assert_eq!(!not_judged.is_empty(), is_told("not-judged") || is_told("nothing-asked"));
    if !not_judged.is_empty() && assessment.verdict == Verdict::Complies {
        assert!(assessment.headline().contains("not judged"), "{}", assessment.headline());
    }
    let said = |finding: &settings_model::finding::Finding| finding.name != "not-judged" && finding.name != "nothing-asked";
    let whole = |f: &settings_model::finding::Finding| {
        let folded: Vec<&str> = f.folded.iter().map(|folded| folded.text.as_str()).collect();
        (f.name.to_owned(), format!("{}; {}", f.headline, folded.join("; ")))
    };
    let findings = findings.iter().filter(|finding| said(finding)).map(whole).collect();
    Came { verdict: assessment.verdict, findings, not_judged }
}

/// Other values in place of one, far off on either side.
fn others(setting: SettingId, value: &Value) -> Vec<Value> {
    let plain = |number: Exact| Amount::plain(number);
    match (value, setting.parameter().shape) {
        (Value::Word(held), Shape::Choice(words)) => (0..words.len() as u8).filter(|word| word != held).map(Value::Word).collect(),
        (_, Shape::Quantity(_)) => {
            [Exact::ZERO, Exact::new(1, 3), Exact::new(999_999, 0)].into_iter().map(|number| Value::Quantity(plain(number))).collect()
        }
        (Value::Curve(points), _) => {
            let moved = |by: i64| points.iter().map(|point| Point { x: point.x, y: plain(point.y.number + Exact::from(by)) }).collect();
            vec![Value::Curve(moved(70)), Value::Curve(moved(-70))]
        }
        _ => Vec::new(),
    }
}

/// Whether the function of a setting may not be enabled, or is a stage that nobody asked for and that is at fault
/// as a whole, so that only its state counts.
fn asked_of(device: &str, setting: SettingId, site: &SiteFile<'_>, assessor: &mut Assessor) -> bool {
    let assessment = assessor.assess(site);
    let judged = assessment.devices.iter().find(|judged| judged.name == device);
    let state = setting.state().filter(|state| *state != setting);
    judged.is_some_and(|judged| {
        let is_unasked = |state: SettingId| judged.counted.unasked_stages.contains(&state) && judged.settings.is_enabled(state);
        judged.counted.requirement.keeps_idle(setting) || state.is_some_and(is_unasked)
    })
}

#[derive(Debug, Default)]
struct Counts {
    sites: usize,
    values: usize,
    judged: usize,
    named: usize,
    idle: usize,
}

fn look(name: &str, text: &str, counts: &mut Counts) {
    let mut assessor = Assessor::new(shipped_library(), jiff::civil::date(2026, 11, 25));
    let source = assessor.sources.add(name, text);
    let Ok(root) = reader::read(source, text, Kind::Site).and_then(|root| assessor.displayed(root)) else { return };
    let Ok(site) = reader::typed::<SiteFile<'_>>(&root) else { return };
    let came = judge(&site, &root, &mut assessor);
    if came.verdict == Verdict::CouldNotTell {
        return;
    }
    counts.sites += 1;
    for n in 0..site.devices.0.len() {
        let (device, stated) = &site.devices.0[n];
        let device = device.to_string();
        let Some(left) = &stated.as_left else { continue };
        let is_named = |path: &str| came.not_judged.iter().any(|named| named == path || named == &device);
        for (setting, known) in left.settings.iter() {
            counts.values += 1;
            let path = format!("{device}/{setting}");
            let state = setting.state().filter(|state| *state != setting);
            let is_off = state.and_then(|state| left.settings.get(state)).is_some_and(|state| state.value != Value::Word(ENABLED));
            if is_named(&path) {
                counts.named += 1;
                continue;
            }
            let must_be_off = asked_of(&device, setting, &site, &mut assessor);
            // a function that is off, or has to be, does nothing; nor does one that no layer asks for and that is off itself
            if is_off || must_be_off || (setting.is_state() && known.value != Value::Word(ENABLED)) {
                counts.idle += 1;
                continue;
            }
            let matters = others(setting, &known.value).into_iter().any(|value| {
                let mut other = site.clone();
                let holding = other.devices.0[n].1.as_left.as_mut().unwrap();
                holding.settings.set(setting, Known { value, ..known.clone() });
                judge(&other, &root, &mut assessor) != came
            });
            assert!(matters, "{name}: {path} is neither judged nor named");
            counts.judged += 1;
        }
        // each device has something that was judged, or is named
        let kind = Equipment::from(stated.kind);
        let assessment = assessor.assess(&site);
        let asked = assessment.devices.iter().any(|judged| judged.name == device && judged.kind == kind && judged.counted.asks_anything());
        assert!(asked || came.not_judged.contains(&device), "{name}: {device}");
    }
}

/// Every shipped site, those of cases too.
fn sites(folder: &Path, found: &mut Vec<(String, String)>) {
    let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sites(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "yaml")
            && let Ok(text) = std::fs::read_to_string(&path)
            && text.contains("kind: site")
        {
            found.push((path.display().to_string(), text));
        }
    }
}

fn shipped() -> Vec<(String, String)> {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests");
    let mut found = Vec::new();
    sites(&tests.join("sites"), &mut found);
    sites(&tests.join("cases/check"), &mut found);
    found
}

#[test]
fn every_stated_value_of_every_shipped_site_is_judged_or_named() {
    let mut counts = Counts::default();
    for (name, text) in shipped() {
        look(&name, &text, &mut counts);
    }
    println!("{counts:?}");
    assert!(counts.sites >= 60 && counts.judged >= 500, "{counts:?}");
}

/// Sites with functions beside that somebody may have recorded: each drawn from a shipped one.
#[test]
fn every_stated_value_of_drawn_sites_is_judged_or_named() {
    const BESIDE: [&str; 12] = [
        "generation-limit: { state: enabled, soft: 900 kVA, hard: 950 kVA }",
        "generation-limit: { soft: 900 kVA }",
        "export-limit: { state: enabled, per-phase: 40 kW }",
        "export-sensor: { on-loss: goes-on, loss-noticed: 99 s }",
        "remote-control: { state: enabled, fallback: 900 kW, fallback-after: 99 h }",
        "demand-response: { state: enabled, reaction: 99 s }",
        "vector-shift: { threshold: 99 deg }",
        "overvoltage-3: { threshold: 999 V, definite-delay: 99 s }",
        "fixed-power-factor: { state: enabled, power-factor: 0.5, direction: absorbing }",
        "fixed-reactive-power: { state: enabled }",
        "watt-var: { state: enabled }",
        "undervoltage-1: { unnamed-time: 99 s }",
    ];
    let mut counts = Counts::default();
    for (name, text) in shipped().into_iter().filter(|(_, text)| text.contains("      settings:\n")) {
        for beside in BESIDE {
            let function = format!("\n        {}:", beside.split(':').next().unwrap());
            let drawn = text.replace("      settings:\n", &format!("      settings:\n        {beside}\n"));
            if !text.contains(&function) {
                look(&format!("{name} with {beside}"), &drawn, &mut counts);
            }
        }
    }
    println!("{counts:?}");
    assert!(counts.sites >= 300 && counts.named >= 300, "{counts:?}");
}
