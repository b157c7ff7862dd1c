//! `asleft new`: what it writes is taken by `sheet` and `check` at once; what is missing is named with what would do.

use crate::program;
#[cfg(target_os = "linux")]
#[path = "program/terminal.rs"]
pub mod terminal;

use program::{DAY, asleft, root, text, with_columns};
use serde_json::Value;
use settings_model::library::{Library, Profile};
use settings_model::source::Sources;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Output;

/// A standard or a network, a region, and how many phases.
type Under = (&'static str, String, String, u8);

pub fn shipped() -> Library {
    let mut library = Library::default();
    let mut folders = vec![root().join("profiles")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "yaml") {
                let key = path.strip_prefix(root().join("profiles")).unwrap().to_string_lossy().into_owned();
                let text = std::fs::read_to_string(&path).unwrap();
                library.add(Profile { name: key.clone(), path: key, text: text.into(), shipped: true });
            }
        }
    }
    library
}

/// Every region of every shipped standard and of every network's newest version, on one, two and three phases.
fn everything() -> Vec<Under> {
    let (mut library, mut sources, mut all) = (shipped(), Sources::default(), Vec::new());
    let mut put = |flag, key: &str, region: String| all.extend((1..=3).map(|phases| (flag, key.to_owned(), region.clone(), phases)));
    for key in library.standards() {
        let file = library.standard(&key, &mut sources).unwrap();
        file.file.regions.iter().for_each(|(region, _)| put("--standard", &key, region.to_owned()));
    }
    for network in library.networks() {
        let newest = library.versions(&network).pop().unwrap();
        let regions = library.regions_below(&network, &newest, &mut sources).unwrap();
        regions.into_iter().for_each(|region| put("--network", &network, region));
    }
    all
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// What a refusal says is missing: each flag, and what it says would do.
fn missing(says: &str) -> Vec<(String, String)> {
    let list = says.split_once("Missing; ").map_or("", |(_, list)| list);
    let lines = list.lines().skip(1).filter(|line| line.starts_with("  --"));
    let of = |line: &str| {
        let (flag, rest) = line.trim().split_once("  ").unwrap_or_else(|| panic!("{line}"));
        let (_, would_do) = rest.split_once(": ").unwrap_or_else(|| panic!("{line}"));
        (flag.to_owned(), would_do.trim_start_matches("such as ").split(", ").next().unwrap().to_owned())
    };
    lines.map(of).collect()
}

/// Gives every answer that is missing as the refusal says it would do, until nothing is.
fn made(file: &Path, known: &[&str]) -> Output {
    let mut flags: BTreeMap<String, String> = BTreeMap::new();
    for _ in 0..4 {
        let mut arguments: Vec<String> = ["new", file.to_str().unwrap()].iter().chain(known).map(ToString::to_string).collect();
        let mut inverter: Vec<String> = Vec::new();
        for (flag, answer) in &flags {
            match flag.strip_prefix("--inverter ") {
                // a rating within every size that a standard is for
                Some("nameplate=…") => inverter.push("nameplate=3 kVA".to_owned()),
                Some(key) => inverter.push(key.replace('…', answer)),
                None => arguments.extend([flag.split(' ').next().unwrap().to_owned(), answer.clone()]),
            }
        }
        if !inverter.is_empty() {
            arguments.extend(["--inverter".to_owned(), inverter.join(",")]);
        }
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let output = with_columns(160, &arguments);
        if output.status.code() == Some(0) {
            return output;
        }
        let says = stderr(&output);
        let more = missing(&says);
        assert!(output.status.code() == Some(2) && !more.is_empty(), "{arguments:?}: {says}");
        assert!(!file.exists());
        flags.extend(more);
    }
    panic!("{known:?}: still missing after four rounds: {flags:?}");
}

#[test]
fn every_network_standard_region_and_count_of_phases_gives_a_file_that_is_taken_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let all = everything();
    assert!(all.len() > 100, "{}", all.len());
    let work = |all: &[Under]| {
        for (flag, key, region, phases) in all {
            let file = folder.path().join(format!("{}-{region}-{phases}.yaml", key.replace('/', "-")));
            made(&file, &[flag, key, "--region", region, "--phases", &phases.to_string(), "--as-of", DAY]);
            let sheet = asleft(&["sheet", file.to_str().unwrap(), "--as-of", DAY]);
            assert_eq!((sheet.status.code(), &*stderr(&sheet)), (Some(0), ""), "{key} {region} {phases}");
        }
    };
    std::thread::scope(|scope| all.chunks(all.len().div_ceil(2)).for_each(|half| drop(scope.spawn(move || work(half)))));

    let output = asleft(&["check", folder.path().to_str().unwrap(), "--format", "json", "--as-of", DAY]);
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    let sites = report["sites"].as_array().unwrap();
    assert_eq!((sites.len(), output.status.code()), (all.len(), Some(1)));
    for site in sites {
        // nothing is refused, and nothing passes before anything was left
        assert_eq!(site["verdict"], "not-proven", "{site}");
        let names: Vec<String> = site["findings"].as_array().unwrap().iter().map(|finding| text(&finding["name"])).collect();
        assert!(names.contains(&"nothing-recorded".to_owned()), "{}: {names:?}", site["site"]);
    }
}

