//! `asleft decode`: what registers come to at a site. The images are laid out with pysunspec2 (`sunspec/images.py`); twenty-six
//! of them differ from the conforming one in one setting.

use serde_json::Value as Json;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const SITE: &str = "tests/sunspec/sites/sedge-lane-2.yaml";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_asleft")).current_dir(root()).env("COLUMNS", "100").args(arguments).output().unwrap()
}

fn image(name: &str) -> String {
    format!("tests/sunspec/images/{name}.json")
}

/// The exit code and the answer of a verdict.
fn judged(name: &str, more: &[&str]) -> (i32, Json) {
    let output = asleft(&[&["decode", &image(name), "--judge", SITE, "--as-of", "2026-11-26", "--format", "json"], more].concat());
    let says = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap(), serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{name}: {error}: {says}")))
}

fn names() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(root().join("tests/sunspec/images"))
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.strip_suffix(".json").map(str::to_owned))
        .collect();
    names.sort();
    names
}

/// The settings that findings speak of, as their places in the site's file name them.
fn settings_found(site: &Json) -> Vec<String> {
    // what nobody asked for is named beside, and is no fault; there is no other remark
    let (named, findings): (Vec<&Json>, Vec<&Json>) =
        site["findings"].as_array().unwrap().iter().partition(|finding| finding["name"] == "not-judged");
    assert!(named.iter().all(|finding| finding["outcome"] == "remark"), "{named:#?}");
    let count = |finding: &&Json| finding["folded"].as_array().map_or(0, Vec::len).max(1);
    assert!(named.iter().map(count).sum::<usize>() <= site["not-judged"].as_array().unwrap().len(), "{site:#}");
    let mut settings: Vec<String> = findings.iter().filter_map(|finding| finding["setting"].as_str().map(str::to_owned)).collect();
    settings.sort();
    settings.dedup();
    settings
}

#[test]
fn a_conforming_device_conforms_wherever_its_map_lies() {
    for name in ["conforming", "base-0", "base-50000", "short-identity", "unknown-models", "neighbours", "coarse-time", "many-registers"] {
        let (code, answer) = judged(name, &[]);
        assert_eq!((code, answer["site"]["verdict"].as_str()), (0, Some("complies")), "{name}");
        assert_eq!(answer["leaves-open"], false, "{name}");
    }
}

#[test]
fn each_single_fault_is_found_and_named() {
    let faults: Vec<String> = names().into_iter().filter(|name| name.starts_with("fault-")).collect();
    assert!(faults.len() >= 20, "{}", faults.len());
    for name in faults {
        let (code, answer) = judged(&name, &[]);
        assert_eq!((code, answer["site"]["verdict"].as_str()), (1, Some("does-not-comply")), "{name}");
        // `fault-overvoltage-1-threshold` is of overvoltage-1/threshold
        let found = settings_found(&answer["site"]);
        let named: Vec<String> =
            found.iter().map(|setting| format!("fault-{}", setting.trim_start_matches("inverter-1/").replace('/', "-"))).collect();
        assert_eq!(named, [name], "{found:?}");
    }
}

/// A time whose meaning an older model does not show counts under every meaning.
#[test]
fn an_older_device_is_judged_by_what_it_can_say() {
    let site = ["--judge", "tests/sunspec/sites/rush-lane-5.yaml", "--as-of", "2026-11-26", "--format", "json"];
    for (name, code, found) in [("older-conforming", 0, &[][..]), ("older-time", 1, &["inverter-1/undervoltage-1/unnamed-time"])] {
        let output = asleft(&[&["decode", &image(name)], &site[..]].concat());
        let answer: Json = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(code), "{name}: {answer}");
        assert_eq!(settings_found(&answer["site"]), found, "{name}: {answer}");
        // what stands for the rest is told apart
        assert!(answer["site"]["known-by"]["region"].as_u64() > Some(40), "{name}");
    }
}

