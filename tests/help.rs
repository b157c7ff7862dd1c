//! Help: every verb in one group, every example works as it is pasted.

use crate::program;

use program::{asleft, root, with_columns};
use std::path::Path;
use std::process::{Command, Stdio};

fn verbs() -> Vec<String> {
    let refusal = String::from_utf8(asleft(&["man", "quadrature"]).stderr).unwrap();
    let list = refusal.split_once("verbs: ").unwrap_or_else(|| panic!("{refusal}")).1;
    list.split(',').map(|verb| verb.trim().to_owned()).filter(|verb| verb != "help").collect()
}

#[test]
fn every_verb_stands_in_one_group() {
    let help = String::from_utf8(with_columns(80, &["help"]).stdout).unwrap();
    let mut listed: Vec<&str> = help
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   ") && !line.trim_start().starts_with('-'))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(listed[..5], ["new", "sheet", "check", "events", "close-out"], "{help}");
    assert!(help.lines().all(|line| line.chars().count() <= 80), "{help}");
    let mut verbs = verbs();
    listed.sort_unstable();
    verbs.sort_unstable();
    assert_eq!(listed, verbs, "{help}");
}

/// The examples of a verb, or of a verb within one.
fn examples(of: &[&str]) -> Vec<String> {
    let help = String::from_utf8(with_columns(100, &[&["help"], of].concat()).stdout).unwrap();
    let Some((_, text)) = help.split_once("Example:").or_else(|| help.split_once("Examples:")) else { return Vec::new() };
    let text = text.split("\n\n").next().unwrap();
    text.replace("\\\n", " ").lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

/// What a person has at hand before the first example: the rest is made by the examples themselves.
fn at_hand(folder: &Path) {
    for (from, to) in [("tests/logs/noon-creep.csv", "log.csv"), ("tests/sunspec/images/base-0.json", "registers.json")] {
        std::fs::copy(root().join(from), folder.join(to)).unwrap();
    }
}

#[test]
fn every_example_works_as_it_is_pasted() {
    // in the order of a person's work: some verbs need what others made
    let first = ["new", "sheet", "check", "close-out", "keys", "seal", "register"];
    let later: Vec<String> = verbs().into_iter().filter(|verb| !first.contains(&verb.as_str())).collect();
    let folder = tempfile::tempdir().unwrap();
    at_hand(folder.path());
    let program = Path::new(env!("CARGO_BIN_EXE_asleft")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    let in_order = first.iter().map(ToString::to_string).chain(later);
    let of_verbs = in_order.flat_map(|verb| {
        let own = examples(&[&verb]);
        assert!(!own.is_empty(), "no example: {verb}");
        let of_overlay = if verb == "new" { examples(&["new", "overlay"]) } else { Vec::new() };
        own.into_iter().chain(of_overlay).map(move |example| (verb.clone(), example))
    });
    let all: Vec<(String, String)> = of_verbs.collect();
    for (verb, example) in &all {
        if verb == "new" && example.contains("my-site.yaml") {
            assert_eq!(run(example, &path, folder.path()).0, Some(0), "{example}");
            // as it is left, so that the verbs that play a device have one
            std::fs::copy(root().join("tests/sites/larkspur-row-3.yaml"), folder.path().join("my-site.yaml")).unwrap();
        } else if verb == "page" {
            // serves until it is ended; `page_requests.rs` asks it
            assert_eq!(example, "asleft page my-site.yaml");
        } else {
            let (code, says) = run(example, &path, folder.path());
            assert!(matches!(code, Some(0 | 1)), "{example}: {code:?} {says}");
            fill_in(&folder.path().join("sheet.csv"));
        }
    }
}

/// A person fills in at least the day.
fn fill_in(sheet: &Path) {
    let Ok(text) = std::fs::read_to_string(sheet) else { return };
    std::fs::write(sheet, text.replace("date,date,,such as 2026-04-09,,,,", "date,date,,such as 2026-04-09,,,2026-04-09,")).unwrap();
}

/// How an example ends in a shell, and what it complains of.
fn run(example: &str, path: &str, folder: &Path) -> (Option<i32>, String) {
    let mut shell = Command::new("sh");
    shell.args(["-c", example]).current_dir(folder).env("PATH", path).env("NO_COLOR", "1").env("COLUMNS", "100");
    let output = shell.env_remove("ASLEFT_PROFILES").env_remove("ASLEFT_REGISTER").stdin(Stdio::null()).output().unwrap();
    let says = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), says)
}
