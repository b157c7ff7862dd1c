//! What `behaves` says of devices that two other implementations played: opender, the public reference model of IEEE
//! Std 1547-2018, and OpenDSS (`outside/measured_logs.py`). With `--nocapture` the confusion table is printed.

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Mutex;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/outside/measured-logs")
}

struct Told {
    log: Value,
    report: Value,
}

impl Told {
    fn text<'t>(&'t self, key: &str) -> &'t str {
        self.log[key].as_str().unwrap_or_default()
    }

    /// Each function against what is set: its key, its answer, how sure.
    fn answers(&self) -> Vec<(&str, &str, &str)> {
        let all = self.report["functions"].as_array().unwrap().iter().filter(|function| function["against"] == "as-set");
        all.map(|function| {
            let of = |key: &str| function[key].as_str().unwrap_or_default();
            (of("function"), of("answer"), of("sure"))
        })
        .collect()
    }

    fn departs(&self) -> Vec<&str> {
        self.log["departs"].as_array().unwrap().iter().map(|key| key.as_str().unwrap()).collect()
    }

    /// What a function is said to look like.
    fn looks_like(&self, function: &str) -> Option<&str> {
        let all = self.report["functions"].as_array().unwrap();
        let found = all.iter().find(|of| of["function"] == function && of["against"] == "as-set")?;
        found["looks-like"]["name"].as_str()
    }
}

fn told() -> Vec<Told> {
    let index: Value = serde_json::from_str(&std::fs::read_to_string(folder().join("index.json")).unwrap()).unwrap();
    let logs: Mutex<Vec<Value>> = Mutex::new(index["logs"].as_array().unwrap().clone());
    let told = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some(log) = { logs.lock().unwrap().pop() } {
                    let report = report(&log);
                    told.lock().unwrap().push(Told { log, report });
                }
            });
        }
    });
    told.into_inner().unwrap()
}

fn report(log: &Value) -> Value {
    let site = if log["by"] == "opendss" { "meadow-lock-5.yaml" } else { "sorrel-hill-8.yaml" };
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(folder()).args(["behaves", site, log["log"].as_str().unwrap(), "--format", "json", "--as-of", "2026-11-25"]);
    let output = command.args(["--measured-at", "terminals", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %"]).output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{log}: {error}: {}", String::from_utf8_lossy(&output.stderr)))
}

/// What each device may be said to look like. The curve of category A is none of those at hand (no requirement states
/// it), so the nearest may be named.
const LIKE: [(&str, &str); 7] = [
    ("both-off", "off"),
    ("category-a", "half"),
    ("volt-var-off", "off"),
    ("volt-var-reversed", "reversed"),
    ("volt-var-half", "half"),
    ("region-b", "Australia B"),
    ("power-factor", "power factor of 0.9,"),
];

#[test]
fn devices_of_others_are_told_for_what_they_do() {
    let (mut table, mut found, mut named) = (BTreeMap::new(), [0, 0], BTreeMap::new());
    for one in told() {
        let (departs, about) = (one.departs(), one.text("log"));
        for (function, answer, sure) in one.answers() {
            let is_wrong = departs.contains(&function);
            assert!(is_wrong || answer != "departs", "{about}: {function} departs, {sure}, and it acts as set");
            assert!(!is_wrong || answer != "behaves", "{about}: {function} behaves, {sure}, and it does not act as set");
            if matches!(function, "volt-var" | "volt-watt") || is_wrong {
                let truth = if is_wrong { "departs" } else { "acts as set" };
                *table.entry((function.to_owned(), truth, answer.to_owned(), sure.to_owned())).or_insert(0) += 1;
            }
            found[1] += usize::from(is_wrong);
            found[0] += usize::from(is_wrong && answer == "departs");
        }
        if let Some(name) = one.looks_like("volt-var") {
            let is_right = LIKE.iter().any(|(does, like)| *does == one.text("does") && name.contains(like));
            assert!(is_right, "{about} looks like {name}");
            *named.entry(one.text("does").to_owned()).or_insert(0) += 1;
        }
        if one.text("does") == "as-set" {
            assert!(one.answers().iter().any(|(function, answer, _)| (*function, *answer) == ("volt-var", "behaves")), "{about}");
        }
    }
    println!("function, what it does, answer, how sure: logs");
    table.iter().for_each(|((function, truth, answer, sure), count)| println!("{function}, {truth}: {answer} {sure}: {count}"));
    println!("named rightly: {named:?}");
    assert!(found[0] * 100 >= found[1] * 95, "{} of {} departures were found", found[0], found[1]);
    assert!(named.get("volt-var-off").is_some_and(|count| *count >= 4), "{named:?}");
}
