//! `behaves`, held against itself and against what a device really did: the logs of `logs/behaviour.py`.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

const STATED: [&str; 6] = ["--measured-at", "terminals", "--q-positive", "supplies", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %"];
const SITE: &str = "tests/sites/larkspur-row-3.yaml";
const OFF: &str = "tests/logs/volt-var-off.csv";
const AS_SET: &str = "tests/logs/does-as-set.csv";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn run(site: &str, log: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).args(["behaves", site, log, "--as-of", "2026-11-25"]).args(more);
    let output = command.env("COLUMNS", "80").env("NO_COLOR", "1").output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn json(log: &str, more: &[&str]) -> Value {
    let more: Vec<&str> = more.iter().copied().chain(["--format", "json"]).collect();
    let (_, out, err) = run(SITE, log, &more);
    serde_json::from_str(&out).unwrap_or_else(|error| panic!("{error}: {out}{err}"))
}

fn function<'j>(report: &'j Value, key: &str, against: &str) -> &'j Value {
    let all = report["functions"].as_array().unwrap();
    all.iter().find(|function| function["function"] == key && function["against"] == against).unwrap_or(&Value::Null)
}

fn volt_var(report: &Value) -> (String, String) {
    let of = function(report, "volt-var", "as-set");
    (of["answer"].as_str().unwrap_or("-").to_owned(), of["sure"].as_str().unwrap_or("-").to_owned())
}

fn is(answer: &str, sure: &str) -> (String, String) {
    (answer.to_owned(), sure.to_owned())
}

#[test]
fn a_function_that_is_off_departs_and_one_that_acts_behaves() {
    let (off, as_set) = (json(OFF, &STATED), json(AS_SET, &STATED));
    assert_eq!(volt_var(&off), is("departs", "certain"));
    assert_eq!(volt_var(&as_set), is("behaves", "certain"));
    assert_eq!(off["answer"], "departs");
    // the meter of both reads 0.3 V too high
    let errors = &function(&as_set, "volt-var", "as-set")["explained-by"]["voltage-error"];
    assert!(errors[0].as_f64().unwrap() <= -0.3 && -0.3 <= errors[1].as_f64().unwrap(), "{errors}");
    assert_eq!(function(&off, "volt-var", "as-set")["looks-like"]["name"], "off");
    // it departs by what the curve asks, no more and no less
    let size = &function(&off, "volt-var", "as-set")["size"];
    assert!((25.0..40.0).contains(&size["typical-percent"].as_f64().unwrap()), "{size}");
    assert!(off["look-into"].as_array().unwrap().iter().any(|step| step.as_str().unwrap().contains("meter")));
}

#[test]
fn what_is_not_stated_makes_an_answer_likely_or_none() {
    let (stated, none) = (&STATED[..], &[][..]);
    assert_eq!(volt_var(&json(OFF, none)), is("departs", "likely"));
    assert_eq!(volt_var(&json(AS_SET, none)), is("behaves", "likely"));
    assert_eq!(volt_var(&json(AS_SET, &stated[..4])), is("behaves", "likely"));
    // powers at the point of supply are the site's
    let supply = ["--measured-at", "supply", "--q-positive", "supplies"];
    assert_eq!(volt_var(&json(OFF, &supply)).0, "not-shown");
}

/// A log that counts the other way round says the same; where nobody says which way, reversed signs cannot be shown.
#[test]
fn the_sign_of_vars_is_stated_or_open() {
    let text = std::fs::read_to_string(root().join(AS_SET)).unwrap();
    let turned = text.lines().enumerate().map(|(n, line)| {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if n > 0 {
            cells[3] = (-cells[3].parse::<f64>().unwrap()).to_string();
        }
        cells.join(",")
    });
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("turned.csv");
    std::fs::write(&log, turned.collect::<Vec<_>>().join("\n") + "\n").unwrap();
    let log = log.to_str().unwrap();
    let [place, at, of, _, accuracy, how] = STATED;
    assert_eq!(volt_var(&json(log, &[place, at, of, "absorbs", accuracy, how])), is("behaves", "certain"));
    assert_eq!(volt_var(&json(log, &STATED)), is("departs", "certain"));
    let open = json(log, &[place, at, accuracy, how]);
    assert_eq!(volt_var(&open).0, "not-shown");
    assert!(function(&open, "volt-var", "as-set")["needs"].as_str().unwrap().contains("--q-positive"));
}

