//! A profile that cannot be used is told once, with the number of sites that it keeps from being judged; each of those
//! sites still says for itself that nobody could tell.

use crate::program::{DAY, root};

use serde_json::{Value, json};
use std::process::{Command, Stdio};

/// More than one block of lines, so that several workers meet the same profile.
const STOPPED: usize = 4_000;
const SOUND: usize = 3;

/// A folder of profiles with one that cannot be used, and a fleet of which most stands under it.
fn made() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let overlay = folder.path().join("profiles/overlays/brokenridge/1.0.0.yaml");
    std::fs::create_dir_all(overlay.parent().unwrap()).unwrap();
    std::fs::write(overlay, "kind: overlay\nnetwork: brokenridge\nversion: nothing\n").unwrap();
    let site = |network: &str, range: &str, n: usize| {
        json!({
            "kind": "site", "site": format!("broken-bend-{n}"), "network": network,
            "requirements": { "overlay": range, "region": "australia-a" },
            "dates": { "applied": "2026-08-26", "approved": "2026-09-23", "installed": "2026-10-19" },
            "supply": { "phases": 1, "nominal": "230 V line-neutral" },
            "devices": { "inverter-1": { "source": "solar", "nameplate": "6 kVA" } },
        })
    };
    let stopped = (0..STOPPED).map(|n| site("brokenridge", "^1.0", n));
    let sound = (0..SOUND).map(|n| site("quillbrook", "^3.0", STOPPED + n));
    let lines: Vec<String> = stopped.chain(sound).map(|site| site.to_string()).collect();
    std::fs::write(folder.path().join("fleet.ndjson"), lines.join("\n")).unwrap();
    folder
}

/// Standard output and standard error.
fn said(form: &str, file: &str) -> [String; 2] {
    let folder = made();
    if file == "one.json" {
        let text = std::fs::read_to_string(folder.path().join("fleet.ndjson")).unwrap();
        std::fs::write(folder.path().join(file), text.lines().next().unwrap()).unwrap();
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(folder.path()).env("COLUMNS", "80").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES").stdin(Stdio::null());
    let output = command.args(["check", "--profiles", "profiles", "--as-of", DAY, "--format", form, "--jobs", "3", file]).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{form}");
    [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap())
}

const COUNT: &str = "4000 sites were not judged for it";

#[test]
fn people_are_told_once_and_how_many_sites_it_stopped() {
    let [out, err] = said("text", "fleet.ndjson");
    assert_eq!(err.matches("version: nothing").count(), 1, "{err}");
    assert_eq!(err.matches(COUNT).count(), 1, "{}", &err[err.len().saturating_sub(2000)..]);
    assert_eq!(out.matches("COULD NOT TELL").count(), STOPPED);
    assert!(out.contains("4000  could not tell"), "{}", &out[out.len().saturating_sub(1500)..]);
    assert!(out.lines().chain(err.lines()).all(|line| line.chars().count() <= 80));
}

#[test]
fn of_one_site_all_is_told_at_the_site() {
    let [out, err] = said("text", "one.json");
    assert!(out.contains("COULD NOT TELL") && err.contains("version: nothing") && !err.contains("told once"), "{out}{err}");
}

#[test]
fn json_names_the_profile_with_its_faults_and_a_count() {
    let [out, _] = said("json", "fleet.ndjson");
    let answer: Value = serde_json::from_str(&out).unwrap();
    let [stopped] = &answer["stopped-by"].as_array().unwrap()[..] else { panic!("{}", answer["stopped-by"]) };
    assert_eq!(stopped["sites"], STOPPED);
    assert!(stopped["profile"].as_str().unwrap().ends_with("overlays/brokenridge/1.0.0.yaml"));
    let faults = stopped["findings"].as_array().unwrap().clone();
    assert!(!faults.is_empty());
    let sites = answer["sites"].as_array().unwrap();
    assert_eq!(sites.len(), STOPPED + SOUND);
    for site in &sites[..STOPPED] {
        let [short] = &site["findings"].as_array().unwrap()[..] else { panic!("{site}") };
        assert_eq!((&short["name"], &site["verdict"]), (&json!("profile-at-fault"), &json!("could-not-tell")));
        assert_eq!(short["because"][0]["place"], faults[0]["place"], "{short}");
    }
    assert!(sites[STOPPED..].iter().all(|site| site["verdict"] != "could-not-tell"));
    assert!(out.len() < 1_000 * STOPPED, "{} bytes", out.len());
    let schema: Value = serde_json::from_slice(&std::fs::read(root().join("schemas/check-report.schema.json")).unwrap()).unwrap();
    jsonschema::validate(&schema, &answer).unwrap();
}

#[test]
fn lines_of_json_leave_it_to_the_messages() {
    let [out, err] = said("ndjson", "fleet.ndjson");
    assert_eq!(out.lines().filter(|line| line.contains("profile-at-fault")).count(), STOPPED);
    assert_eq!([err.matches("version: nothing").count(), err.matches(COUNT).count()], [1, 1], "{err}");
}

#[test]
fn every_other_form_says_it_once_too() {
    let [out, _] = said("lines", "fleet.ndjson");
    let of_profile: Vec<&str> = out.lines().filter(|line| line.starts_with("profiles/overlays/brokenridge/1.0.0.yaml:")).collect();
    assert!(!of_profile.is_empty() && of_profile.len() < 12, "{of_profile:?}");
    assert_eq!(out.lines().filter(|line| line.contains("[profile-at-fault]")).count(), STOPPED);
    let [out, _] = said("sarif", "fleet.ndjson");
    let log: Value = serde_json::from_str(&out).unwrap();
    let results = log["runs"][0]["results"].as_array().unwrap();
    let of =
        |result: &&Value| result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap().contains("brokenridge");
    assert_eq!(results.iter().filter(of).count(), of_profile.len());
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    for result in results {
        assert!(rules.iter().any(|rule| rule["id"] == result["ruleId"]), "{}", result["ruleId"]);
    }
    assert!(log["runs"][0]["invocations"][0]["toolExecutionNotifications"].to_string().contains(COUNT));
}
