//! One truth in every form: text, JSON, JSON lines, SARIF, lines, the record, its paper and the page say the
//! same verdict of a site, the same findings, and the same count of unverified and disputed figures; so do the
//! forms of `affected`. Over every site that is shipped, over those of an office whose licensed copy contradicts
//! a figure, and over drawn ones (`ASLEFT_SEED=7` draws others).

use crate::made;
#[cfg(feature = "page")]
use crate::served;

use crate::program;

use program::{DAY, asleft, root, text};
use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

/// What a form says of one site.
#[derive(Debug, PartialEq, Eq)]
struct Said {
    headline: String,
    /// Outcome and name of each finding, in order.
    findings: Vec<(String, String)>,
    unverified: u64,
    disputed: u64,
}

/// A headline without its reservations: `complies, 2 values not judged`.
fn without_reservations(headline: &str) -> &str {
    headline.split_once(", ").map_or(headline, |(verdict, _)| verdict)
}

/// Unverified and disputed figures, by the counts of each kind.
fn counts(figures: &Value) -> (u64, u64) {
    let of = |key: &str| figures[key].as_u64().unwrap();
    (of("single-source") + of("memory") + of("disputed"), of("disputed"))
}

fn of_json(site: &Value) -> Said {
    let findings = site["findings"].as_array().unwrap();
    let (unverified, disputed) = counts(&site["figures"]);
    Said {
        headline: text(&site["headline"]),
        findings: findings.iter().map(|finding| (text(&finding["outcome"]), text(&finding["name"]))).collect(),
        unverified,
        disputed,
    }
}

/// What is checked, and how.
struct Checked {
    arguments: Vec<String>,
    sites: Vec<Value>,
}

impl Checked {
    fn of(arguments: Vec<String>) -> Self {
        let mut checked = Self { arguments, sites: Vec::new() };
        let report: Value = serde_json::from_slice(&checked.check("json").stdout).unwrap();
        checked.sites = report["sites"].as_array().unwrap().clone();
        checked.agree_on_the_summary(&report["summary"]);
        checked
    }

    fn check(&self, format: &str) -> Output {
        let arguments: Vec<&str> = self.arguments.iter().map(String::as_str).collect();
        asleft(&[&["check", "--format", format, "--as-of", DAY][..], &arguments].concat())
    }

    /// The count of sites by unverified and disputed figures is the count of sites that say so.
    fn agree_on_the_summary(&self, summary: &Value) {
        let of = |phrases: &[&str]| {
            self.sites.iter().filter(|site| phrases.contains(&without_reservations(site["headline"].as_str().unwrap()))).count() as u64
        };
        let unverified = "agrees with unverified figures";
        assert_eq!(summary["on-unverified-figures"], of(&[unverified]));
        assert_eq!(summary["complies"], of(&["complies", unverified]));
        let broken = ["does not comply with unverified figures", "does not comply with disputed figures"];
        assert_eq!(summary["broken-by-unverified-figures"], of(&broken));
        assert_eq!(summary["does-not-comply"], of(&[&broken[..], &["does not comply"]].concat()));
    }

    fn agree(&self) {
        self.the_headline_is_of_the_findings();
        self.json_lines_agree();
        self.sarif_agrees();
        self.lines_agree();
        self.text_agrees();
    }

    /// What breaks only unverified figures says so, and no other; so do its findings, and their remedies ask first.
    fn the_headline_is_of_the_findings(&self) {
        for site in &self.sites {
            let failing = || site["findings"].as_array().unwrap().iter().filter(|finding| finding["outcome"] == "does-not-comply");
            let unsure = |basis: &Value| ["memory", "single-source", "disputed"].contains(&basis.as_str().unwrap_or_default());
            if failing().next().is_some() && site["verdict"] == "does-not-comply" {
                let says = text(&site["headline"]);
                let all_unsure = failing().all(|finding| unsure(&finding["basis"]));
                assert_eq!(without_reservations(&says) != "does not comply", all_unsure, "{says}: {site:#}");
            }
            for finding in failing() {
                let headline = text(&finding["headline"]);
                let says_so = headline.contains("unverified") || headline.contains("a licensed copy contradicts");
                assert_eq!(says_so, unsure(&finding["basis"]), "{finding:#}");
                let asks = finding["hint"].as_str().is_some_and(|hint| hint.starts_with("first ") && hint.contains("licensed copy"));
                // a rule may break beside the figure, so that the finding stands without it; what is to be set is that figure still
                let is_set_by =
                    || finding["because"].as_array().into_iter().flatten().map(|because| &because["basis"]).find(|basis| !basis.is_null());
                let sets = finding["basis"].is_null() && finding["name"] != "wrong-region" && is_set_by().is_some_and(unsure);
                assert_eq!(asks, unsure(&finding["basis"]) || sets, "{finding:#}");
            }
        }
    }