/// What a reading leaves open is never proven: not when it is judged, and not by the file that it leaves. Every answer
/// keeps to its schema.
#[test]
fn what_is_left_open_is_never_proven() {
    let schema = std::fs::read_to_string(root().join("schemas/capture-report.schema.json")).unwrap();
    let checker = schema_check::Checker::new(serde_json::from_str(&schema).unwrap(), &[]).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut open = 0;
    for name in names() {
        let file = folder.path().join(format!("{name}.yaml"));
        if name == "no-map" {
            continue;
        }
        let (code, answer) = judged(&name, &["--out", file.to_str().unwrap()]);
        assert_eq!(checker.problems(&answer), [], "{name}");
        let is_open = answer["leaves-open"] == true;
        open += usize::from(is_open);
        assert!(!is_open || code == 1, "{name}: {code}");
        assert!(!is_open || answer["site"]["verdict"] != "complies", "{name}");
        let check = asleft(&["check", file.to_str().unwrap(), "--as-of", "2026-11-26", "--format", "json"]);
        let checked: Json = serde_json::from_slice(&check.stdout).unwrap();
        assert_eq!(checked["sites"][0]["verdict"], answer["site"]["verdict"], "{name}: the file says what the reading said");
        assert_eq!(check.status.code(), Some(code), "{name}");
    }
    assert!(open >= 20, "{open}");
}

/// The same site in other forms: in JSON, with the device on one line, without an as-left, with deeper indents.
#[test]
fn the_sites_file_keeps_what_it_said() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let tree = settings_model::document::parse(settings_model::source::SourceId(0), &text, &mut Vec::new()).unwrap().to_json();
    let left_at = text.find("    as-left:").unwrap();
    let deeper: String =
        text.lines().map(|line| if line.starts_with("  ") { format!("  {line}\n") } else { format!("{line}\n") }).collect();
    for (form, site, keeps_comments) in [
        ("as it is", text.clone(), true),
        ("deeper", deeper, true),
        ("nothing left yet", text[..left_at].to_owned(), true),
        ("no newline at the end", text.trim_end().to_owned(), true),
        ("JSON", tree.to_string(), false),
        (
            "device on a line",
            format!(
                "kind: site\nsite: a\nrequirements: {}\nsupply: {}\ndevices: {}\n",
                tree["requirements"], tree["supply"], tree["devices"]
            ),
            false,
        ),
    ] {
        let (given, out) = (folder.path().join("site.yaml"), folder.path().join("out.yaml"));
        std::fs::write(&given, &site).unwrap();
        let output =
            asleft(&["decode", &image("conforming"), "--site", given.to_str().unwrap(), "--out", out.to_str().unwrap(), "--replace"]);
        assert_eq!(output.status.code(), Some(0), "{form}: {}", String::from_utf8_lossy(&output.stderr));
        let laid = std::fs::read_to_string(&out).unwrap();
        let now = settings_model::document::parse(settings_model::source::SourceId(0), &laid, &mut Vec::new()).unwrap().to_json();
        let device = &now["devices"]["inverter-1"];
        assert_eq!(device["certified"], tree["devices"]["inverter-1"]["certified"], "{form}");
        assert_eq!(device["as-left"]["settings"]["overvoltage-1"]["threshold"]["read-from"], "708/40491 = 1100", "{form}");
        assert_eq!(laid.contains("# An invented site under the standard alone"), keeps_comments, "{form}");
        let check = asleft(&["check", out.to_str().unwrap()]);
        assert_ne!(check.status.code(), Some(2), "{form}: {}", String::from_utf8_lossy(&check.stderr));
    }
}

