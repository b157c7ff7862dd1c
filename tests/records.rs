//! The records that are kept below `tests/records`: the program writes them byte for byte, and never half
//! of one. `ASLEFT_REWRITE=1` writes them anew.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const SITES: [&str; 2] = ["wattle-bend-6", "mangle-lane-11"];
const AS_OF: &str = "2026-11-25";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env_remove("ASLEFT_PROFILES").env("NO_COLOR", "1").stdin(Stdio::null());
    command.args(arguments).output().unwrap()
}

fn close_out(site: &str, more: &[&str]) -> Output {
    let at = |name: &str| format!("tests/records/{site}/{name}");
    let given = [at("site.yaml"), at("commissioning.yaml"), at("photos")];
    let arguments = ["close-out", &given[0], "--commissioning", &given[1], "--photos", &given[2], "--as-of", AS_OF];
    asleft(&[&arguments[..], more].concat())
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn the_program_writes_the_kept_records() {
    for site in SITES {
        let output = close_out(site, &["--out", "-"]);
        let kept = root().join(format!("tests/records/{site}/close-out.json"));
        if std::env::var_os("ASLEFT_REWRITE").is_some() {
            std::fs::write(&kept, &output.stdout).unwrap();
        }
        assert!(std::fs::read(&kept).is_ok_and(|kept| kept == output.stdout), "{site}: ASLEFT_REWRITE=1");
        assert_eq!(output.status.code(), Some(i32::from(site != "wattle-bend-6")));
    }
}

#[test]
fn kept_records_fit_their_schema() {
    let schema = std::fs::read_to_string(root().join("schemas/close-out-record.schema.json")).unwrap();
    let checker = schema_check::Checker::new(serde_json::from_str(&schema).unwrap(), &[]).unwrap();
    for site in SITES {
        let kept = std::fs::read(root().join(format!("tests/records/{site}/close-out.json"))).unwrap();
        assert_eq!(checker.problems(&serde_json::from_slice(&kept).unwrap()), [], "{site}");
    }
    let schema = std::fs::read_to_string(root().join("schemas/test-sheet-report.schema.json")).unwrap();
    let checker = schema_check::Checker::new(serde_json::from_str(&schema).unwrap(), &[]).unwrap();
    for site in SITES {
        let (file, results) = (format!("tests/records/{site}/site.yaml"), format!("tests/records/{site}/commissioning.yaml"));
        for more in [&[][..], &["--results", &results]] {
            let printed = asleft(&[&["test-sheet", &file, "--format", "json"], more].concat()).stdout;
            assert_eq!(checker.problems(&serde_json::from_slice(&printed).unwrap()), [], "{site}");
        }
    }
}

/// A record that says something else is not written over.
#[test]
fn a_record_that_is_there_is_not_lost() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    std::fs::copy(root().join("tests/records/wattle-bend-6/site.yaml"), &site).unwrap();
    let site = site.to_str().unwrap();
    let record = folder.path().join("wattle-bend-6.close-out.json");
    let to = ["--out", record.to_str().unwrap()];
    let run = |more: &[&str]| asleft(&[&["close-out", site, "--as-of", AS_OF], &to[..], more].concat());
    assert_eq!(run(&[]).status.code(), Some(1), "nothing is shown without a commissioning file");
    let first = std::fs::read(&record).unwrap();
    assert_eq!(run(&[]).status.code(), Some(1), "the same again is the same");
    let another = ["--as-of", "2026-11-24"];
    let output = asleft(&[&["close-out", site], &another[..], &to[..]].concat());
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--replace"));
    assert_eq!(std::fs::read(&record).unwrap(), first);
    assert_eq!(asleft(&[&["close-out", site, "--replace"], &another[..], &to[..]].concat()).status.code(), Some(1));
    assert_ne!(std::fs::read(&record).unwrap(), first);
    // a folder of sites may hold records, too
    let checked = asleft(&["check", folder.path().to_str().unwrap(), "--as-of", AS_OF]);
    assert_eq!(checked.status.code(), Some(0), "{}", String::from_utf8_lossy(&checked.stderr));
    assert_eq!(names(folder.path()), ["site.yaml", "wattle-bend-6.close-out.json"]);
}

#[test]
fn a_dry_run_writes_nothing_and_says_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("record.json");
    let written = close_out("wattle-bend-6", &["--out", out.to_str().unwrap()]);
    let dry = close_out("wattle-bend-6", &["--dry-run"]);
    let before = |output: &Output| String::from_utf8_lossy(&output.stdout).split("\nRECORD").next().unwrap().to_owned();
    assert_eq!(before(&written), before(&dry));
    assert_eq!(names(folder.path()), ["record.json"]);
    assert!(!root().join("tests/records/wattle-bend-6/wattle-bend-6.close-out.json").exists());
}

