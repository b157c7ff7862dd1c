//! What cases show, by facts: most cases keep no whole answer, but a row in the table of their verb. `facts/check.txt`:
//!
//! ```text
//! case | exit | findings, each with its place | what it says, word for word
//! wrong-unit | 2 | cannot be used (value) 22:37 | `52 Hz` is a frequency; a voltage belongs here
//! ```
//!
//! The command and its files stand in `cases/check/wrong-unit/`. `ASLEFT_REWRITE=1` writes exits and findings anew; a
//! sentence that is not said any more is mended by hand.

use crate::{program, ran};

use program::root;
use ran::Ran;
use std::collections::BTreeMap;

/// A row: the exit, the findings, and what has to be said.
struct Facts {
    exit: String,
    findings: String,
    says: Vec<String>,
}

/// Between the parts of a row.
const BETWEEN: &str = " | ";
/// Where no finding is told.
const NO_FINDING: &str = "-";

/// The tables, by verb, and their rows by case.
fn tables() -> BTreeMap<String, BTreeMap<String, Facts>> {
    let mut tables = BTreeMap::new();
    for file in std::fs::read_dir(root().join("tests/facts")).unwrap().map(|entry| entry.unwrap().path()) {
        let text = std::fs::read_to_string(&file).unwrap();
        let rows = text.lines().skip(1).map(|line| {
            let parts: Vec<&str> = line.split(BETWEEN).collect();
            let [case, exit, findings, says @ ..] = &parts[..] else { panic!("{}: {line}", file.display()) };
            let says = says.iter().map(|says| (*says).to_owned()).collect();
            ((*case).to_owned(), Facts { exit: (*exit).to_owned(), findings: (*findings).to_owned(), says })
        });
        tables.insert(file.file_stem().unwrap().to_string_lossy().into_owned(), rows.collect());
    }
    tables
}

/// Each finding with the line and column of its place: `not proven (not-stated) 10:3`.
pub fn findings(text: &str) -> String {
    const OUTCOMES: [&str; 4] = ["does not comply (", "not proven (", "remark (", "cannot be used ("];
    let mut found: Vec<String> = Vec::new();
    for line in text.lines() {
        let place = || line.strip_prefix("  in  ")?.rsplit_once(", line ")?.1.split_once(", column ");
        if OUTCOMES.iter().any(|outcome| line.starts_with(outcome)) {
            found.extend(line.split_once("):").map(|(kind, _)| format!("{kind})")));
        } else if let (Some((line, column)), Some(last)) = (place(), found.last_mut()) {
            last.push_str(&format!(" {line}:{column}"));
        }
    }
    if found.is_empty() { NO_FINDING.to_owned() } else { found.join("; ") }
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is wrong with a row.
fn differences(row: &Facts, ran: &Ran) -> Vec<String> {
    let printed = format!("{}\n{}", ran.stdout, ran.stderr);
    let (found, flowing) = (findings(&printed), squeezed(&printed));
    let mut wrong = Vec::new();
    if row.exit != ran.exit() {
        wrong.push(format!("ends with {}, not with {}", ran.exit(), row.exit));
    }
    if row.findings != found {
        wrong.push(format!("finds\n  {found}\nand not\n  {}", row.findings));
    }
    wrong.extend(row.says.iter().filter(|says| !flowing.contains(*says)).map(|says| format!("does not say: {says}")));
    wrong
}

#[test]
fn every_case_has_the_facts_of_its_row() {
    let (mut tables, mut wrong, mut held) = (tables(), Vec::new(), 0);
    let rewrites = std::env::var_os("ASLEFT_REWRITE").is_some();
    for ran in ran::all().iter().filter(|ran| !ran.folder().join("printed").exists()) {
        let Some(row) = tables.get_mut(ran.verb()).and_then(|table| table.get_mut(ran.own_name())) else {
            wrong.push(format!("{}: neither a whole answer (`printed`) nor a row in tests/facts/{}.txt", ran.name, ran.verb()));
            continue;
        };
        held += 1;
        if rewrites {
            (row.exit, row.findings) = (ran.exit(), findings(&format!("{}\n{}", ran.stdout, ran.stderr)));
        }
        let differs = differences(row, ran);
        if !differs.is_empty() {
            wrong.push(format!("{}\n{}\nprints now:\n{}", ran.name, differs.join("\n"), ran.printed()));
        }
    }
    if rewrites {
        write(&tables);
    }
    let rows: usize = tables.values().map(BTreeMap::len).sum();
    assert!(wrong.is_empty(), "{} cases\n{}", wrong.len(), wrong.join("\n\n"));
    assert_eq!(rows, held, "a row without its case, or with a whole answer beside it");
}

fn write(tables: &BTreeMap<String, BTreeMap<String, Facts>>) {
    for (verb, rows) in tables {
        let mut text = String::from("case | exit | findings, each with its place | what it says\n");
        for (case, row) in rows {
            let parts = [case, &row.exit, &row.findings].into_iter().chain(&row.says);
            text.push_str(&format!("{}\n", parts.cloned().collect::<Vec<_>>().join(BETWEEN)));
        }
        std::fs::write(root().join(format!("tests/facts/{verb}.txt")), text).unwrap();
    }
}

/// A whole answer is kept where it shows a verb; more of them than this are read by nobody.
#[test]
fn whole_answers_are_few() {
    let whole = ran::all().iter().filter(|ran| ran.folder().join("printed").exists()).count();
    assert!(whole < 250, "{whole} whole answers: give the newest ones a row in tests/facts");
    // each verb is still shown
    for ran in ran::all() {
        let is_shown = ran::all().iter().any(|other| other.verb() == ran.verb() && other.folder().join("printed").exists());
        assert!(is_shown, "no whole answer of {}", ran.verb());
    }
}
