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
    // none lies below zero: a log that lost its signs would look the same
    assert_eq!(volt_var(&json(log, &STATED)), is("departs", "likely"));
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
    for (heading, answer, wrong) in
        [("reactive power supplied [kvar]", is("behaves", "certain"), "absorbs"), ("Q absorbed [kvar]", is("departs", "likely"), supplies)]
    {
        let log = folder.path().join("log.csv");
        std::fs::write(&log, text.replace("Q [kvar]", heading)).unwrap();
        let log = log.to_str().unwrap();
        assert_eq!(volt_var(&json(log, &[place, at, accuracy, how])), answer, "{heading}");
        let (code, _, err) = run(SITE, log, &[place, at, of, wrong]);
        assert!(code == Some(2) && err.contains("heading"), "{err}");
    }
}

#[test]
fn the_exit_says_whether_all_that_was_asked_behaves() {
    let only = |functions: &'static str| STATED.iter().copied().chain(["--functions", functions]).collect::<Vec<_>>();
    assert_eq!(run(SITE, AS_SET, &only("volt-var")).0, Some(0));
    // what is named and not there is no pass, and is told
    let (code, out, _) = run(SITE, AS_SET, &only("volt-var,fixed-power-factor"));
    assert!(code == Some(1) && out.contains("Fixed power factor: no log can: it is neither set nor required"), "{out}");
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
        assert!(text.lines().count() <= 24, "{}", text.lines().count());
        // of one that departs, what was not shown is only named
        let open = text.split("Not shown (`--all`").nth(1).unwrap_or_default().to_lowercase().replace("\n   ", "");
        for function in report["functions"].as_array().unwrap() {
            let (title, answer) = (function["title"].as_str().unwrap(), function["answer"].as_str().unwrap().replace('-', " "));
            let first = title.split(' ').next().unwrap();
            let lines = text.lines().map(|line| line.trim_start_matches([' ', '-']));
            let has = match answer.as_str() {
                "not shown" if open.is_empty() => lines.into_iter().any(|line| line.starts_with(&format!("{title}: "))),
                "not shown" => open.contains(&title.to_lowercase()),
                _ => lines.into_iter().any(|line| line.starts_with(first) && line.contains(&answer)),
            };
            assert!(has, "{title}: {answer}\n{text}");
        }
    }
}

/// The rows of both logs, three days each, one after the other so many times.
fn days_of(logs: &[(&str, usize)]) -> String {
    let (mut text, mut first) = (String::new(), 16);
    for (log, times) in logs {
        let rows = std::fs::read_to_string(root().join(log)).unwrap();
        if text.is_empty() {
            text.push_str(rows.lines().next().unwrap());
        }
        for _ in 0..*times {
            for row in rows.lines().skip(1) {
                let day: usize = row[8..10].parse().unwrap();
                text.push_str(&format!("\n{}{:02}{}", &row[..8], day - 16 + first, &row[10..]));
            }
            first += 3;
        }
    }
    text + "\n"
}

/// A device that changed is told for the part that departs, with the day.
#[test]
fn a_change_within_a_log_is_told_with_its_day() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.csv");
    for (logs, says) in [([(AS_SET, 2), (OFF, 2)], "since 2026-11-22"), ([(OFF, 2), (AS_SET, 2)], "until 2026-11-21")] {
        std::fs::write(&log, days_of(&logs)).unwrap();
        let report = json(log.to_str().unwrap(), &STATED);
        assert_eq!(volt_var(&report), is("departs", "certain"));
        let changed = function(&report, "volt-var", "as-set")["changed"].as_str().unwrap().to_owned();
        assert!(changed.starts_with(says), "{changed}");
        assert!(run(SITE, log.to_str().unwrap(), &STATED).1.contains(says));
    }
    std::fs::write(&log, days_of(&[(OFF, 3)])).unwrap();
    assert!(function(&json(log.to_str().unwrap(), &STATED), "volt-var", "as-set")["changed"].is_null());
}

