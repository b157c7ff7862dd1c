//! The one page that a crew carries: short enough, with all that somebody has to act on; and a table with nothing but
//! its rows filled in gets the verdict of the whole table.

use crate::program;

use program::{DAY, asleft, root, with_columns};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Output;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";

/// One wrong value, each at a site that complies otherwise.
const ONE_FAULT: [(&str, &str, &str); 4] = [
    (SITE, "threshold: { value: 255 V", "threshold: { value: 258 V"),
    (SITE, "ramp-rate: 10 %/min", "ramp-rate: 16.67 %/min"),
    (SITE, "site-total: 5 kW", "site-total: 8 kW"),
    (SITE, "[[253 V, 100 %], [260 V, 20 %]]", "[[250 V, 100 %], [265 V, 20 %]]"),
];

fn at(width: u32, arguments: &[&str]) -> Output {
    with_columns(width, &[arguments, &["--as-of", DAY]].concat())
}

fn lines(output: &Output) -> usize {
    String::from_utf8_lossy(&output.stdout).lines().count()
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[test]
fn a_page_a_clean_answer_and_one_fault_are_short() {
    assert!(lines(&at(80, &["sheet", SITE])) <= 40, "{}", text(&at(80, &["sheet", SITE])));
    for width in [80, 100] {
        let clean = at(width, &["check", SITE]);
        assert!(clean.status.code() == Some(0) && lines(&clean) <= 8, "{}", text(&clean));
    }
    let folder = tempfile::tempdir().unwrap();
    for (site, right, wrong) in ONE_FAULT {
        let says = std::fs::read_to_string(root().join(site)).unwrap();
        assert!(says.contains(right), "{right}");
        let file = folder.path().join("larkspur-row-3.yaml");
        std::fs::write(&file, says.replace(right, wrong)).unwrap();
        let fault = at(100, &["check", file.to_str().unwrap()]);
        assert!(fault.status.code() == Some(1) && lines(&fault) <= 20, "{}", text(&fault));
        for says in ["\n  in  ", "\n  required  ", "\n  to do  ", "line "] {
            assert!(text(&fault).contains(says), "{says}: {}", text(&fault));
        }
    }
}

/// Every shipped site of which a sheet is printed.
fn sites() -> Vec<String> {
    let entries = std::fs::read_dir(root().join("tests/sites")).unwrap();
    let files = entries.map(|entry| format!("tests/sites/{}", entry.unwrap().file_name().to_string_lossy()));
    let mut sites: Vec<String> = files.filter(|file| asleft(&["sheet", file, "--as-of", DAY]).status.code() == Some(0)).collect();
    sites.sort();
    assert!(sites.len() >= 50, "{}", sites.len());
    sites
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_is_not_on_the_page_is_counted_and_stands_in_all_of_it() {
    for site in sites() {
        let json: Value = serde_json::from_slice(&asleft(&["sheet", &site, "--as-of", DAY, "--format", "json"]).stdout).unwrap();
        let (page, all) = (squeezed(&text(&at(160, &["sheet", &site]))), squeezed(&text(&at(160, &["sheet", &site, "--all"]))));
        let mut tasks: BTreeMap<&str, usize> = BTreeMap::new();
        for row in json["devices"].as_array().unwrap().iter().flat_map(|device| device["rows"].as_array().unwrap()) {
            let (function, setting) = row["title"].as_str().unwrap().split_once(": ").unwrap();
            assert!(all.contains(function) && all.contains(setting), "{site}: {}", row["title"]);
            if ["enter", "work-out"].contains(&row["task"].as_str().unwrap()) {
                assert!(page.contains(function) && page.contains(setting), "{site}: {}", row["title"]);
            }
            *tasks.entry(row["task"].as_str().unwrap()).or_default() += 1;
        }
        for (task, words) in [("type-test", "proved by the type test"), ("not-checked", "NOT CHECKED")] {
            if let Some(count) = tasks.get(task) {
                assert!(page.contains(&format!("{count} {words}")), "{site}: {count} {words}\n{page}");
            }
        }
        assert!(page.contains(&format!("asleft sheet {site} --all")), "{site}");
    }
}

/// What somebody writes down who does all that is asked; nothing where the region brings the value.
fn as_asked(setting: &str, required: &str) -> String {
    match setting {
        "date" => DAY.to_owned(),
        "role" => "licensed installer".to_owned(),
        "known-by" => "photo".to_owned(),
        _ if ["at ", "under ", "set by the region", "set by the network operator", "depends on"]
            .iter()
            .any(|range| required.starts_with(range)) =>
        {
            String::new()
        }
        _ => required.to_owned(),
    }
}

/// What `check` says of a site with these rows filled in.
fn judged(site: &str, rows: &[[String; 4]]) -> (Option<i32>, BTreeSet<String>) {
    let file = tempfile::NamedTempFile::with_suffix(".csv").unwrap();
    let mut table = csv::Writer::from_path(file.path()).unwrap();
    table.write_record(["device", "setting", "unit", "as found", "as left", "photo"]).unwrap();
    for [device, setting, required, unit] in rows {
        let left = as_asked(setting, required);
        let is_noted = ["date", "role", "known-by"].contains(&setting.as_str());
        let photo = if left.is_empty() || is_noted { "" } else { "1" };
        table.write_record([device.as_str(), setting, unit, "", &left, photo]).unwrap();
    }
    table.flush().unwrap();
    let output = asleft(&["check", site, "--filled", file.path().to_str().unwrap(), "--as-of", DAY, "--format", "json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let findings = json["sites"][0]["findings"].as_array().unwrap().iter();
    (output.status.code(), findings.map(|finding| format!("{} {} {}", finding["outcome"], finding["name"], finding["setting"])).collect())
}

#[test]
fn the_rows_of_the_page_are_enough_for_the_verdict_of_all() {
    let row = scraper::Selector::parse("tr[data-setting]").unwrap();
    let (mut shorter, mut complying) = (0, 0);
    for site in sites() {
        let rows = |more: &[&str]| -> Vec<[String; 4]> {
            let page = text(&asleft(&[&["sheet", &site, "--as-of", DAY, "--format", "html"][..], more].concat()));
            let page = scraper::Html::parse_document(&page);
            let told = page
                .select(&row)
                .map(|row| ["device", "setting", "required", "unit"].map(|name| row.attr(&format!("data-{name}")).unwrap().to_owned()));
            told.collect()
        };
        let (short, all) = (rows(&[]), rows(&["--all"]));
        shorter += usize::from(short.len() < all.len());
        let (by_short, by_all) = (judged(&site, &short), judged(&site, &all));
        assert_eq!(by_short, by_all, "{site}");
        complying += usize::from(by_short.0 == Some(0));
    }
    assert!(shorter >= 30 && complying >= 20, "{shorter} pages are shorter, {complying} sites comply");
}