/// A heading that says which way it counts needs no flag, and a flag that says otherwise is refused.
#[test]
fn a_heading_may_say_the_sign_of_vars() {
    let text = std::fs::read_to_string(root().join(AS_SET)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let [place, at, of, supplies, accuracy, how] = STATED;
    for (heading, answer, wrong) in [("reactive power supplied [kvar]", "behaves", "absorbs"), ("Q absorbed [kvar]", "departs", supplies)] {
        let log = folder.path().join("log.csv");
        std::fs::write(&log, text.replace("Q [kvar]", heading)).unwrap();
        let log = log.to_str().unwrap();
        assert_eq!(volt_var(&json(log, &[place, at, accuracy, how])), is(answer, "certain"), "{heading}");
        let (code, _, err) = run(SITE, log, &[place, at, of, wrong]);
        assert!(code == Some(2) && err.contains("heading"), "{err}");
    }
}

#[test]
fn the_exit_says_whether_all_that_was_asked_behaves() {
    let only = |functions: &'static str| STATED.iter().copied().chain(["--functions", functions]).collect::<Vec<_>>();
    assert_eq!(run(SITE, AS_SET, &only("volt-var")).0, Some(0));
    assert_eq!(run(SITE, OFF, &only("volt-var")).0, Some(1));
    // trips were not shown, and missing evidence is no pass
    assert_eq!(run(SITE, AS_SET, &only("volt-var,trips")).0, Some(1));
    for (more, says) in [
        (&["--functions", "volt-vra"][..], "volt-vra"),
        (&["--accuracy", "V half"], "V half"),
        (&["--accuracy", "V 1 %, V 2 %"], "twice"),
        (&["--tolerance", "140 %"], "100 %"),
        (&["--spread", "5 A"], "--spread"),
    ] {
        let (code, out, err) = run(SITE, AS_SET, more);
        assert!(code == Some(2) && out.is_empty() && err.contains(says), "{more:?}: {code:?} {err}");
    }
    let (code, _, err) = run("quillbrook/2.0.0", AS_SET, &[]);
    assert!(code == Some(2) && err.contains("site"), "{err}");
    // nobody knows when a device was on whose power is not logged
    let (code, _, err) = run(SITE, "tests/logs/sag-9.9s.csv", &[]);
    assert!(code == Some(2) && err.contains("power"), "{err}");
}

/// No time of day, in neither form.
#[test]
fn times_are_left_out_where_that_is_asked() {
    for form in ["text", "json"] {
        let more: Vec<&str> = STATED.iter().copied().chain(["--all", "--format", form]).collect();
        let with = run(SITE, OFF, &more).1;
        let without = run(SITE, OFF, &[&more[..], &["--no-times"]].concat()).1;
        let has_times = |text: &str| text.contains(":30:00") || text.contains("2026-11-1");
        assert!(has_times(&with), "{with}");
        assert!(!has_times(&without), "{without}");
    }
}

/// What people read and what programs read: the same answers, in 80 columns.
#[test]
fn both_forms_say_the_same() {
    for log in [OFF, AS_SET] {
        let (report, (_, text, _)) = (json(log, &STATED), run(SITE, log, &STATED));
        assert!(text.starts_with(report["headline"].as_str().unwrap()), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        assert!(text.lines().count() <= 56, "{}", text.lines().count());
        for function in report["functions"].as_array().unwrap() {
            let (title, answer) = (function["title"].as_str().unwrap(), function["answer"].as_str().unwrap().replace('-', " "));
            let first = title.split(' ').next().unwrap();
            let has = text.lines().any(|line| line.trim_start().starts_with(first) && line.contains(&answer));
            assert!(has, "{title}: {answer}\n{text}");
        }
    }
}