/// Where it cannot be written, that is said, and nothing is left.
#[test]
fn a_record_that_cannot_be_written_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("no-such-folder/record.json");
    let output = close_out("wattle-bend-6", &["--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("no-such-folder"));
    assert_eq!(names(folder.path()), Vec::<String>::new());
}

/// Nothing of a record tells where its files lay, or where its profiles were read from.
#[test]
fn a_record_is_the_same_from_anywhere() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["site.yaml", "commissioning.yaml"] {
        std::fs::copy(root().join("tests/records/mangle-lane-11").join(name), folder.path().join(name)).unwrap();
    }
    let (profiles, photos) = (root().join("profiles"), root().join("tests/records/mangle-lane-11/photos"));
    let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(folder.path())
        .args(["close-out", "site.yaml", "--commissioning", "commissioning.yaml", "--as-of", AS_OF, "--out", "-", "--photos"])
        .arg(photos)
        .arg("--profiles")
        .arg(profiles)
        .output()
        .unwrap();
    assert_eq!(output.stdout, std::fs::read(root().join("tests/records/mangle-lane-11/close-out.json")).unwrap());
}

/// A blank commissioning file says nothing: it is refused until the day of the work is filled in, and
/// then nothing counts as done.
#[test]
fn a_blank_commissioning_file_shows_nothing() {
    for site in SITES {
        let file = format!("tests/records/{site}/site.yaml");
        let blank = String::from_utf8(asleft(&["test-sheet", &file, "--format", "commissioning"]).stdout).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("commissioning.yaml");
        std::fs::write(&path, &blank).unwrap();
        let judged =
            |path: &Path| asleft(&["test-sheet", &file, "--results", path.to_str().unwrap(), "--format", "json", "--as-of", AS_OF]);
        assert_eq!(judged(&path).status.code(), Some(2), "{site}");
        std::fs::write(&path, blank.replace("date: #", "date: 2026-10-06 #")).unwrap();
        let output = judged(&path);
        assert_eq!(output.status.code(), Some(1), "{site}: {}", String::from_utf8_lossy(&output.stderr));
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let results = answer["tests"].as_array().unwrap().iter().map(|test| test["result"].as_str().unwrap());
        assert!(results.clone().all(|result| ["not-done", "by-type-test"].contains(&result)), "{site}: {answer}");
        assert!(results.clone().any(|result| result == "not-done"));
    }
}

/// What a sheet filled by hand says is part of the record: it is judged by it again, and exported with it.
#[test]
fn a_filled_sheet_is_part_of_the_record() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (case, outcome) in [("filled-sheet", "does-not-comply"), ("filled-sheet-own-columns", "complies")] {
        let sheets = "tests/cases/check";
        let (sheet, columns) = (format!("{sheets}/filled-sheet/sheet.csv"), format!("{sheets}/filled-sheet-own-columns/columns.yaml"));
        let own = format!("{sheets}/filled-sheet-own-columns/sheet.csv");
        let filled: &[&str] = if case == "filled-sheet" { &["--filled", &sheet] } else { &["--filled", &own, "--columns", &columns] };
        let (record, register) = (at(&format!("{case}.json")), at(&format!("{case}.db")));
        let site = "tests/sites/larkspur-row-3.yaml";
        let made = asleft(&[&["close-out", site, "--as-of", AS_OF, "--out", &record], filled].concat());
        assert_eq!(made.status.code(), Some(1), "{}", String::from_utf8_lossy(&made.stderr));
        let json: serde_json::Value = serde_json::from_slice(&std::fs::read(&record).unwrap()).unwrap();
        assert_eq!(json["record"]["verdict"]["settings"], outcome);
        assert_eq!(asleft(&["verify", &record]).status.code(), Some(0));
        // the sheet is not beside the record any more, and the register holds what it said
        assert_eq!(asleft(&["register", "add", "--register", &register, &record]).status.code(), Some(0));
        let exported = asleft(&["register", "export", "--register", &register]).stdout;
        std::fs::write(at("sites.ndjson"), exported).unwrap();
        let checked = asleft(&["check", &at("sites.ndjson"), "--as-of", AS_OF]);
        assert_eq!(checked.status.code(), Some(i32::from(outcome != "complies")), "{}", String::from_utf8_lossy(&checked.stdout));
        // another sheet is another record
        let altered = String::from_utf8(std::fs::read(&record).unwrap()).unwrap().replacen(
            "\"sheet\":{\"name\":\"sheet",
            "\"sheet\":{\"name\":\"other",
            1,
        );
        std::fs::write(at("other.json"), altered).unwrap();
        assert_eq!(asleft(&["verify", &at("other.json")]).status.code(), Some(1));
    }
}