#[test]
fn what_is_missing_and_what_is_wrong_are_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sawmill-1.yaml");
    let output = with_columns(100, &["new", file.to_str().unwrap(), "--network", "quillbrook", "--phases", "4", "--applied", "01/03/2026"]);
    let says = stderr(&output);
    assert_eq!(output.status.code(), Some(2));
    for part in
        ["--phases: `4` is none of the choices", "--applied: ", "--installed  ", "--export  ", "none, fixed, dynamic", "source=…", "solar"]
    {
        assert!(says.contains(part), "no `{part}`: {says}");
    }
    assert!(!says.contains("--network  ") && !file.exists(), "{says}");
}

#[test]
fn nothing_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sawmill-1.yaml");
    std::fs::write(&file, "mine\n").unwrap();
    let output = asleft(&["new", file.to_str().unwrap(), "--network", "quillbrook"]);
    assert!(output.status.code() == Some(2) && stderr(&output).contains("never written over"), "{}", stderr(&output));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine\n");
}

pub const COMPLETE: [&str; 14] = [
    "--site",
    "sawmill-1",
    "--network",
    "quillbrook",
    "--applied",
    "2026-02-16",
    "--approved",
    "2026-03-02",
    "--installed",
    "2026-04-09",
    "--phases",
    "1",
    "--export",
    "fixed=5kW",
];
pub const INVERTER: [&str; 2] = ["--inverter", "nameplate=6kVA,source=Solar,certified=AS-NZS-4777.2/2020-amd2"];

#[test]
fn a_hyphen_prints_what_a_name_writes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("other.yaml");
    let printed = asleft(&[&["new", "-"][..], &COMPLETE, &INVERTER].concat());
    let written = asleft(&[&["new", file.to_str().unwrap()][..], &COMPLETE, &INVERTER].concat());
    assert_eq!((printed.status.code(), written.status.code()), (Some(0), Some(0)), "{}", stderr(&written));
    assert_eq!(String::from_utf8(printed.stdout).unwrap(), std::fs::read_to_string(&file).unwrap());
    assert!(stderr(&written).contains("Issue 2 (2.0.0)"), "{}", stderr(&written));
}

/// What was filled in beside a site's file that `new` made is judged as any other.
#[test]
fn the_sheet_of_a_new_site_filled_with_what_is_required_complies() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sawmill-1.yaml");
    let made = asleft(&[&["new", file.to_str().unwrap()][..], &COMPLETE, &INVERTER].concat());
    assert_eq!(made.status.code(), Some(0), "{}", stderr(&made));
    let sheet = asleft(&["sheet", file.to_str().unwrap(), "--format", "csv", "--as-of", DAY]);
    let mut rows = csv::Reader::from_reader(&sheet.stdout[..]);
    let heads = rows.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("no column {name}"));
    let (setting, required, within, left) = (at("setting"), at("required"), at("complies within"), at("as left"));
    let mut filled = csv::Writer::from_writer(Vec::new());
    filled.write_record(&heads).unwrap();
    for row in rows.records() {
        let mut row: Vec<String> = row.unwrap().iter().map(str::to_owned).collect();
        if row[left].is_empty() {
            row[left] = match row[setting].as_str() {
                "date" => "2026-04-09".to_owned(),
                "role" => "licensed installer".to_owned(),
                "known-by" => "display".to_owned(),
                _ if row[required].starts_with("by the region") || row[required].starts_with("set by the region") => "-".to_owned(),
                _ => row[required].clone(),
            };
        }
        assert!(!row[within].is_empty() || row[left] != "-");
        filled.write_record(&row).unwrap();
    }
    let csv = folder.path().join("filled.csv");
    std::fs::write(&csv, filled.into_inner().unwrap()).unwrap();
    let output = asleft(&["check", file.to_str().unwrap(), "--filled", csv.to_str().unwrap(), "--as-of", DAY, "--format", "json"]);
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&report["sites"][0]["verdict"], output.status.code()), (&Value::from("complies"), Some(0)), "{report:#}");
}