/// Settings are judged by the days on which they held: not by those before the site was altered, nor by that day itself.
#[test]
fn a_site_that_was_altered_is_judged_from_then_on() {
    let folder = tempfile::tempdir().unwrap();
    let (log, site) = (folder.path().join("log.csv"), folder.path().join("site.yaml"));
    std::fs::write(&log, days_of(&[(OFF, 1), (AS_SET, 2)])).unwrap();
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let altered = |date: &str| {
        std::fs::write(&site, text.replace("installed: 2026-04-09", &format!("installed: 2026-04-09, altered: {date}"))).unwrap();
        let more = [&STATED[..], &["--functions", "volt-var", "--format", "json"]].concat();
        run(site.to_str().unwrap(), log.to_str().unwrap(), &more)
    };
    let report: Value = serde_json::from_str(&altered("2026-11-18").1).unwrap();
    assert_eq!((volt_var(&report), report["log"]["rows"].as_u64()), (is("behaves", "certain"), Some(6 * 288)));
    assert!(report["parts"][0].as_str().unwrap().contains("altered on 2026-11-18"), "{}", report["parts"]);
    // on the last day of the three the device still was otherwise
    let report: Value = serde_json::from_str(&altered("2026-11-15").1).unwrap();
    assert_eq!(volt_var(&report).0, "departs");
    assert!(report["parts"].is_null());
    let (code, out, err) = altered("2026-11-24");
    assert!(code == Some(2) && out.is_empty() && err.contains("as-found") && err.contains("2026-11-24"), "{err}");
}

/// Two inverters in one log are a sum: judged like the one that they come to, and each by itself only by its own log.
#[test]
fn several_inverters_are_judged_as_their_sum() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap().replace("nameplate: 6 kVA", "nameplate: 3 kVA");
    let (head, device) = text.split_once("  inverter-1:").unwrap();
    let write = |second: &str| std::fs::write(&site, format!("{head}  inverter-1:{device}  inverter-2:{second}")).unwrap();
    let more = [&STATED[..], &["--together", "--format", "json"]].concat();
    let told = |log: &str| -> Value {
        let (_, out, err) = run(site.to_str().unwrap(), log, &more);
        serde_json::from_str(&out).unwrap_or_else(|error| panic!("{error}: {err}"))
    };
    write(device);
    for (log, answer) in [(AS_SET, is("behaves", "certain")), (OFF, is("departs", "certain"))] {
        let (report, alone) = (told(log), json(log, &STATED));
        assert_eq!(volt_var(&report), answer);
        // a sum has the bands of the one device of the same rating
        for key in ["minutes", "shown-over", "size", "days"] {
            let of = |report: &Value| function(report, "volt-var", "as-set")[key].clone();
            assert_eq!(of(&report), of(&alone), "{log}: {key}");
        }
        assert_eq!(function(&report, "trips", "as-set")["answer"], "not-judged");
        assert!(report["device"].as_str().unwrap().starts_with("2 inverters"), "{}", report["device"]);
    }
    // one of them has volt-var off, and is set so: half of the vars are a departure, as many as are asked are too many
    write(&device.replace("volt-var: { state: enabled", "volt-var: { state: off"));
    assert_eq!(volt_var(&told(AS_SET)).0, "departs");
    // whose vars are whose is not known where one answers to voltage and the other to power
    write(&device.replace(
        "volt-var: { state: enabled",
        "fixed-power-factor: { state: enabled, power-factor: 0.9, direction: absorbing }\n        volt-var: { state: off",
    ));
    assert_eq!(volt_var(&told(AS_SET)).0, "not-judged");
    let (code, _, err) = run(site.to_str().unwrap(), AS_SET, &STATED);
    assert!(code == Some(2) && err.contains("--together") && err.contains("inverter-2"), "{err}");
}
