//! Nothing that was handed in is lost on the way: rows and columns of a filled sheet, files of a folder.

use std::path::{Path, PathBuf};
use std::process::Command;

const SITE: &str = "tests/sites/larkspur-row-3.yaml";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Exit code, standard output, standard error.
fn asleft(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(root())
        .args(arguments)
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1")
        .env_remove("ASLEFT_PROFILES")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn check_sheet(site: &str, text: &str) -> (Option<i32>, String, String) {
    let file = tempfile::NamedTempFile::with_suffix(".csv").unwrap();
    std::fs::write(file.path(), text).unwrap();
    asleft(&["check", site, "--filled", file.path().to_str().unwrap(), "--as-of", "2026-11-25"])
}

/// A sheet of every value that the site's file states, and one more row that does not comply.
const HEADING: &str = "device,setting,as found,as left,photo\n";
const RIGHT: &str = "inverter-1,region-selected,,australia-a,\n\
                     inverter-1,known-by,,display,\n\
                     inverter-1,sustained-overvoltage/threshold,,255 V,4\n\
                     inverter-1,reconnection/ramp-rate,,10 %/min,\n\
                     inverter-1,volt-watt/state,,enabled,\n\
                     inverter-1,volt-var/state,,enabled,\n\
                     inverter-1,export-limit/state,,enabled,\n\
                     inverter-1,export-limit/site-total,,5 kW,\n";
const WRONG: &str = "inverter-1,overvoltage-1/threshold,,290 V,\n";

#[test]
fn the_plain_sheet_is_read_and_counted() {
    let (code, _, messages) = check_sheet(SITE, &format!("{HEADING}{RIGHT}"));
    assert_eq!(code, Some(0), "{messages}");
    assert!(messages.contains(": 8 rows read, 8 with a value"), "{messages}");
    let (code, _, messages) = check_sheet(SITE, &format!("{HEADING}{RIGHT}{WRONG}inverter-1,overvoltage-2/threshold,,,\n"));
    assert_eq!(code, Some(1), "{messages}");
    assert!(messages.contains(": 10 rows read, 9 with a value"), "{messages}");
}

/// A quotation mark must never take the wrong row with it.
#[test]
fn no_quotation_mark_swallows_rows() {
    let last_of_right = "inverter-1,export-limit/site-total,,5 kW,\n";
    let before = RIGHT.strip_suffix(last_of_right).unwrap();
    for (text, name) in [
        // open to the end of the sheet
        (format!("{HEADING}{RIGHT}inverter-1,overvoltage-2/threshold,,,\"\n{WRONG}"), "quotation-mark"),
        (format!("{HEADING}{before}inverter-1,export-limit/site-total,,5 kW,\"4\n{WRONG}"), "quotation-mark"),
        // closed by the next mark, which opens a cell further down
        (
            format!("{HEADING}{before}inverter-1,export-limit/site-total,,5 kW,\"4\n{WRONG}inverter-1,role,,\"licensed installer\",\n"),
            "quotation-mark",
        ),
        // closed in another row, where a cell ends
        (
            format!("{HEADING}{before}inverter-1,export-limit/site-total,,5 kW,\"4\n{WRONG}inverter-1,role,,licensed,5\"\n"),
            "quotation-mark",
        ),
        // in a column that is not read
        (format!("device,setting,as found,as left,note\ninverter-1,region-selected,,australia-a,\"see\n{WRONG}\"\n"), "quotation-mark"),
    ] {
        let (code, said, messages) = check_sheet(SITE, &text);
        assert_eq!(code, Some(2), "{text}\n{said}{messages}");
        assert!(messages.contains(&format!("cannot be used ({name})")), "{text}\n{messages}");
    }
    // the same, where a carriage return ends a line: alone, or here and there
    let noted = format!("device,setting,as found,as left,note\ninverter-1,region-selected,,australia-a,\"see\n{WRONG}\"\n");
    let mixed = format!("device,setting,as found,as left,note\ninverter-1,region-selected,,australia-a,\"see\r{}\r\"\n", WRONG.trim_end());
    for text in [noted.replace('\n', "\r"), mixed, format!("\r\r{}", noted.replace('\n', "\r"))] {
        let (code, said, messages) = check_sheet(SITE, &text);
        assert!(code == Some(2) && messages.contains("cannot be used (quotation-mark)"), "{text:?}\n{said}{messages}");
    }
    // a quoted cell of several lines is nothing bad by itself
    let points = "inverter-1,volt-watt/points,,\"100 % at 253 V\n20 % at 260 V\",\n";
    assert_eq!(check_sheet(SITE, &format!("{HEADING}{RIGHT}{points}")).0, Some(0));
}

#[test]
fn rows_and_columns_have_the_sheets_shape() {
    for (text, name) in [
        // a decimal comma makes two cells of one
        (format!("{HEADING}{RIGHT}inverter-1,overvoltage-1/threshold,,265,9,\n"), "row-of-another-shape"),
        (format!("{HEADING}{RIGHT}inverter-1,overvoltage-1/threshold,,290 V,,,\n"), "row-of-another-shape"),
        (format!("{HEADING}{RIGHT}inverter-1,overvoltage-1/threshold\n"), "row-of-another-shape"),
        (format!("{HEADING}{RIGHT}inverter-1\n"), "row-of-another-shape"),
        (format!("device,setting,as found,as left,as left\n{RIGHT}"), "column-twice"),
        (format!("device,setting,as found,as left,AS LEFT\n{RIGHT}inverter-1,overvoltage-1/threshold,,265 V,290 V\n"), "column-twice"),
        (format!("device,setting,as found,as left,device\n{RIGHT}"), "column-twice"),
    ] {
        let (code, said, messages) = check_sheet(SITE, &text);
        assert_eq!(code, Some(2), "{text}\n{said}{messages}");
        assert!(messages.contains(&format!("cannot be used ({name})")), "{text}\n{messages}");
    }
    // rows of nothing at all are no rows
    assert_eq!(check_sheet(SITE, &format!("{HEADING}{RIGHT}\n,,,,\n,\n")).0, Some(0));
}

/// What a program that read the device could not tell stays open, whatever a sheet says beside it.
#[test]
fn a_sheet_closes_nothing_that_a_reading_left_open() {
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let captured =
        "      captured: { peer: a file, base: 40000, left-open: [\"volt-watt: model 706 has a scale that is not implemented\"] }\n";
    let open = text.replacen("      settings:\n", &format!("{captured}      settings:\n"), 1);
    assert_ne!(open, text);
    let site = tempfile::NamedTempFile::with_suffix(".yaml").unwrap();
    std::fs::write(site.path(), open).unwrap();
    let (code, said, _) = check_sheet(site.path().to_str().unwrap(), &format!("{HEADING}{RIGHT}"));
    assert_eq!(code, Some(1), "{said}");
    assert!(said.starts_with("NOT PROVEN"), "{said}");
}

/// Every file of a folder is judged, refused or named.
#[test]
fn every_file_of_a_folder_is_accounted_for() {
    let folder = tempfile::tempdir().unwrap();
    let good = std::fs::read_to_string(root().join(SITE)).unwrap();
    let bad = good.replace("overvoltage-1: { threshold: 265 V", "overvoltage-1: { threshold: 290 V");
    let put = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    let json = |text: &str| {
        let tree = settings_model::document::parse(settings_model::source::SourceId(0), text, &mut Vec::new()).unwrap();
        tree.to_json().to_string()
    };
    put("a.yaml", &good);
    put("B.YAML", &bad);
    put("g.YML", &bad);
    put("e.Json", &json(&bad));
    put("h.NDJSON", &format!("{}\n", json(&bad)));
    put("i.yaml.GZ", "not packed at all");
    put("map.yaml", "kind: column-map\n");
    put("notes.txt", "a note");
    put("no-ending", "a note");
    (0..5).for_each(|n| put(&format!("{n}.jpg"), ""));
    let path = folder.path().to_str().unwrap();
    let (code, said, messages) = asleft(&["check", path, "--as-of", "2026-11-25", "--format", "json"]);
    assert_eq!(code, Some(2), "{messages}");
    let answer: serde_json::Value = serde_json::from_str(&said).unwrap();
    let verdicts: Vec<&str> = answer["sites"].as_array().unwrap().iter().map(|site| site["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts.iter().filter(|verdict| **verdict == "does-not-comply").count(), 4, "{said}");
    assert_eq!(verdicts.len(), 6, "{said}");
    let left_out: Vec<&str> = answer["left-out"].as_array().unwrap().iter().map(|file| file.as_str().unwrap()).collect();
    assert_eq!(left_out.len(), 8, "{left_out:?}");
    assert!(left_out.iter().any(|file| file.ends_with("/notes.txt")), "{left_out:?}");
    let text = asleft(&["check", path, "--as-of", "2026-11-25"]).1;
    assert!(text.contains("8 files of the folders were left out: they are no sites"), "{text}");
    assert!(
        messages
            .replace("\n        ", " ")
            .contains("8 files are no sites and were left out: no-ending, 5 that end in .jpg, notes.txt, map.yaml"),
        "{messages}"
    );
}

/// Of two files that are one profile by their names neither decides unseen; endings in large letters are read.
#[test]
fn no_profile_decides_unseen() {
    let folder = tempfile::tempdir().unwrap();
    let overlays = folder.path().join("overlays/quillbrook");
    std::fs::create_dir_all(&overlays).unwrap();
    let shipped = std::fs::read_to_string(root().join("profiles/overlays/quillbrook/2.0.0.yaml")).unwrap();
    let lax = shipped.replace("255 V", "258 V");
    assert_ne!(lax, shipped);
    let profiles = folder.path().to_str().unwrap();
    let check = || asleft(&["check", SITE, "--as-of", "2026-11-25", "--profiles", profiles]);
    std::fs::write(overlays.join("2.0.0.YAML"), &lax).unwrap();
    assert_eq!(check().0, Some(1), "the profile of the folder is in force, whatever the letters of its ending");
    for twin in ["2.0.0.yml", "2.0.0.yaml", "2.0.0.json"] {
        std::fs::write(overlays.join(twin), &shipped).unwrap();
        let (code, said, messages) = check();
        assert_eq!(code, Some(2), "{twin}: {said}{messages}");
        assert!(messages.contains("the same profile"), "{twin}: {messages}");
        std::fs::remove_file(overlays.join(twin)).unwrap();
    }
    // all that lies where no profile is kept is told at once
    let misplaced = ["overlays/quillbrook/v2.yaml", "standard/x/y.yaml", "top.yml"];
    std::fs::create_dir_all(folder.path().join("standard/x")).unwrap();
    misplaced.iter().for_each(|path| std::fs::write(folder.path().join(path), &shipped).unwrap());
    let (code, _, messages) = check();
    assert!(code == Some(2) && misplaced.iter().all(|path| messages.contains(path)), "{messages}");
    assert!(messages.lines().all(|line| line.chars().count() <= 100), "{messages}");
    misplaced.iter().for_each(|path| std::fs::remove_file(folder.path().join(path)).unwrap());
    std::fs::write(overlays.join("2.0.0.yaml.bak"), &shipped).unwrap();
    let (_, _, messages) = check();
    assert!(
        messages.replace("\n        ", " ").contains("1 file is no profile and was left out: overlays/quillbrook/2.0.0.yaml.bak"),
        "{messages}"
    );
}
