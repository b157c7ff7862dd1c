//! `behaves --fleet` against itself, against `behaves` of each site by itself, and against what was put in: invented sites
//! that all have one of two logs (`logs/behaviour.py`).

use crate::program::root;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const STATED: [&str; 8] =
    ["--measured-at", "terminals", "--q-positive", "supplies", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %", "--as-of", "2026-11-25"];
/// Every fifth device has its volt-var off; so many sites.
const SITES: usize = 24;

/// The name of a site.
pub fn name(n: usize) -> String {
    format!("orchard-{n:02}")
}

fn is_off(n: usize) -> bool {
    n.is_multiple_of(5)
}

/// The text of a site.
pub fn site(n: usize) -> String {
    let text = std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap();
    let crew = format!("site: {}\nanswerable: {{ crew: {} }}", name(n), if n.is_multiple_of(3) { "east 1" } else { "west 1" });
    let model = "    source: solar\n    model: Sedge 6S\n    firmware: \"1.0\"";
    text.replace("site: larkspur-row-3", &crew).replace("    source: solar", model)
}

fn log_of(n: usize) -> String {
    let file = if is_off(n) { "volt-var-off.csv" } else { "does-as-set.csv" };
    std::fs::read_to_string(root().join("tests/logs").join(file)).unwrap()
}

/// All logs in one, with a column `site`.
pub fn of_all(sites: impl Iterator<Item = usize>) -> String {
    let mut all = String::new();
    for n in sites {
        let log = log_of(n);
        let mut lines = log.lines();
        let heading = lines.next().unwrap();
        if all.is_empty() {
            all = format!("site,{heading}\n");
        }
        lines.for_each(|line| all.push_str(&format!("{},{line}\n", name(n))));
    }
    all
}

/// A folder of sites, and what is beside it.
pub struct Fleet(tempfile::TempDir);

impl Fleet {
    pub fn of(sites: usize) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("sites")).unwrap();
        (0..sites).for_each(|n| std::fs::write(folder.path().join(format!("sites/{}.yaml", name(n))), site(n)).unwrap());
        Self(folder)
    }

    pub fn write(&self, file: &str, text: &str) {
        let path = self.0.path().join(file);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    pub fn read(&self, file: &str) -> String {
        std::fs::read_to_string(self.0.path().join(file)).unwrap()
    }

    pub fn has(&self, file: &str) -> bool {
        self.path(file).exists()
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.0.path().join(file)
    }

    fn asleft(&self, arguments: &[&str], input: Option<&str>) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
        command.current_dir(self.0.path()).args(["behaves", "--fleet"]).args(arguments).args(STATED);
        command.env("COLUMNS", "80").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES");
        let Some(input) = input else { return command.stdin(Stdio::null()).output().unwrap() };
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    }

    pub fn json(&self, arguments: &[&str]) -> (Option<i32>, Value) {
        let output = self.asleft(&[arguments, &["--format", "json"]].concat(), None);
        let said = String::from_utf8_lossy(&output.stderr);
        (output.status.code(), serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {said}")))
    }

    /// Each device's line, by site, without what names its files.
    pub fn lines(&self, arguments: &[&str], input: Option<&str>) -> BTreeMap<String, Value> {
        let output = self.asleft(&[arguments, &["--format", "ndjson"]].concat(), input);
        by_site(String::from_utf8(output.stdout).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()))
    }
}

fn by_site(lines: impl Iterator<Item = Value>) -> BTreeMap<String, Value> {
    let mut found = BTreeMap::new();
    for mut line in lines {
        line["log"] = Value::Null;
        let site = line["site"].as_str().unwrap().to_owned();
        assert!(found.insert(site.clone(), line).is_none(), "{site} twice");
    }
    found
}

fn answers(line: &Value) -> Vec<(String, String)> {
    let of = |function: &Value, key: &str| function[key].as_str().unwrap_or_default().to_owned();
    line["functions"].as_array().unwrap().iter().map(|function| (of(function, "function"), of(function, "answer"))).collect()
}

/// What is told of a device among many is what `behaves` says of it alone; those depart whose volt-var is off.
#[test]
fn a_device_among_many_gets_the_answer_that_it_gets_alone() {
    let fleet = Fleet::of(3);
    fleet.write("all.csv", &of_all(0..3));
    let lines = fleet.lines(&["sites", "all.csv"], None);
    for n in 0..3 {
        let (file, log) = (format!("sites/{}.yaml", name(n)), format!("{n}.csv"));
        fleet.write(&log, &log_of(n));
        let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
        let output = command.current_dir(fleet.0.path()).args(["behaves", &file, &log, "--format", "json"]).args(STATED).output().unwrap();
        let alone: Value = serde_json::from_slice(&output.stdout).unwrap();
        let line = &lines[&name(n)];
        assert_eq!(answers(&alone), answers(line));
        assert_eq!((&alone["answer"], &alone["log"]["rows"]), (&line["answer"], &line["rows"]));
        assert_eq!(line["answer"] == "departs", is_off(n));
    }
    let rank = &lines[&name(0)]["rank"];
    assert_eq!((&rank["order"], &rank["function"], &rank["certain"]), (&3.into(), &"volt-var".into(), &true.into()));
}

