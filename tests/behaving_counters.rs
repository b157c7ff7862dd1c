//! Counters in place of logs: the same answers, however their lines are cut and mixed; lines that anybody may have written.

use crate::behaving_fleets::{Fleet, name, of_all, site};
use serde_json::Value;
use std::collections::BTreeMap;

/// A fleet of so many sites with its log, and the counters of it.
fn counted(sites: usize) -> (Fleet, BTreeMap<String, Value>, Vec<String>) {
    let fleet = Fleet::of(sites);
    fleet.write("all.csv", &of_all(0..sites));
    let lines = fleet.lines(&["sites", "all.csv", "--counters", "counters.ndjson"], None);
    let counters = fleet.read("counters.ndjson").lines().map(str::to_owned).collect();
    (fleet, lines, counters)
}

fn of_file(fleet: &Fleet, lines: &[String]) -> (Option<i32>, Value) {
    fleet.write("tried.ndjson", &format!("{}\n", lines.join("\n")));
    fleet.json(&["sites", "--from-counters", "tried.ndjson"])
}

fn line_of(report: &Value, n: usize) -> &Value {
    report["devices"].as_array().unwrap().iter().find(|line| line["site"] == name(n)).unwrap()
}

/// Without its rows every device gets the answer that it got by them, from one file or several, in any order; no line has
/// a time of day.
#[test]
fn counters_say_what_the_rows_said() {
    let (fleet, wanted, lines) = counted(3);
    assert_eq!(lines.len(), 3 * 3, "a line a device and day");
    for line in &lines {
        let counted: Value = serde_json::from_str(line).unwrap();
        assert_eq!(counted["day"].as_str().unwrap().len(), "2026-11-16".len());
        assert!(!line.contains(":00:") && !line.contains("T0") && line.len() < 16_000, "{} bytes", line.len());
    }
    assert_eq!(fleet.lines(&["sites", "--from-counters", "counters.ndjson"], None), wanted);
    for seed in 0..6 {
        // cut in two files, each in an order of its own
        let mut parts = [Vec::new(), Vec::new()];
        for n in 0..lines.len() {
            let at = (n * (2 * seed + 5) + seed) % lines.len();
            parts[usize::from((n + seed) % 3 == 0)].push(lines[at].as_str());
        }
        let mut sorted: Vec<&str> = parts.concat();
        sorted.sort_unstable();
        sorted.dedup();
        if sorted.len() < lines.len() {
            continue; // not every step visits every line
        }
        fleet.write("a.ndjson", &parts[0].join("\n"));
        fleet.write("b.ndjson", &format!("\n{}\n", parts[1].join("\n\n")));
        assert_eq!(fleet.lines(&["sites", "--from-counters", "a.ndjson", "b.ndjson"], None), wanted, "{seed}");
    }
}

/// Counters decide nothing under other settings, another day or other flags.
#[test]
fn counters_of_another_question_are_refused() {
    let (fleet, _, lines) = counted(2);
    let says = |report: &Value, n: usize| line_of(report, n)["says"].as_str().unwrap_or_default().to_owned();
    fleet.write(&format!("sites/{}.yaml", name(1)), &site(1).replace("[258 V, -60 %]", "[257 V, -60 %]"));
    let (code, report) = of_file(&fleet, &lines);
    assert_eq!((code, line_of(&report, 0)["answer"].as_str()), (Some(2), Some("departs")));
    assert!(says(&report, 1).contains("under other settings, requirements or flags"), "{report}");
    fleet.write(&format!("sites/{}.yaml", name(1)), &site(1));
    for (flags, wanted) in [(&["--tolerance", "3 %"][..], "other settings"), (&["--functions", "volt-var"], "other settings")] {
        let (code, report) = fleet.json(&[&["sites", "--from-counters", "tried.ndjson"][..], flags].concat());
        assert!(code == Some(2) && says(&report, 0).contains(wanted), "{report}");
    }
    for (from, to, wanted) in [
        ("\"as-of\":\"2026-11-25\"", "\"as-of\":\"2026-11-24\"", "as of 2026-11-24"),
        ("\"program\":\"0", "\"program\":\"9", "by version 9"),
    ] {
        let lines: Vec<String> = lines.iter().map(|line| line.replace(from, to)).collect();
        assert!(says(&of_file(&fleet, &lines).1, 0).contains(wanted), "{to}");
    }
}