    fn json_lines_agree(&self) {
        let output = self.check("ndjson");
        let lines: Vec<Value> = String::from_utf8(output.stdout).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        assert_eq!(lines, self.sites);
    }

    fn sarif_agrees(&self) {
        let log: Value = serde_json::from_slice(&self.check("sarif").stdout).unwrap();
        let mut results = log["runs"][0]["results"].as_array().unwrap().iter().peekable();
        for site in &self.sites {
            let said = of_json(site);
            let mut findings = Vec::new();
            for finding in site["findings"].as_array().unwrap() {
                let result = results.next().unwrap_or_else(|| panic!("no result for {finding:#}"));
                let of = &result["properties"];
                findings.push((text(&of["outcome"]), text(&result["ruleId"])));
                assert_eq!((&of["basis"], &of["headline"]), (&finding["basis"], &site["headline"]), "{result:#}");
                assert_eq!(of["figures"], site["figures"], "{result:#}");
                let message = text(&result["message"]["text"]);
                let folded = finding["folded"].as_array().unwrap().iter().map(|folded| text(&folded["text"]));
                assert!([text(&finding["headline"])].into_iter().chain(folded).all(|says| message.contains(&says)), "{message}");
            }
            assert_eq!(findings, said.findings);
            let counted = results.next_if(|result| result["ruleId"] == "unverified-figures" && result["properties"]["site"] == site["id"]);
            let told = counted.map(|result| counts(&result["properties"]["figures"]));
            assert_eq!(told.unwrap_or_default(), (said.unverified, said.disputed), "{site:#}");
        }
        assert_eq!(results.next(), None);
    }

    fn lines_agree(&self) {
        let output = String::from_utf8(self.check("lines").stdout).unwrap();
        let mut lines = output.lines().peekable();
        for site in &self.sites {
            let said = of_json(site);
            for finding in site["findings"].as_array().unwrap() {
                let says = text(&finding["headline"]).replace(char::is_control, " ");
                let wanted = format!(": {}[{}]: ", text(&finding["outcome"]), text(&finding["name"]));
                let line = lines.next().unwrap_or_else(|| panic!("no line for {finding:#}"));
                assert!(line.contains(&wanted) && line.ends_with(&says), "{line}: {finding:#}");
            }
            let own = format!("{}: {}; ", site["id"].as_str().unwrap_or("the site"), said.headline);
            let told = lines.next_if(|line| line.contains("[unverified-figures]") && line.contains(&own));
            let told = told.map(|line| {
                let number = |before: &str| line.split(before).next().unwrap().rsplit([' ']).next().unwrap().parse::<u64>().unwrap();
                (number(" of "), if line.contains("disputed,") || line.ends_with("disputed") { number(" of them disputed") } else { 0 })
            });
            assert_eq!(told.unwrap_or_default(), (said.unverified, said.disputed), "{said:?}");
        }
        assert_eq!(lines.next(), None);
    }

    fn text_agrees(&self) {
        let output = self.check("text");
        let printed = String::from_utf8(output.stdout).unwrap();
        let mut said = of_text(&printed.replace("\n    ", " ")).into_iter();
        // of one site a line, those without findings are only counted
        let told = self.sites.iter().filter(|site| site["line"].is_null() || !site["findings"].as_array().unwrap().is_empty());
        for site in told {
            let mut wanted = of_json(site);
            // what keeps a file from being used is a message on standard error
            wanted.findings.retain(|(outcome, _)| outcome != "unusable");
            wanted.headline = wanted.headline.to_lowercase();
            assert_eq!(said.next(), Some(wanted), "{site:#}");
        }
        assert_eq!(said.next(), None);
    }
}

