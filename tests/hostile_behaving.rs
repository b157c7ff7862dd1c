//! `behaves` before logs that are no measurement of the device: none is a pass, nothing is certain, and what is refused
//! says how to mend it.

use crate::program;

use program::{asleft, root};
use serde_json::Value;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";
const AS_SET: &str = "tests/logs/does-as-set.csv";
const STATED: [&str; 8] =
    ["--measured-at", "terminals", "--q-positive", "supplies", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %", "--as-of", "2026-11-25"];

/// Time, volts, kilowatts, kilovars, available and exported kilowatts of a row.
type Cells = Vec<String>;

fn changed(heading: impl Fn(&str) -> String, row: impl Fn(usize, Cells) -> Cells) -> String {
    let text = std::fs::read_to_string(root().join(AS_SET)).unwrap();
    let mut lines = text.lines();
    let mut out = heading(lines.next().unwrap()) + "\n";
    for (n, line) in lines.enumerate() {
        out += &(row(n, line.split(',').map(str::to_owned).collect()).join(",") + "\n");
    }
    out
}

fn cells(row: impl Fn(usize, Cells) -> Cells) -> String {
    changed(str::to_owned, row)
}

fn with(mut cells: Cells, place: usize, value: impl Into<String>) -> Cells {
    cells[place] = value.into();
    cells
}

fn scaled(cells: Cells, places: &[usize], by: f64) -> Cells {
    places.iter().fold(cells, |cells, place| {
        let value: f64 = cells[*place].parse().unwrap();
        with(cells, *place, format!("{:.4}", value * by))
    })
}

/// What is wrong, the log, and what has to be said: of a refusal, or of what was not shown.
fn hostile() -> Vec<(&'static str, String, &'static str)> {
    let heading = || std::fs::read_to_string(root().join(AS_SET)).unwrap().lines().next().unwrap().to_owned() + "\n";
    let first = cells(|_, cells| cells).lines().take(2).collect::<Vec<_>>().join("\n") + "\n";
    let mut backwards: Vec<String> = cells(|_, cells| cells).lines().map(str::to_owned).collect();
    backwards[1..].reverse();
    vec![
        ("empty", String::new(), "empty"),
        ("a heading alone", heading(), "row"),
        ("one row", first, "row"),
        (
            "all blank",
            cells(|_, cells| vec![cells[0].clone(), String::new(), String::new(), String::new(), String::new(), String::new()]),
            "",
        ),
        ("nights only", cells(|_, cells| scaled(cells, &[2, 3, 4], 0.0)), ""),
        ("no numbers", cells(|_, cells| with(cells, 1, "NaN")), ""),
        ("infinite volts", cells(|_, cells| with(cells, 1, "inf")), ""),
        ("volts beyond anything", cells(|_, cells| with(cells, 1, "1e308")), ""),
        ("watts beyond anything", cells(|_, cells| with(cells, 2, "1e308")), ""),
        ("vars beyond anything", cells(|_, cells| with(cells, 3, "1e308")), ""),
        ("voltage twice", changed(|heading| heading.replace("P [kW]", "V_L1 [V]"), |_, cells| cells), "V_L1"),
        ("kilovolts under volts", cells(|_, cells| scaled(cells, &[1], 0.001)), "0.3 V"),
        ("watts under kilowatts", cells(|_, cells| scaled(cells, &[2, 3, 4, 5], 1_000.0)), "rating"),
        ("stuck", cells(|_, cells| with(with(with(cells, 1, "248.0"), 2, "3.0"), 3, "0.0")), "stuck"),
        ("time that runs back", backwards.join("\n") + "\n", "time"),
        ("a device of twice the rating", cells(|_, cells| scaled(cells, &[2, 3, 4, 5], 2.2)), "rating"),
    ]
}

fn written(log: &str, format: &str) -> (i32, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("log.csv");
    std::fs::write(&file, log).unwrap();
    let output = asleft(&[&["behaves", SITE, file.to_str().unwrap(), "--format", format], &STATED[..]].concat());
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().expect("no signal ends it"), text(output.stdout), text(output.stderr))
}

#[test]
fn no_nonsense_is_a_pass_or_certain() {
    for (wrong, log, says) in hostile() {
        let (code, out, err) = written(&log, "json");
        assert!(matches!(code, 1 | 2), "{wrong}: {code} {out}{err}");
        if code == 2 {
            assert!(out.is_empty() && err.contains(says) && err.lines().count() >= 2, "{wrong}: {err}");
            continue;
        }
        let report: Value = serde_json::from_str(&out).unwrap();
        for function in report["functions"].as_array().unwrap() {
            let told = (function["answer"].as_str().unwrap(), function["sure"].as_str());
            assert!(!matches!(told, ("behaves", _) | (_, Some("certain"))), "{wrong}: {function}");
        }
        let (_, text, _) = written(&log, "text");
        assert!(text.contains(says), "{wrong}: {text}");
        assert!(!text.contains("NaN") && !text.contains("inf "), "{wrong}: {text}");
    }
}

/// A log that lost its signs looks like reversed ones: that is only likely, and said.
#[test]
fn vars_without_a_sign_make_nothing_certain() {
    let log = cells(|_, cells| {
        let vars = cells[3].trim_start_matches('-').to_owned();
        with(cells, 3, vars)
    });
    let report: Value = serde_json::from_str(&written(&log, "json").1).unwrap();
    let volt_var = report["functions"].as_array().unwrap().iter().find(|of| of["function"] == "volt-var").unwrap();
    assert_eq!((volt_var["answer"].as_str(), volt_var["sure"].as_str()), (Some("departs"), Some("likely")), "{volt_var}");
    assert!(volt_var["rests-on"].to_string().contains("sign"), "{volt_var}");
}
