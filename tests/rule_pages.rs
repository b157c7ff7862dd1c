//! Every rule's page: the failing example breaks it and the near miss does not; and no rule speaks
//! at a site that complies.

use jiff::civil::date;
use rules::assess::Assessor;
use rules::practice::RULES;
use rules::provenance::Verdict;
use rules::wording;
use settings_model::files::{Kind, SiteFile};
use settings_model::finding::{Finding, Outcome};
use settings_model::library::{Library, Profile};
use settings_model::reader;
use settings_model::ties::{Example, TIES, Under};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn assessor() -> Assessor {
    let mut library = Library::default();
    let mut folders = vec![root().join("profiles")];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "yaml") {
                let key = path.strip_prefix(root().join("profiles")).unwrap().to_string_lossy().replace('\\', "/");
                let text = std::fs::read_to_string(&path).unwrap();
                library.add(Profile { path: key.clone(), name: key, text: text.into(), shipped: true });
            }
        }
    }
    Assessor::new(library, date(2026, 11, 25))
}

/// A three-phase site under a standard alone, with an approved export of 5 kW.
fn site(example: &str, under: Under) -> String {
    let (key, edition) = under.standard.split_once('/').unwrap();
    let (year, amendment) = edition.split_once("-amd").unwrap();
    let number = |text: &str| text.parse::<u16>().unwrap();
    let devices = if example.starts_with('{') { example.to_owned() } else { format!("{{ {example} }}") };
    let devices: serde_json::Value = settings_model::document::parse(settings_model::source::SourceId(0), &devices, &mut Vec::new())
        .unwrap_or_else(|| panic!("{devices} is YAML"))
        .to_json();
    let device = |settings: &serde_json::Value| {
        serde_json::json!({
            "certified": { "standard": key, "edition": { "year": number(year), "amendment": number(amendment) } },
            "source": "solar",
            "nameplate": "10 kVA",
            "phases": 3,
            "as-left": { "region-selected": under.region, "known-by": "display", "settings": settings },
        })
    };
    let devices: serde_json::Map<String, serde_json::Value> =
        devices.as_object().unwrap().iter().map(|(name, settings)| (name.clone(), device(settings))).collect();
    serde_json::json!({
        "kind": "site",
        "site": "example",
        "requirements": { "standard": under.standard, "region": under.region },
        "supply": { "phases": 3, "nominal": under.nominal },
        "export": { "kind": "fixed", "approved": "5 kW" },
        "devices": devices,
    })
    .to_string()
}

/// The findings at a site, and the names of the rules of practice that it breaks.
fn findings(text: &str, assessor: &mut Assessor) -> (Vec<&'static str>, Vec<Finding>) {
    let source = assessor.sources.add("example", text);
    let root = reader::read(source, text, Kind::Site).unwrap_or_else(|findings| panic!("{text}: {findings:#?}"));
    let file: SiteFile<'_> = reader::typed(&root).unwrap();
    let assessment = assessor.assess(&file);
    (assessment.broken.iter().map(|broken| broken.rule).collect(), wording::findings(&assessment, &root))
}

/// Whether a rule is broken at a site, by itself or as a consequence.
fn speaks(name: &str, sentence: &str, (broken, findings): &(Vec<&str>, Vec<Finding>)) -> bool {
    let is_told = |finding: &Finding| finding.name == name || finding.folded.iter().any(|folded| folded.text.contains(sentence));
    broken.contains(&name) || findings.iter().any(is_told)
}

#[test]
fn every_failing_example_breaks_its_rule_and_every_near_miss_keeps_it() {
    let mut assessor = assessor();
    let ties = TIES.iter().map(|tie| (tie.name, tie.sentence, tie.example));
    let rules = RULES.iter().map(|rule| (rule.name, rule.sentence, rule.example));
    for (name, sentence, Example { failing, near_miss, under }) in ties.chain(rules) {
        let broken = findings(&site(failing, under), &mut assessor);
        assert!(speaks(name, sentence, &broken), "{name} says nothing of {failing}: {broken:#?}");
        let kept = findings(&site(near_miss, under), &mut assessor);
        assert!(!speaks(name, sentence, &kept), "{name} speaks of {near_miss}: {kept:#?}");
    }
}

#[test]
fn no_rule_speaks_at_a_site_that_complies() {
    let mut assessor = assessor();
    let mut complying = 0;
    for path in std::fs::read_dir(root().join("tests/sites")).unwrap().map(|entry| entry.unwrap().path()) {
        let text = std::fs::read_to_string(&path).unwrap();
        let source = assessor.sources.add("site", text.as_str());
        let Ok(tree) = reader::read(source, &text, Kind::Site) else { continue };
        let Ok(file) = reader::typed::<SiteFile<'_>>(&tree) else { continue };
        let assessment = assessor.assess(&file);
        if assessment.verdict == Verdict::Complies {
            complying += 1;
            let spoken: Vec<&str> = assessment.broken.iter().filter(|b| b.outcome < Outcome::Remark).map(|b| b.rule).collect();
            assert!(spoken.is_empty(), "{}: {spoken:?}", path.display());
        }
    }
    assert!(complying >= 5, "{complying} complying sites");
}