/// Values that no register says stay with the evidence that they had; those that were read take the place of typed ones.
#[test]
fn typed_values_stay_typed_and_read_ones_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let (given, out) = (folder.path().join("site.yaml"), folder.path().join("out.yaml"));
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let text = text.replace("volt-var: { state: off }", "volt-var: { state: off }\n        power-priority: { first: reactive-power }");
    let text = text.replace("threshold: 105.6 V", "threshold: 96 V");
    std::fs::write(&given, text).unwrap();
    let output = asleft(&["decode", &image("conforming"), "--site", given.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    let says = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(says.contains("file-differs: undervoltage-1/threshold: the file says 96 V, the device holds 0.88 pu"), "{says}");
    let laid = std::fs::read_to_string(&out).unwrap();
    assert!(laid.contains("power-priority: { first: { value: reactive-power, known-by: display } }"), "{laid}");
    assert!(laid.contains("threshold: { value: 0.88 pu, step: 0.12 V, exact: true, read-from: 707/40433 = 880 }"), "{laid}");
    assert!(!laid.contains("96 V"), "{laid}");
}

#[test]
fn as_found_stands_beside_as_left_and_is_judged_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.yaml");
    let (code, answer) = judged("fault-overvoltage-1-threshold", &["--as-found", "--out", out.to_str().unwrap()]);
    assert_eq!((code, answer["site"]["verdict"].as_str()), (1, Some("does-not-comply")));
    let laid = std::fs::read_to_string(&out).unwrap();
    let (left, found) = (laid.find("    as-left:").unwrap(), laid.find("    as-found:").unwrap());
    assert!(left < found && laid[found..].contains("708/40491 = 1150") && !laid[..found].contains("708/40491"), "{laid}");
    // then it is read again, after the work
    let (code, _) = {
        let output = asleft(&[
            "decode",
            &image("conforming"),
            "--judge",
            out.to_str().unwrap(),
            "--as-of",
            "2026-11-26",
            "--out",
            out.to_str().unwrap(),
            "--replace",
        ]);
        (output.status.code().unwrap(), output)
    };
    assert_eq!(code, 0);
    let diff = asleft(&["diff", out.to_str().unwrap()]);
    let diff = String::from_utf8_lossy(&diff.stdout).into_owned();
    assert!(diff.contains("1.15 pu") && diff.contains("1.1 pu"), "{diff}");
}

#[test]
fn the_device_is_the_one_with_the_serial_number_or_the_one_named() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let (head, device) = text.split_once("  inverter-1:\n").unwrap();
    let second = device.replace("HF-000417", "HF-000418");
    let write = |first: &str, second: &str| std::fs::write(&site, format!("{head}  east:\n{first}  west:\n{second}")).unwrap();
    let decode = |more: &[&str]| {
        let output = asleft(&[&["decode", &image("conforming"), "--site", site.to_str().unwrap(), "--out", "-"], more].concat());
        let says: Vec<String> = String::from_utf8(output.stderr).unwrap().split_whitespace().map(str::to_owned).collect();
        (output.status.code(), String::from_utf8(output.stdout).unwrap(), says.join(" "))
    };
    write(&second, device);
    let (code, laid, _) = decode(&[]);
    assert_eq!(code, Some(0));
    assert!(laid.find("captured:").unwrap() > laid.find("  west:").unwrap(), "{laid}");
    let (code, _, says) = decode(&["--device", "east"]);
    assert_eq!(code, Some(1), "{says}");
    assert!(says.contains("the file says HF-000418, the device HF-000417: this is another device"), "{says}");
    let (code, _, says) = decode(&["--device", "north"]);
    assert!(code == Some(2) && says.contains("no device `north`; its devices are east, west"), "{says}");
    write(&second, &second.replace("    serial: HF-000418\n", ""));
    let (code, _, says) = decode(&[]);
    assert!(code == Some(2) && says.contains("which device was read? Give `--device`"), "{says}");
}

#[test]
fn a_site_made_for_a_lesson_is_marked() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    std::fs::write(&site, text.replace("site: sedge-lane-2\n", "site: sedge-lane-2\ntraining: { exercise: reading }\n")).unwrap();
    let output = asleft(&["decode", &image("conforming"), "--judge", site.to_str().unwrap()]);
    assert!(String::from_utf8_lossy(&output.stdout).starts_with("TRAINING, NOT FOR SITE USE\n"));
    let output = asleft(&["decode", &image("conforming"), "--judge", site.to_str().unwrap(), "--format", "json"]);
    assert_eq!(serde_json::from_slice::<Json>(&output.stdout).unwrap()["training"], "TRAINING, NOT FOR SITE USE");
}