/// What the text says: a headline in capitals before the site's name, a count of figures, and the findings.
fn of_text(printed: &str) -> Vec<Said> {
    const HEADLINES: [&str; 7] = [
        "COMPLIES",
        "AGREES WITH UNVERIFIED FIGURES",
        "NOT PROVEN",
        "DOES NOT COMPLY",
        "DOES NOT COMPLY WITH UNVERIFIED FIGURES",
        "DOES NOT COMPLY WITH DISPUTED FIGURES",
        "COULD NOT TELL",
    ];
    let outcomes = [("does not comply (", "does-not-comply"), ("not proven (", "not-proven"), ("remark (", "remark")];
    let mut all: Vec<Said> = Vec::new();
    for line in printed.lines() {
        let headline = line.split("  ").next().unwrap_or_default();
        if line.contains("  ") && HEADLINES.contains(&without_reservations(headline)) {
            all.push(Said { headline: headline.to_lowercase(), findings: Vec::new(), unverified: 0, disputed: 0 });
        }
        let Some(site) = all.last_mut() else { continue };
        if let Some((_, parts)) = line.split_once(" figures: ").or_else(|| line.split_once(" figure: ")).filter(|_| line.starts_with("  "))
        {
            let before = |words: &str| parts.split_once(words).map_or(0, |(before, _)| last_number(before));
            (site.unverified, site.disputed) = (before(" UNVERIFIED"), before(" DISPUTED"));
        }
        for (phrase, outcome) in outcomes {
            if let Some(name) = line.strip_prefix(phrase).and_then(|rest| rest.split_once("): ")) {
                site.findings.push((outcome.to_owned(), name.0.to_owned()));
            }
        }
    }
    all
}

fn last_number(text: &str) -> u64 {
    text.rsplit([' ', '(']).next().unwrap().parse().unwrap()
}

/// Every file of a site that is kept below a folder of the tests.
fn sites_below(folders: &[&str]) -> Vec<String> {
    let mut folders: Vec<PathBuf> = folders.iter().map(|folder| root().join(folder)).collect();
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            if entry.is_dir() {
                folders.push(entry);
            } else if entry.extension().is_some_and(|extension| extension == "yaml") {
                let says = std::fs::read(&entry).unwrap();
                let says = String::from_utf8_lossy(&says);
                files.extend(says.lines().any(|line| line.trim() == "kind: site").then_some(entry));
            }
        }
    }
    files.sort();
    files.iter().map(|file| file.strip_prefix(root()).unwrap().display().to_string()).collect()
}

#[test]
fn every_form_says_the_same_of_every_shipped_site() {
    let files = sites_below(&["tests/sites", "tests/cases", "tests/records", "tests/register", "tests/exercises"]);
    let checked = Checked::of(files.clone());
    checked.agree();
    let has = |headline: &str| checked.sites.iter().any(|site| site["headline"] == headline);
    for headline in ["agrees with unverified figures", "does not comply with unverified figures", "not proven", "could not tell"] {
        assert!(has(headline), "no site `{headline}` among {}", files.len());
    }
    println!("{} sites", checked.sites.len());
    assert!(checked.sites.len() >= 120, "{}", checked.sites.len());
}

#[test]
fn every_form_says_the_same_where_a_licensed_copy_disagrees() {
    let mut disputed = 0;
    for read in ["disagrees", "whole", "one-missing"] {
        // the profiles, and what an office read of them
        let folder = tempfile::tempdir().unwrap();
        for from in ["profiles", read] {
            let copied = Command::new("cp").arg("-R").arg(root().join("tests/attested").join(from).join(".")).arg(folder.path()).status();
            assert!(copied.unwrap().success());
        }
        let mut arguments = sites_below(&["tests/attested"]);
        arguments.extend(["tests/attested/beck-end-4.ndjson", "--profiles"].map(str::to_owned));
        arguments.push(folder.path().display().to_string());
        let checked = Checked::of(arguments);
        checked.agree();
        disputed += checked.sites.iter().filter(|site| of_json(site).disputed > 0).count();
    }
    assert!(disputed > 0);
}

