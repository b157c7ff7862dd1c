//! A log as `events` plays it.

use super::{DAY, with_columns};
use serde_json::Value;
use std::path::Path;
use std::process::Output;

pub const SITE: &str = "tests/sites/larkspur-row-3.yaml";

/// On the site of most logs.
pub fn events(log: &Path, more: &[&str]) -> Output {
    events_at(SITE, log, more)
}

pub fn events_at(site: &str, log: &Path, more: &[&str]) -> Output {
    with_columns(100, &[&["events", site, log.to_str().unwrap(), "--as-of", DAY], more].concat())
}

/// However its lines are broken.
pub fn on_one_line(text: &[u8]) -> String {
    String::from_utf8_lossy(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is said of a log of a device that was on: the report and the text, or the message.
pub fn played(log: &str, more: &[&str]) -> Result<(Value, String), String> {
    played_at(SITE, log, more)
}

pub fn played_at(site: &str, log: &str, more: &[&str]) -> Result<(Value, String), String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    std::fs::write(&path, log).unwrap();
    let run = |form: &str| events_at(site, &path, &[&["--in-service", "yes", "--no-plot", "--format", form], more].concat());
    let json = run("json");
    if json.stdout.is_empty() {
        return Err(on_one_line(&json.stderr));
    }
    Ok((serde_json::from_slice(&json.stdout).unwrap(), on_one_line(&run("text").stdout)))
}

/// What happened, without the clock's own words.
pub fn story(report: &Value) -> Vec<String> {
    let events = report["devices"][0]["events"].as_array().unwrap();
    let told = |event: &Value| {
        let second = |moment: &str| event[moment]["seconds"].as_f64().unwrap();
        format!("{} {} {:.3} {:.3} {}", event["what"], event["stages"], second("earliest"), second("latest"), event["sure"])
    };
    events.iter().map(told).collect()
}