#[test]
fn files_are_not_written_over_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("kept.yaml");
    std::fs::write(&out, "something else\n").unwrap();
    let decode = |more: &[&str]| asleft(&[&["decode", &image("conforming"), "--out", out.to_str().unwrap()], more].concat());
    let refused = decode(&[]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--replace"));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "something else\n");
    assert_eq!(decode(&["--replace"]).status.code(), Some(0));
    // the same once more is no other file
    assert_eq!(decode(&[]).status.code(), Some(0));
}

/// A file of registers that is none, each with its place.
#[test]
fn a_broken_file_of_registers_is_told_where() {
    let folder = tempfile::tempdir().unwrap();
    for (text, expected) in [
        ("{", "bad.json, line 1, "),
        (r#"{ "kind": "site" }"#, "a file of kind `site` where one of kind `register-image` belongs"),
        (r#"{ "kind": "register-image", "runs": [] }"#, "bad.json, line 1, "),
        (r#"{ "kind": "register-image", "runs": [{ "from": 0, "registers": ["12"] }] }"#, "`12` is no register"),
        (r#"{ "kind": "register-image", "runs": [{ "from": 0, "registers": ["00zz"] }] }"#, "`00zz` is no register"),
        (r#"{ "kind": "register-image", "runs": [{ "from": 65535, "registers": ["0000 0000"] }] }"#, "past the last address"),
        (r#"{ "kind": "register-image", "runs": [{ "from": 70000, "registers": ["0000"] }] }"#, "bad.json, line 1, "),
        (
            r#"{ "kind": "register-image", "runs": [{ "from": 0, "registers": ["0000 0001"] }, { "from": 1, "registers": ["0000"] }] }"#,
            "two runs hold the same address",
        ),
    ] {
        let file = folder.path().join("bad.json");
        std::fs::write(&file, text).unwrap();
        let output = asleft(&["decode", file.to_str().unwrap()]);
        let says = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{text}: {says}");
        assert!(says.contains(expected) && !says.contains("panicked"), "{text}: {says}");
    }
}

fn outcomes<'j>(answer: &'j Json, name: &str) -> Vec<(&'j str, &'j str)> {
    let findings = answer["site"]["findings"].as_array().unwrap().iter().filter(|finding| finding["name"] == name);
    findings.map(|finding| (finding["outcome"].as_str().unwrap(), finding["headline"].as_str().unwrap())).collect()
}

/// What a device is rated for is held against the region, whatever its settings are.
#[test]
fn ratings_that_contradict_the_region_are_found() {
    let (code, answer) = judged("categories-a-and-i", &[]);
    assert_eq!((code, answer["site"]["verdict"].as_str()), (1, Some("does-not-comply")));
    let found = settings_found(&answer["site"]);
    assert_eq!(found, ["inverter-1/performance-category/abnormal", "inverter-1/performance-category/normal"]);
    let (code, answer) = judged("var-of-rating", &[]);
    assert_eq!(code, 1);
    assert_eq!(settings_found(&answer["site"]), ["inverter-1/reactive-capability/supplying"]);
    // a device of higher categories does what lower ones ask
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    std::fs::write(&site, text.replace("region: b-iii", "region: a-i")).unwrap();
    let output = asleft(&["decode", &image("conforming"), "--judge", site.to_str().unwrap(), "--as-of", "2026-11-26", "--format", "json"]);
    let answer: Json = serde_json::from_slice(&output.stdout).unwrap();
    assert!(!settings_found(&answer["site"]).iter().any(|setting| setting.contains("performance-category")), "{answer}");
}

/// A device that was left limited was not left as anybody asked; where a limit by command is stated it may be that one.
#[test]
fn a_limit_of_power_in_force_weighs() {
    for (name, says) in [
        (
            "power-limit",
            "inverter-1: left limited: model 704: active power is limited to 60 % of what it is set to give at most (WMaxLimPctEna)",
        ),
        ("power-held", "inverter-1: left limited: model 704: active power is held at 3800 W (WSetEna)"),
    ] {
        let (code, answer) = judged(name, &[]);
        assert_eq!((code, answer["site"]["verdict"].as_str()), (1, Some("not-proven")), "{name}");
        assert_eq!(outcomes(&answer, "left-limited"), [("not-proven", says)], "{name}");
    }
    let rush = ["--judge", "tests/sunspec/sites/rush-lane-5.yaml", "--as-of", "2026-11-26", "--format", "json"];
    let output = asleft(&[&["decode", &image("older-power-limit")], &rush[..]].concat());
    let answer: Json = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((output.status.code(), outcomes(&answer, "left-limited").len()), (Some(1), 1), "{answer}");
    let (code, answer) = judged("power-limit-of-all", &[]);
    assert_eq!((code, outcomes(&answer, "acts-beside").len()), (0, 1), "at 100 % nothing is limited");

    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let command = "volt-var: { state: off }\n        remote-control: { state: enabled }";
    std::fs::write(&site, text.replace("volt-var: { state: off }", command)).unwrap();
    let output = asleft(&["decode", &image("power-limit"), "--judge", site.to_str().unwrap(), "--as-of", "2026-11-26", "--format", "json"]);
    let answer: Json = serde_json::from_slice(&output.stdout).unwrap();
    let told = outcomes(&answer, "left-limited");
    assert!(matches!(told[..], [("remark", _)]), "{answer}");
}

/// Ratings of the file that the device contradicts decide which rules hold, and of what percentages are.
#[test]
fn ratings_that_the_file_has_otherwise_prove_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let judge = |text: &str, name: &str| {
        std::fs::write(&site, text).unwrap();
        let output = asleft(&["decode", &image(name), "--judge", site.to_str().unwrap(), "--as-of", "2026-11-26", "--format", "json"]);
        let answer: Json = serde_json::from_slice(&output.stdout).unwrap();
        (answer["site"]["verdict"].as_str().unwrap().to_owned(), answer)
    };
    let (verdict, answer) = judge(&text.replace("nameplate: 7.6 kVA", "nameplate: 10 kVA"), "conforming");
    assert_ne!(verdict, "complies", "{answer}");
    let limited = text.replace("nameplate: 7.6 kVA", "nameplate: 7.6 kVA\n    limited-to: 5 kVA");
    let (verdict, answer) = judge(&limited, "conforming");
    assert_ne!(verdict, "complies", "the file says 5 kVA, the device is set to 7.6 kVA: {answer}");
    let (_, answer) = judge(&limited, "set-below-rating");
    assert_eq!((outcomes(&answer, "reading-left-open").len(), outcomes(&answer, "acts-beside").len()), (0, 0), "{answer}");
    let (_, answer) = judge(&text, "set-below-rating");
    assert_eq!(outcomes(&answer, "acts-beside").len(), 2, "{answer}");
}

/// What the region stands for although a register would tell it is said: in the count of values, and by name, by the
/// reading, by the file that it leaves, as text and for programs.
#[test]
fn a_region_that_stands_for_registers_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.yaml");
    let (code, answer) = judged("registers-missing", &["--out", out.to_str().unwrap()]);
    assert_eq!((code, &answer["site"]["known-by"]["region-for-registers"]), (0, &Json::from(2)), "{answer}");
    let says = "inverter-1: the selected region stands for 2 settings whose registers the device does not implement: \
                reconnection/upper-voltage, reconnection/observation-time";
    assert_eq!(outcomes(&answer, "region-stands-for-registers"), [("remark", says)]);
    let check = |more: &[&str]| asleft(&[&["check", out.to_str().unwrap(), "--as-of", "2026-11-26"], more].concat()).stdout;
    let checked: Json = serde_json::from_slice(&check(&["--format", "json"])).unwrap();
    assert_eq!(checked["sites"][0]["known-by"], answer["site"]["known-by"]);
    let text = String::from_utf8(check(&[])).unwrap();
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("2 of them in place of registers that the device does not implement"), "{text}");
    let (_, answer) = judged("conforming", &[]);
    assert_eq!(answer["site"]["known-by"]["region-for-registers"], 0);
}