/// However the same rows lie, the same is told of each device.
#[test]
fn the_same_rows_say_the_same_however_they_lie() {
    let fleet = Fleet::of(4);
    let all = of_all(0..4);
    fleet.write("all.csv", &all);
    let wanted = fleet.lines(&["sites", "all.csv"], None);
    assert_eq!(wanted.len(), 4);
    assert_eq!(fleet.lines(&["sites", "-"], Some(&all)), wanted, "standard input");
    for n in 0..4 {
        fleet.write(&format!("by-name/{}.csv", name(n)), &log_of(n));
        // a log in two parts, one after the other
        let log = log_of(n);
        let lines: Vec<&str> = log.lines().collect();
        let part = |rows: &[&str]| format!("{}\n{}\n", lines[0], rows.join("\n"));
        fleet.write(&format!("by-folder/site={}/part-0.csv", name(n)), &part(&lines[1..400]));
        fleet.write(&format!("by-folder/site={}/part-1.csv", name(n)), &part(&lines[400..]));
        fleet.write(&format!("by-folder/site={}/.part-1.csv.crc", name(n)), "x");
    }
    assert_eq!(fleet.lines(&["sites", "by-name"], None), wanted, "a file a site");
    assert_eq!(fleet.lines(&["sites", "by-folder"], None), wanted, "a folder a site");
    fleet.write("sites.ndjson", "");
    // a device that a column names, and sites in another order
    let named = all.lines().enumerate().map(|(n, line)| format!("{},{line}\n", if n == 0 { "device" } else { "inverter-1" }));
    fleet.write("named.csv", &named.collect::<String>());
    assert_eq!(fleet.lines(&["sites", "named.csv"], None), wanted, "a column of devices");
    fleet.write("turned.csv", &of_all((0..4).rev()));
    assert_eq!(fleet.lines(&["sites", "turned.csv"], None), wanted, "the last site first");
}

/// Counts are those of what was put in, the groups add up, and of fewer than twenty devices no share is told.
#[test]
fn what_is_counted_is_what_was_put_in() {
    let fleet = Fleet::of(SITES);
    fleet.write("all.csv", &of_all((0..SITES).filter(|n| *n != 7).chain([99])));
    let (code, report) = fleet.json(&["sites", "all.csv"]);
    assert_eq!(code, Some(1));
    let (summary, off) = (&report["summary"], (0..SITES).filter(|n| is_off(*n)).count());
    let counts = ["sites", "devices", "departs", "behaves-as-far-as-shown", "no-log", "could-not-tell"]
        .map(|key| summary[key].as_u64().unwrap() as usize);
    assert_eq!(counts, [SITES, SITES, off, SITES - off - 1, 1, 0]);
    assert!(report["logs-without-site"][0].as_str().unwrap().starts_with("orchard-99 (all.csv:"), "{report}");
    let volt_var = report["by-function"].as_array().unwrap().iter().find(|of| of["function"] == "volt-var").unwrap();
    assert_eq!(["assessed", "behaves", "departs"].map(|key| volt_var[key].as_u64().unwrap() as usize), [SITES - 1, SITES - 1 - off, off]);
    // one in a hundred at the most, of those that were assessed
    assert_eq!(volt_var["expected"].as_f64().unwrap(), (SITES - 1) as f64 / 100.0);
    for group in ["by-crew", "by-network", "by-family"] {
        let groups = report[group].as_array().unwrap();
        let sum = |key: &str| groups.iter().map(|of| of[key].as_u64().unwrap() as usize).sum::<usize>();
        assert_eq!((sum("assessed"), sum("departs")), (SITES - 1, off), "{group}");
        for of in groups {
            let assessed = of["assessed"].as_u64().unwrap();
            let share = of["departs"].as_f64().unwrap() / assessed as f64 * 100.0;
            let told = of["departs-percent"].as_array().map(|ends| [0, 1].map(|n| ends[n].as_f64().unwrap()));
            assert_eq!(told.is_some(), assessed >= 20, "{of}");
            assert!(told.is_none_or(|[low, high]| low < share && share < high), "{of}");
        }
    }
    // those that depart first, in the order of their keys
    let devices = report["devices"].as_array().unwrap();
    assert!(devices[..off].iter().all(|line| line["answer"] == "departs") && devices[off..].iter().all(|line| line["rank"].is_null()));
    let text = String::from_utf8(fleet.asleft(&["sites", "all.csv"], None).stdout).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(text.lines().count() <= 56, "{}: {text}", text.lines().count());
    assert!(text.contains("NO LOG") && text.contains(&name(7)) && text.contains("NO SITE"), "{text}");
}