/// A record of the register, altered, with a hash that fits, and no seal.
fn made_anew(alter: impl Fn(&mut serde_json::Value)) -> tempfile::NamedTempFile {
    let bytes = std::fs::read(root().join("tests/register/records/osier-bank-27.json")).unwrap();
    let mut record = serde_json::to_value(record::Envelope::read(&bytes).unwrap().record().unwrap()).unwrap();
    alter(&mut record);
    let file = tempfile::NamedTempFile::with_suffix(".json").unwrap();
    let record: record::Record = serde_json::from_value(record).unwrap();
    std::fs::write(file.path(), record::Envelope::around(&record).bytes()).unwrap();
    file
}

/// What another version of the program says in other words is not called altered, and not called in order either:
/// nobody can tell from words alone. What differs in a fact is altered.
#[test]
fn other_words_are_told_from_other_facts() {
    type Alter = fn(&mut serde_json::Value);
    let verify = |alter: Alter| {
        let file = made_anew(alter);
        let output = asleft(&["verify", file.path().to_str().unwrap()]);
        let says = String::from_utf8(output.stdout).unwrap();
        (output.status.code().unwrap(), says.split("  ").next().unwrap().to_owned(), says.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let words: [Alter; 8] = [
        |record| record["cautions"][0] = "Mind what you do.".into(),
        |record| record["findings"][0]["headline"] = "inverter-1: some values are those of the region alone".into(),
        |record| record["devices"][0]["settings"][2]["title"] = "Some setting".into(),
        |record| record["devices"][0]["settings"][2]["required"] = "by the region".into(),
        |record| record["tests"][2]["steps"][0] = "Read the power twice.".into(),
        |record| record["tests"][2]["title"] = "Ramp".into(),
        |record| record["missing"][0]["mend"] = "write it into the file".into(),
        |record| record["not-planned"] = serde_json::json!(["the loss of the sensor: nobody says within what time"]),
    ];
    for alter in words {
        let (code, head, says) = verify(alter);
        assert_eq!((code, head.as_str()), (2, "COULD NOT TELL"), "{says}");
        assert!(says.contains("the same facts in other words"), "{says}");
    }
    let facts: [Alter; 10] = [
        |record| record["verdict"]["headline"] = "complies".into(),
        |record| record["given"]["site"]["name"] = "other.yaml".into(),
        |record| record["findings"][0]["name"] = "too-high".into(),
        |record| record["findings"][0]["outcome"] = "remark".into(),
        |record| _ = record["findings"].as_array_mut().unwrap().pop(),
        |record| record["tests"][0]["result"] = "passed".into(),
        |record| record["tests"][0]["expected"][0]["says"] = "at most 9 s".into(),
        |record| _ = record["missing"].as_array_mut().unwrap().pop(),
        |record| record["devices"][0]["settings"][2]["required"] = "263 V".into(),
        |record| record["devices"][0]["settings"][2]["setting"] = "overvoltage-2/threshold".into(),
    ];
    for alter in facts {
        let (code, head, says) = verify(alter);
        assert_eq!((code, head.as_str()), (1, "ALTERED"), "{says}");
    }
}

/// A register holds the words of its records too: where only they differ, another version wrote them. It holds no facts
/// that do not come out again.
#[test]
fn what_a_register_holds_may_be_worded_otherwise() {
    let folder = tempfile::tempdir().unwrap();
    let verified = |name: &str, file: &Path| {
        let (file, register) = (file.to_str().unwrap(), folder.path().join(name));
        let register = register.to_str().unwrap();
        assert_eq!(asleft(&["register", "add", file, "--register", register]).status.code(), Some(0), "{name}");
        let output = asleft(&["verify", file, "--register", register]);
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    let words = made_anew(|record| record["cautions"][0] = "Mind what you do.".into());
    let (code, says) = verified("words.db", words.path());
    assert!(code == Some(0) && says.starts_with("UNALTERED") && says.contains("Mind what you do."), "{says}");
    let facts = made_anew(|record| record["devices"][0]["settings"][2]["required"] = "263 V".into());
    let (code, says) = verified("facts.db", facts.path());
    assert!(code == Some(1) && says.starts_with("ALTERED"), "{says}");
}
