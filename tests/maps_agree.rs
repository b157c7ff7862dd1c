//! What `trip-map` says of a voltage or a frequency is what `scenario` plays where that value stays: for every shipped
//! standard and region, a value in every row of both maps.

use crate::program;

use program::asleft;
use serde_json::Value;

fn json(arguments: &[&str]) -> Value {
    let output = asleft(arguments);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{arguments:?}: {}", String::from_utf8_lossy(&output.stderr)))
}

/// `as-nzs-4777.2/2020-amd2/australia-a` and its like.
fn regions() -> Vec<String> {
    let listed = String::from_utf8(asleft(&["list", "--as-of", "2026-11-25"]).stdout).unwrap();
    let (mut found, mut standard) = (Vec::new(), None);
    for line in listed.lines() {
        if let Some(name) = line.split_whitespace().next().filter(|_| line.starts_with(' ') && !line.starts_with("  ")) {
            standard = name.strip_prefix("standards/").map(str::to_owned);
        }
        let Some(standard) = &standard else { continue };
        let regions = line.split_whitespace().map(|word| word.trim_end_matches(','));
        found.extend(regions.map(|region| format!("{standard}/{region}")).filter(|word| is_mapped(word)));
    }
    found
}

fn nominal(word: &str) -> f64 {
    if word.starts_with("ieee-1547") { 240.0 } else { 230.0 }
}

fn with_nominal<'w>(mut arguments: Vec<&'w str>, word: &str) -> Vec<&'w str> {
    if word.starts_with("ieee-1547") {
        arguments.extend(["--nominal", "240 V"]);
    }
    arguments
}

fn is_mapped(word: &str) -> bool {
    word.contains('/')
        && word.chars().all(|c| c.is_ascii_alphanumeric() || "/.-".contains(c))
        && asleft(&with_nominal(vec!["trip-map", word, "--no-plot"], word)).status.success()
}

/// A row of a map, at a value in its middle.
struct Row {
    value: f64,
    stays: Option<f64>,
    off_by: Option<f64>,
    by_mean: bool,
    stages: Vec<String>,
}

fn rows(map: &Value) -> Vec<Row> {
    let row = |slice: &Value| {
        let edge = |key: &str| slice[key].as_f64();
        let value = match (edge("from"), edge("to")) {
            (Some(from), Some(to)) => f64::midpoint(from, to),
            (None, Some(to)) => to * 0.9,
            (Some(from), None) => from * 1.1,
            (None, None) => return None,
        };
        let stays: Vec<f64> = slice["stays"].as_array()?.iter().filter_map(Value::as_f64).collect();
        let stages = slice["stages"].as_array()?.iter().map(|stage| stage.as_str().unwrap().to_owned()).collect();
        let stays = (!stays.is_empty()).then(|| stays.iter().sum::<f64>() / stays.len() as f64);
        Some(Row { value, stays, off_by: edge("off-by"), by_mean: slice["by-mean"] == true, stages })
    };
    map["slices"].as_array().unwrap().iter().filter_map(row).collect()
}

/// How long everything is nominal in the scenario; it is taken to have been so for as long as any mean looks back.
const BEFORE: f64 = 2.0;

fn scenario(measured: &str, unit: &str, row: &Row) -> String {
    // where nothing has to be off, a part of it shows that nothing leaves
    let lasts = row.off_by.unwrap_or(row.stays.unwrap_or(650.0).min(650.0)) + 5.0;
    format!(
        "kind: scenario\ntitle: One value\nteaches: It stays.\nsource: invented\nbegin: {{ available: 3 kW }}\nthen:\n  \
         - for: {BEFORE} s\n  - {{ {measured}: {:.4} {unit}, for: {lasts:.3} s }}\n",
        row.value
    )
}

/// What of the two does not agree.
fn disagreements(row: &Row, played: &Value, mean_after: Option<f64>) -> Vec<String> {
    let device = &played["timeline"]["devices"][0];
    let trips: Vec<&Value> = device["events"].as_array().unwrap().iter().filter(|event| event["what"] == "tripped").collect();
    let first = trips.iter().map(|trip| trip["earliest"]["seconds"].as_f64().unwrap() - BEFORE).reduce(f64::min);
    let certain = trips.iter().find(|trip| trip["sure"] == "certain").map(|trip| trip["latest"]["seconds"].as_f64().unwrap() - BEFORE);
    let mut wrong = Vec::new();
    match (row.stays, row.by_mean, first) {
        (Some(stays), _, Some(first)) if (first - stays).abs() > 1e-3 => wrong.push(format!("stays {stays} s, may trip after {first} s")),
        // a stage of which the requirement leaves something open cannot be played, and that is told
        (Some(stays), false, None) if !row.stages.is_empty() && device["could-not-play"] == 0 => {
            wrong.push(format!("may trip after {stays} s, and does not"));
        }
        (None, false, Some(first)) => wrong.push(format!("no limit, may trip after {first} s")),
        (None, true, Some(first)) if mean_after.is_none_or(|after| (first - after).abs() > 0.2) => {
            wrong.push(format!("the mean is past the limit after {mean_after:?} s, may trip after {first} s"));
        }
        _ => {}
    }
    match (row.off_by, certain) {
        (Some(off), None) => wrong.push(format!("off by {off} s, and no trip is certain")),
        // how long the mean takes to pass its limit depends on what was before
        (Some(off), Some(certain)) if certain > off + 1e-3 || (!row.by_mean && certain < off - 1e-3) => {
            wrong.push(format!("off by {off} s, trips by {certain} s"));
        }
        (None, Some(certain)) => wrong.push(format!("never has to be off, trips by {certain} s")),
        _ => {}
    }
    for stage in trips.iter().flat_map(|trip| trip["stages"].as_array().unwrap()).filter_map(Value::as_str) {
        if !row.stages.iter().any(|own| own == stage) {
            wrong.push(format!("{stage} trips, and does not act by the map ({:?})", row.stages));
        }
    }
    wrong
}

#[test]
fn every_row_of_every_map_is_what_is_played() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("one-value.yaml");
    let (regions, mut wrong, mut count) = (regions(), Vec::new(), 0);
    assert!(regions.len() >= 25, "{regions:?}");
    for word in &regions {
        let maps = json(&with_nominal(vec!["trip-map", word, "--no-plot", "--format", "json"], word));
        for map in maps["maps"].as_array().unwrap() {
            for row in rows(map) {
                std::fs::write(&file, scenario(map["measured"].as_str().unwrap(), map["unit"].as_str().unwrap(), &row)).unwrap();
                let arguments = vec!["scenario", word, file.to_str().unwrap(), "--no-plot", "--format", "json", "--as-of", "2026-11-25"];
                let played = json(&with_nominal(arguments, word));
                let mean_after = map["mean"]["above"][0]
                    .as_f64()
                    .map(|above| map["mean"]["window"].as_f64().unwrap() * (above - nominal(word)) / (row.value - nominal(word)));
                let place = format!("{word}, {} {}", row.value, map["unit"]);
                wrong.extend(disagreements(&row, &played, mean_after).into_iter().map(|says| format!("{place}: {says}")));
                count += 1;
            }
        }
    }
    println!("{count} rows of {} regions", regions.len());
    assert!(wrong.is_empty(), "{} of {count}:\n{}", wrong.len(), wrong.join("\n"));
}