/// Answers over a terminal: numbers, words, wrong ones first, and Enter alone.
#[cfg(target_os = "linux")]
#[test]
fn what_is_not_given_is_asked_for_on_a_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let (asked, flagged) = (folder.path().join("sawmill-1.yaml"), folder.path().join("flags.yaml"));
    let answers = [
        "",
        "six",
        "quillbrok",
        "6",
        "01/03/2026",
        "2026-02-16",
        "2026-03-02",
        "2026-04-09",
        "",
        "1",
        "400 V",
        "",
        "",
        "fixed",
        "5",
        "5 kW",
        "",
        "Solar",
        "6",
        "6kVA",
        "1",
        "",
    ];
    let (says, code) = terminal::talk(&["new", asked.to_str().unwrap()], &answers);
    assert_eq!(code, Some(0), "{says}");
    for part in
        ["did you mean `quillbrook`?", "`01/03/2026`", "between phases", "has no unit", "Enter alone: sawmill-1", "Enter alone: 230 V"]
    {
        assert!(says.contains(part), "no `{part}`: {says}");
    }
    let made = asleft(&[&["new", flagged.to_str().unwrap()][..], &COMPLETE, &INVERTER].concat());
    assert_eq!(made.status.code(), Some(0), "{}", stderr(&made));
    assert_eq!(std::fs::read_to_string(&asked).unwrap(), std::fs::read_to_string(&flagged).unwrap());
}

/// A talk that ends before its last answer leaves nothing behind.
#[cfg(target_os = "linux")]
#[test]
fn answers_that_end_leave_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sawmill-1.yaml");
    let (says, code) = terminal::talk(&["new", file.to_str().unwrap()], &["", "6", "2026-02-16"]);
    assert!(code == Some(2) && says.contains("approval"), "{code:?}: {says}");
    assert!(!file.exists());
}

/// Every key of a site's file stands in the template, or is named there as left out; what programs write is passed over
/// with the key that leads to it.
#[test]
fn the_template_names_every_key_of_a_sites_file() {
    let schema = std::fs::read_to_string(root().join("schemas/site.schema.json")).unwrap();
    let schema: Value = serde_json::from_str(&schema).unwrap();
    let mut keys: Vec<String> = Vec::new();
    let written_by_programs = ["Training", "Diagnosed", "CaptureNote", "Pin"];
    let of_settings = |name: &str| name == "settings" || name == "displayed" || name.starts_with("held");
    for (name, part) in schema["$defs"].as_object().unwrap() {
        if !written_by_programs.contains(&name.as_str()) && !of_settings(name) {
            keys_of(part, &mut keys);
        }
    }
    keys.extend(schema["properties"].as_object().unwrap().keys().cloned());
    keys.extend(schema["properties"]["installation"]["properties"].as_object().unwrap().keys().cloned());
    assert!(keys.len() > 60, "{keys:?}");
    for of in ["quillbrook", "tarnside", "as-nzs-4777.2/2020-amd2", "ieee-1547/2018"] {
        let output = asleft(&["template", of, "--as-of", DAY]);
        let template = String::from_utf8(output.stdout).unwrap();
        let is_part = |letter: char| letter.is_alphanumeric() || letter == '-';
        let words: Vec<&str> = template.split(|letter| !is_part(letter)).collect();
        let of_network = ["network", "overlay", "against", "version"];
        let of_standard = ["standard", "installation"];
        let other = if of.contains('/') { &of_network[..] } else { &of_standard[..] };
        // figures that nobody of this network asks for
        let is_asked = |key: &&String| !(key.starts_with("voltage-rise") || key.ends_with("balance") || other.contains(&key.as_str()));
        let missing: Vec<&String> = keys.iter().filter(is_asked).filter(|key| !words.contains(&key.as_str())).collect();
        assert!(missing.is_empty(), "{of}: {missing:?}\n{template}");
    }
}

fn keys_of(part: &Value, keys: &mut Vec<String>) {
    let Some(part) = part.as_object() else { return };
    keys.extend(part.get("properties").and_then(Value::as_object).into_iter().flat_map(|map| map.keys().cloned()));
    for several in ["oneOf", "anyOf", "allOf"] {
        part.get(several).and_then(Value::as_array).into_iter().flatten().for_each(|one| keys_of(one, keys));
    }
}