/// Each fault is told with its line and column, all of a file at once, and keeps no other device from being decided.
#[test]
fn hostile_counters_are_refused_with_their_place() {
    let (fleet, wanted, lines) = counted(2);
    let first = lines.iter().position(|line| line.contains(&name(0))).unwrap();
    let read = "\"read-ms\":86400000";
    let broken: [(&str, &str, &str); 9] = [
        (read, "\"read-ms\":-1", "from 0 to 86400000"),
        (read, "\"read-ms\":86400001", "from 0 to 86400000"),
        (read, "\"read-ms\":1e300", "milliseconds of one day"),
        (read, "\"read-ms\":99999999999999999999999", "milliseconds of one day"),
        (read, "\"read-ms\":1000", "more than the time that was read"),
        ("\"rows\":", "\"rowz\":", "unknown field `rowz`"),
        ("\"version\":1", "\"version\":2", "version 2"),
        ("\"day\":\"2026", "\"day\":\"2O26", "is no day"),
        ("{\"kind\"", "\"kind\"", "expected"),
    ];
    for (from, to, says) in broken {
        let mut lines = lines.clone();
        assert!(lines[first].contains(from), "{from}: {}", lines[first]);
        lines[first] = lines[first].replacen(from, to, 1);
        let (code, report) = of_file(&fleet, &lines);
        let told = report["not-read"][0].as_str().unwrap_or_default().to_owned();
        assert!(code == Some(2) && told.starts_with(&format!("tried.ndjson:{}:", first + 1)) && told.contains(says), "{to}: {told}");
        let column: usize = told.split(':').nth(2).unwrap().parse().unwrap();
        let at = lines[first].find(to).unwrap();
        assert!(column <= at + to.len() + 2 || says.contains("more than"), "{to}: column {column}, it stands at {at}");
        assert_eq!(line_of(&report, 1)["functions"], wanted[&name(1)]["functions"], "{to}");
    }
    // a line twice, and one that would make a day longer than it is
    let mut twice = lines.clone();
    twice.push(lines[first].clone());
    let (code, report) = of_file(&fleet, &twice);
    let says = |report: &Value| line_of(report, 0)["says"].as_str().unwrap_or_default().to_owned();
    assert!(code == Some(2) && says(&report).contains("stands twice"), "{report}");
    *twice.last_mut().unwrap() = lines[first].replacen("\"rows\":288", "\"rows\":287", 1);
    let (code, report) = of_file(&fleet, &twice);
    assert!(code == Some(2) && says(&report).contains("more under `read-ms` than one day has"), "{report}");
    // of no site that is named
    let (_, report) = of_file(&fleet, &lines.iter().map(|line| line.replace(&name(0), "nobody")).collect::<Vec<_>>());
    assert!(report["logs-without-site"][0] == "nobody" && line_of(&report, 0)["answer"] == "no-log", "{report}");
}

/// Where rows of a device come back, its counters would lack them: no file is kept.
#[test]
fn counters_of_half_a_log_are_not_kept() {
    let fleet = Fleet::of(2);
    let all = of_all(0..2);
    fleet.write("back.csv", &format!("{all}{}\n", all.lines().nth(1).unwrap()));
    let (code, report) = fleet.json(&["sites", "back.csv", "--counters", "counters.ndjson"]);
    assert!(code == Some(2) && report["not-read"][0].as_str().unwrap().contains("no counters were kept"), "{report}");
    assert!(!fleet.has("counters.ndjson"));
}
