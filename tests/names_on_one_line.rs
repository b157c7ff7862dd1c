//! A name that comes from outside stands on one line, whatever is in it: with a line break in it, a file could put a
//! verdict of its own before a reader's eyes.
#![cfg(unix)]

use crate::measured;

use measured::{asleft, root, says};
use std::path::{Path, PathBuf};

/// What a name begins with.
const BEGINNING: &str = "z\nCOMPLIES  all sites\n";

fn named(ending: &str) -> String {
    format!("{BEGINNING}{ending}")
}

/// Every verb that names a file, over files whose names hold a verdict.
#[test]
fn no_file_makes_a_line_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let from = |path: &str| root().join("tests").join(path);
    for (path, ending) in [
        ("sites/larkspur-row-3.yaml", ".yaml"),
        ("sites/fencepost-lane-9.yaml", "cables.yaml"),
        ("cases/check/filled-sheet/sheet.csv", ".csv"),
        ("logs/sag-11.5s.csv", "log.csv"),
        ("sunspec/images/base-0.json", "image.json"),
        ("records/wattle-bend-6/close-out.json", "record.json"),
        ("../profiles/scenarios/noon-creep.yaml", "drill.yaml"),
    ] {
        std::fs::copy(from(path), folder.path().join(named(ending))).unwrap();
    }
    std::fs::create_dir_all(folder.path().join(named("sites"))).unwrap();
    std::fs::copy(from("sites/larkspur-row-3.yaml"), folder.path().join(named("sites/a.yaml"))).unwrap();
    std::fs::write(folder.path().join(named("sites/note.txt")), "a note").unwrap();
    let verbs: Vec<Vec<&str>> = [
        "check .yaml",
        "check .yaml --filled .csv",
        "check sites",
        "check missing.yaml",
        "sheet .yaml",
        "decode image.json",
        "decode image.json --judge .yaml",
        "test-sheet .yaml",
        "close-out .yaml --out made.json",
        "report made.json --out made.html",
        "report made.json --out made.html",
        "identify .yaml",
        "diff .yaml cables.yaml",
        "lint .yaml",
        "affected quillbrook/2.0.0 quillbrook/3.0.0 sites",
        "pin .yaml",
        "pin .yaml --write",
        "curve .yaml --of volt-watt --svg made.svg",
        "rise cables.yaml",
        "rise .yaml",
        "events .yaml log.csv --svg log.svg",
        "events .yaml .csv",
        "scenario .yaml drill.yaml --svg drill.svg",
        "trip-map .yaml --svg map.svg",
        "exercise new quillbrook/3.0.0 --students 1 --seed 7 --out class --key key.yaml",
        "exercise mark key.yaml class",
        "exercise mark key.yaml sites",
        "keys new --out office.key",
        "keys show office.key",
        "seal record.json --key office.key",
        "sign-profile drill.yaml --key office.key",
        "verify record.json",
        "verify record.json --key office.key.pub",
        "register add --register office.db record.json",
        "register add --register .yaml record.json",
        "register list --register office.db",
        "register verify --register office.db",
        "register show 9 --register office.db",
        "register backup --register office.db copy.db",
        "register export --register office.db --columns .yaml",
        "due --register office.db",
        "attest check .yaml",
        "page missing.yaml",
        "check .yaml --require-signed record.json",
        "revision-check quillbrook/2.0.0 quillbrook/3.0.0 --examples examples",
    ]
    .iter()
    .map(|line| line.split(' ').collect())
    .collect();
    let is_name = |word: &str| word.contains('.') && !word.contains('/') || ["sites", "class", "examples"].contains(&word);
    let mut wrong = Vec::new();
    for verb in &verbs {
        let words: Vec<String> = verb.iter().map(|word| if is_name(word) { named(word) } else { (*word).to_owned() }).collect();
        let ended = asleft(folder.path(), &words.iter().map(String::as_str).collect::<Vec<_>>());
        let said = says(&ended);
        if said.contains("panicked") || said.lines().any(|line| line.starts_with("COMPLIES  all sites")) {
            wrong.push(format!("{verb:?}: {said:.400}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {}\n{}", wrong.len(), verbs.len(), wrong.join("\n\n"));
}

/// One room names paths; whoever prints one as it is goes round it.
#[test]
fn one_room_names_paths() {
    fn below(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            match entry.path() {
                path if path.is_dir() => below(&path, found),
                path => found.push(path),
            }
        }
    }
    let mut files = Vec::new();
    below(&root().join("crates/cli/src"), &mut files);
    let as_it_is = |path: &PathBuf| std::fs::read_to_string(path).unwrap().contains(".display()");
    let found: Vec<&PathBuf> = files.iter().filter(|path| as_it_is(path) && !path.ends_with("shown.rs")).collect();
    assert!(files.len() > 100 && found.is_empty(), "`shown::path` names a path: {found:?}");
}
