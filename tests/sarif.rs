//! What `check --format sarif` prints is SARIF 2.1.0: it fits the schema that OASIS publishes, and keeps
//! what a schema cannot say.

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The log of a check, and its exit code.
fn log(arguments: &[&str], input: &[u8]) -> (Value, i32) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(root())
        .args(["check", "--format", "sarif", "--as-of", "2026-11-25"])
        .args(arguments)
        .env_remove("ASLEFT_PROFILES")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let _ = child.stdin.take().unwrap().write_all(input);
    let output = child.wait_with_output().unwrap();
    (serde_json::from_slice(&output.stdout).unwrap(), output.status.code().unwrap())
}

const LINES: &str = "tests/cases/check/one-site-a-line/sites.ndjson";

/// Logs of every kind: nothing found, faults, lines that cannot be read, nothing to read, a failure.
fn logs() -> Vec<(&'static str, Value, i32)> {
    let lines = std::fs::read(root().join(LINES)).unwrap();
    let none = |name, arguments: &[&str]| {
        let (log, code) = log(arguments, b"");
        (name, log, code)
    };
    let (piped, code) = log(&["-"], &[&lines[..], b"\n\xff\xfe\n"].concat());
    vec![
        none("complies", &["tests/sites/larkspur-row-3.yaml"]),
        none("complies, on unverified figures", &["tests/sites/larkspur-row-3.yaml", "--require-verified"]),
        none("folder", &["tests/sites"]),
        none("folder of refused files", &["tests/refused/site"]),
        none("lines", &[LINES]),
        ("standard input", piped, code),
        none("no such file", &["tests/sites/no such file.yaml"]),
        none("nothing", &["-"]),
        none("no such profiles", &["tests/sites", "--profiles", "tests/no-such-folder"]),
    ]
}

/// The schema as OASIS publishes it, without its prose; `tests/outside/README.md` says from where.
#[test]
fn every_log_fits_the_schema_of_oasis() {
    let schema = std::fs::read_to_string(root().join("tests/outside/sarif-schema-2.1.0.json")).unwrap();
    let checker = schema_check::Checker::new(serde_json::from_str(&schema).unwrap(), &[]).unwrap();
    let mut results = 0;
    for (name, log, _) in logs() {
        assert_eq!(checker.problems(&log), [], "{name}");
        results += log["runs"][0]["results"].as_array().unwrap().len();
        let mut other = log;
        other["runs"][0]["results"] = serde_json::json!([{ "ruleId": "without-a-message" }]);
        assert!(!checker.problems(&other).is_empty(), "a schema that refuses nothing proves nothing");
    }
    assert!(results > 50);
}

/// By clause of the standard: 3.14.27 columns, 3.27.5 rules, 3.27.10 levels, 3.20.14 and 3.20.21 how it ran.
#[test]
fn every_log_keeps_what_a_schema_cannot_say() {
    for (name, log, code) in logs() {
        let run = &log["runs"][0];
        assert_eq!(run["columnKind"], "unicodeCodePoints");
        let rules: Vec<_> = run["tool"]["driver"]["rules"].as_array().unwrap().iter().map(|rule| rule["id"].as_str().unwrap()).collect();
        for result in run["results"].as_array().unwrap() {
            assert!(rules.contains(&result["ruleId"].as_str().unwrap()), "{name}: {result}");
            let level = match result["properties"]["outcome"].as_str().unwrap() {
                "unusable" | "does-not-comply" => "error",
                "not-proven" => "warning",
                _ => "note",
            };
            assert_eq!(result["level"], level, "{name}: {result}");
            let related = result["relatedLocations"].as_array().into_iter().flatten();
            for location in result["locations"].as_array().unwrap().iter().chain(related) {
                lies_in_its_text(&location["physicalLocation"]);
            }
        }
        let invocation = &run["invocations"][0];
        assert_eq!(invocation["exitCode"], code, "{name}");
        assert_eq!(invocation["executionSuccessful"], code != 2, "{name}");
        assert_eq!(invocation["toolExecutionNotifications"].is_array(), code == 2, "{name}");
    }
}

/// Its columns are columns of that line, of the files of this project.
fn lies_in_its_text(physical: &Value) {
    let uri = physical["artifactLocation"]["uri"].as_str().unwrap();
    assert!(!uri.contains([' ', '\\']), "{uri}");
    let file = uri.strip_prefix("shipped:").map_or_else(|| uri.to_owned(), |profile| format!("profiles/{profile}"));
    let Ok(text) = std::fs::read_to_string(root().join(file)) else { return };
    let (Some(line), Some(start)) = (physical["region"]["startLine"].as_u64(), physical["region"]["startColumn"].as_u64()) else { return };
    // an empty file has a first line, too
    let line = text.split('\n').nth(line as usize - 1).unwrap_or_else(|| panic!("{physical}"));
    let length = line.trim_end_matches('\r').chars().count() as u64;
    let end = physical["region"]["endColumn"].as_u64().unwrap();
    assert!(1 <= start && start <= end && end <= length + 1, "{physical}");
}

/// A line that cannot be read is a result at its place, and a note of how the run went.
#[test]
fn lines_that_cannot_be_read_are_told_twice() {
    let (log, _) = log(&["-"], b"{\"kind\":\"site\"\n\xff\xfe\nnot a site\n");
    let run = &log["runs"][0];
    let lines = run["results"].as_array().unwrap().iter().map(|result| {
        let physical = &result["locations"][0]["physicalLocation"];
        (physical["artifactLocation"]["uri"].as_str().unwrap(), physical["region"]["startLine"].as_u64().unwrap())
    });
    let mut lines: Vec<_> = lines.collect();
    lines.dedup();
    assert_eq!(lines, [("standard%20input", 1), ("standard%20input", 2), ("standard%20input", 3)]);
    let told = run["invocations"][0]["toolExecutionNotifications"].as_array().unwrap();
    let told: Vec<_> = told.iter().map(|one| one["associatedRule"]["id"].as_str().unwrap()).collect();
    assert!(told.contains(&"unreadable") && told.contains(&"syntax"), "{told:?}");
}