#[test]
fn every_form_says_the_same_of_drawn_sites() {
    let seed = std::env::var("ASLEFT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(11);
    let folder = tempfile::tempdir().unwrap();
    let (file, mut lines) = (folder.path().join("drawn.ndjson"), Vec::new());
    made::Fleet { sites: 400, faults: 0.6, seed }.write(&root().join("tests/sites"), &mut lines).unwrap();
    std::fs::write(&file, lines).unwrap();
    let checked = Checked::of(vec![file.display().to_string(), "--jobs".to_owned(), "1".to_owned()]);
    checked.agree();
    assert_eq!(checked.sites.len(), 400);
}

/// The record and its paper say of the settings what `check` says of the site.
#[test]
fn the_record_and_its_paper_say_the_same() {
    let files: Vec<String> = sites_below(&["tests/sites", "tests/records"]);
    let checked = Checked::of(files);
    let folder = tempfile::tempdir().unwrap();
    let mut records = 0;
    for site in &checked.sites {
        let file = text(&site["file"]);
        let output = asleft(&["close-out", &file, "--as-of", DAY, "--out", "-"]);
        if site["verdict"] == "could-not-tell" || !site["training"].is_null() || output.stdout.is_empty() {
            assert_eq!(output.status.code(), Some(2), "{file}");
            continue;
        }
        records += 1;
        let envelope: Value = serde_json::from_slice(&output.stdout).unwrap();
        let (record, said) = (&envelope["record"], of_json(site));
        let verdict = &record["verdict"];
        assert_eq!((&verdict["settings"], &verdict["figures"]), (&site["verdict"], &site["figures"]), "{file}");
        assert_eq!(verdict["broken-by"], site["broken-by"], "{file}");
        let of_settings: Vec<&Value> = record["findings"].as_array().unwrap().iter().collect();
        for finding in site["findings"].as_array().unwrap() {
            let same =
                |kept: &&&Value| ["name", "outcome", "headline", "basis", "folded", "hint"].iter().all(|key| kept[key] == finding[key]);
            assert!(of_settings.iter().find(same).is_some(), "{file}: {finding:#}");
        }
        let kept = folder.path().join("record.json");
        std::fs::write(&kept, &output.stdout).unwrap();
        let paper = asleft(&["report", kept.to_str().unwrap(), "--out", "-"]);
        let words = words_of(&String::from_utf8(paper.stdout).unwrap());
        assert!(
            words.contains(without_reservations(&said.headline)) || without_reservations(&said.headline) == "complies",
            "{file}: {}",
            said.headline
        );
        for finding in site["findings"].as_array().unwrap() {
            assert!(words.contains(&squeezed(&text(&finding["headline"]))), "{file}: {finding:#}");
        }
        let total: u64 =
            site["figures"].as_object().unwrap().iter().filter(|(key, _)| *key != "open").map(|(_, n)| n.as_u64().unwrap()).sum();
        let counted = format!("{} of the {total} figures are from memory", said.unverified);
        assert_eq!(words.contains(&counted), said.unverified > 0, "{file}: {counted}");
    }
    println!("{records} records");
    assert!(records >= 40, "{records}");
}

/// The text of a page, blanks squeezed, without the marks that keep quantities whole.
fn words_of(page: &str) -> String {
    squeezed(&scraper::Html::parse_document(page).root_element().text().collect::<String>())
}

fn squeezed(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}', '\u{2060}', '\u{200b}'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A file that is opened on the page is told in the words of `check`.
#[cfg(feature = "page")]
#[test]
fn the_page_says_the_same() {
    let files = sites_below(&["tests/sites", "tests/cases/check"]);
    let checked = Checked::of(files);
    let served = served::Served::start(&root(), &[]);
    for site in &checked.sites {
        let file = text(&site["file"]);
        let answer = served.open("site.yaml", &std::fs::read(root().join(&file)).unwrap());
        let says: Value = serde_json::from_str(&answer.body).unwrap();
        let (says, wanted) = (text(&says["says"]), of_json(site));
        // folded to its own width: joined again before it is read
        let joined = says.replace("\n    ", " ");
        let told = of_text(&joined).pop().unwrap_or_else(|| panic!("{file}: {says}"));
        let usable =
            |findings: &[(String, String)]| findings.iter().filter(|(outcome, _)| outcome != "unusable").cloned().collect::<Vec<_>>();
        assert_eq!(
            (told.headline, told.unverified, told.disputed),
            (wanted.headline.to_lowercase(), wanted.unverified, wanted.disputed),
            "{file}"
        );
        assert_eq!(told.findings, usable(&wanted.findings), "{file}");
    }
}

/// What a new version does to sites is the same in every form, with how its figures are known and why it could not be told.
#[test]
fn the_forms_of_affected_agree() {
    let pairs = [
        ["quillbrook/2.0.0", "quillbrook/3.0.0"],
        ["quillbrook/1.0.0", "quillbrook/2.0.0"],
        ["northfold/1.0.0", "northfold/2.0.0"],
        ["greywether/1.0.0", "greywether/2.0.0"],
        ["tarn-basin/1.0.0", "tarn-basin/1.1.0"],
    ];
    let mut work = 0;
    for [old, new] in pairs {
        let of = |format: &str| {
            let folders = ["tests/cases/affected/sites", "tests/sites"];
            let output = asleft(&[&["affected", old, new][..], &folders, &["--as-of", DAY, "--format", format]].concat());
            String::from_utf8(output.stdout).unwrap()
        };
        let report: Value = serde_json::from_str(&of("json")).unwrap();
        let sites = report["sites"].as_array().unwrap();
        let is_work = |site: &&Value| ["stranded", "no-longer-proven", "work-added"].contains(&site["effect"].as_str().unwrap());
        let rows: Vec<(&Value, &Value)> =
            sites.iter().filter(is_work).flat_map(|site| site["work"].as_array().unwrap().iter().map(move |one| (site, one))).collect();
        work += rows.len();
        let csv = of("csv");
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let heads = reader.headers().unwrap().clone();
        let read: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let cell = |row: &csv::StringRecord, head: &str| row[heads.iter().position(|one| one == head).unwrap()].to_owned();
        for (row, (site, one)) in read.iter().zip(&rows) {
            assert_eq!(cell(row, "site"), text(&site["site"]));
            assert_eq!(cell(row, "verdict"), text(&site["headline"]));
            assert_eq!(cell(row, "basis"), one["basis"].as_str().unwrap_or_default());
            let (unverified, disputed) = counts(&site["figures"]);
            let told = ["unverified figures", "disputed figures"].map(|head| cell(row, head).parse::<u64>().unwrap());
            assert_eq!(told, [unverified, disputed]);
        }
        let open: Vec<&Value> = sites.iter().filter(|site| site["effect"] == "could-not-tell").collect();
        assert_eq!(read.len(), rows.len() + open.len());
        let (printed, marked) = (of("text"), of("markdown"));
        let unsure = |basis: &Value| ["memory", "single-source", "disputed"].contains(&basis.as_str().unwrap_or_default());
        let unverified = rows.iter().filter(|(_, one)| unsure(&one["basis"])).count();
        let words = |one: &Value| match one["basis"].as_str().unwrap_or_default() {
            "memory" => "MEMORY".to_owned(),
            "single-source" => "one source".to_owned(),
            "disputed" => "DISPUTED".to_owned(),
            "site-approval" => "approval".to_owned(),
            other => other.to_owned(),
        };
        let wanted: Vec<String> = rows.iter().map(|(_, one)| format!("| {} |", words(one))).collect();
        let told: Vec<&str> = marked.lines().filter(|line| line.starts_with("| \u{2610}")).collect();
        assert!(told.len() == wanted.len() && told.iter().zip(&wanted).all(|(line, wanted)| line.ends_with(wanted)), "{marked}");
        for form in [&squeezed(&printed), &squeezed(&marked)] {
            let sites = report["on-unverified-figures"].as_u64().unwrap();
            assert_eq!(form.contains(&format!("UNVERIFIED: {sites} site")), sites > 0, "{form}");
        }
        for form in [&squeezed(&printed), &squeezed(&marked)] {
            assert_eq!(form.contains("that ask for this work"), unverified > 0, "{form}");
            assert_eq!(
                form.contains("agree with unverified figures only") || form.contains("agrees with unverified figures only"),
                report["on-unverified-figures"] != 0,
                "{form}"
            );
            for site in &open {
                let why = text(&site["reason"]);
                assert!(!why.is_empty() && form.contains(&text(&site["site"])), "{why}: {form}");
            }
        }
    }
    assert!(work > 0);
}