/// What is wrong with one site or its log is told with its place, and keeps no other from being judged.
#[test]
fn a_fault_is_told_with_its_place_and_stops_no_other() {
    let fleet = Fleet::of(4);
    let all = of_all(0..4);
    let first_of = |n: usize| all.lines().position(|line| line.starts_with(&name(n))).unwrap();
    let with = |at: usize, line: &str| -> String {
        all.lines().enumerate().map(|(n, old)| format!("{}\n", if n == at { line } else { old })).collect()
    };
    let at = first_of(1) + 10;
    let broken = all.lines().nth(at).unwrap().replacen(",243", ",24x", 1).replacen(",244", ",24x", 1);
    fleet.write("number.csv", &with(at, &broken));
    let (code, report) = fleet.json(&["sites", "number.csv"]);
    let line =
        |report: &Value, n: usize| report["devices"].as_array().unwrap().iter().find(|line| line["site"] == name(n)).unwrap().clone();
    assert_eq!(code, Some(2));
    assert_eq!(line(&report, 1)["answer"], "could-not-tell");
    assert!(line(&report, 1)["says"].as_str().unwrap().starts_with(&format!("number.csv:{}:", at + 1)), "{report}");
    assert!([0, 2, 3].iter().all(|n| line(&report, *n)["answer"] != "could-not-tell"), "{report}");

    // rows of a site that come back: what was said of it is taken back, and where they are
    fleet.write("back.csv", &format!("{all}{}\n", all.lines().nth(1).unwrap()));
    let (code, report) = fleet.json(&["sites", "back.csv"]);
    assert_eq!((code, line(&report, 0)["answer"].as_str()), (Some(2), Some("could-not-tell")));
    let says = line(&report, 0)["says"].as_str().unwrap().to_owned();
    assert!(says.contains(&format!("back.csv:{}", all.lines().count() + 1)) && says.contains("sort by site and time"), "{says}");

    // a site's file that is at fault, and two of one name
    fleet.write("more/broken.yaml", &site(0).replace("6 kVA", "6 V").replace(&name(0), "broken"));
    fleet.write("more/one.yaml", &site(1));
    fleet.write("more/two.yaml", &site(1));
    fleet.write("broken.csv", &all.replace(&name(0), "broken"));
    let (code, report) = fleet.json(&["more", "broken.csv"]);
    assert_eq!(code, Some(2));
    let broken = report["devices"].as_array().unwrap().iter().find(|line| line["site"] == "broken").unwrap();
    assert!(broken["says"].as_str().unwrap().starts_with("more/broken.yaml:"), "{broken}");
    assert!(report["not-read"][0].as_str().unwrap().contains("is the name of another site too"), "{report}");
}

/// A log of one of two inverters says nothing of the other: it is named, and the fleet is not fine.
#[test]
fn an_inverter_without_a_log_is_named() {
    let fleet = Fleet::of(0);
    let site = site(1);
    let first = site.find("  inverter-1:").unwrap();
    fleet.write("sites/one.yaml", &format!("{site}{}", site[first..].replace("inverter-1", "inverter-2")));
    let log = of_all(1..2);
    let of_first = log.lines().enumerate().map(|(n, line)| format!("{},{line}\n", if n == 0 { "device" } else { "inverter-1" }));
    fleet.write("first.csv", &of_first.collect::<String>());
    let (code, report) = fleet.json(&["sites", "first.csv", "--functions", "volt-var"]);
    let told: Vec<[&str; 2]> =
        report["devices"].as_array().unwrap().iter().map(|line| ["device", "answer"].map(|key| line[key].as_str().unwrap())).collect();
    assert_eq!((code, told), (Some(1), vec![["inverter-2", "no-log"], ["inverter-1", "behaves"]]));
}

#[test]
fn a_question_that_cannot_be_put_is_refused() {
    let fleet = Fleet::of(1);
    fleet.write("all.csv", &of_all(0..1));
    fleet.write("empty/readme.md", "");
    for (arguments, says) in [
        (&["sites", "all.csv", "--functions", "volt-vra"][..], "volt-vra"),
        (&["-", "-"], "standard input"),
        (&["sites", "empty"], "no logs in this folder"),
        (&["empty", "all.csv"], "no site files"),
        (&["sites", "nowhere.csv"], "nowhere.csv"),
        (&["sites", "all.csv", "--svg", "a.svg"], "--svg"),
    ] {
        let output = fleet.asleft(arguments, None);
        let said =
            [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap().split_whitespace().collect::<Vec<_>>().join(" "));
        assert!(output.status.code() == Some(2) && said.iter().any(|said| said.contains(says)), "{arguments:?}: {said:?}");
    }
    // rows of nobody on standard input
    let output = fleet.asleft(&["sites", "-"], Some(&log_of(0)));
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.code() == Some(2) && said.contains("no column is `site`"), "{said}");
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    let several =
        command.current_dir(Path::new(fleet.0.path())).args(["behaves", "sites/orchard-00.yaml", "all.csv", "all.csv"]).output().unwrap();
    assert!(several.status.code() == Some(2) && String::from_utf8_lossy(&several.stderr).contains("--fleet"));
}
