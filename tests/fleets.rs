//! Fleets: what is counted is what was put in, however the sites come and however many cores judge them.

use crate::made;

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

const SITES: usize = 4_000;

struct Made {
    folder: tempfile::TempDir,
    expected: Value,
}

impl Made {
    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

/// One fleet for all tests: 7 MB, more than one block.
fn fleet() -> &'static Made {
    static FLEET: OnceLock<Made> = OnceLock::new();
    FLEET.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let mut lines = Vec::new();
        let fleet = made::Fleet { sites: SITES, faults: 0.05, seed: 7 };
        let expected = fleet.write(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites"), &mut lines).unwrap();
        std::fs::write(folder.path().join("fleet.ndjson"), &lines).unwrap();
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        packed.write_all(&lines).unwrap();
        std::fs::write(folder.path().join("fleet.ndjson.gz"), packed.finish().unwrap()).unwrap();
        let packed = ruzstd::encoding::compress_to_vec(&lines[..], ruzstd::encoding::CompressionLevel::Fastest);
        std::fs::write(folder.path().join("fleet.ndjson.zst"), packed).unwrap();
        std::fs::write(folder.path().join("fleet.list"), format!("{}\n", folder.path().join("fleet.ndjson").display())).unwrap();
        Made { folder, expected: expected.to_json() }
    })
}

fn check(arguments: &[&str], input: Stdio) -> Output {
    Command::new(env!("CARGO_BIN_EXE_asleft"))
        .args(["check", "--as-of", made::DAY])
        .args(arguments)
        .env("COLUMNS", "100")
        .env_remove("ASLEFT_PROFILES")
        .stdin(input)
        .output()
        .unwrap()
}

/// The answer's counts, as the generator tells them.
fn counts(answer: &Value) -> Value {
    let without = |summary: &Value| {
        let mut summary = summary.clone();
        for unknown in ["on-unverified-figures", "broken-by-unverified-figures"] {
            summary.as_object_mut().unwrap().remove(unknown);
        }
        summary
    };
    let mut faults = answer["by-fault"].as_array().unwrap().clone();
    faults.sort_by_key(|fault| ["outcome", "name", "setting"].map(|key| fault[key].as_str().unwrap().to_owned()));
    let mut answerable = answer["answerable"].as_array().unwrap().clone();
    answerable.iter_mut().for_each(|one| one["summary"] = without(&one["summary"]));
    answerable.sort_by_key(|one| ["company", "branch", "crew"].map(|key| one[key].as_str().unwrap().to_owned()));
    serde_json::json!({ "as-of": answer["as-of"], "summary": without(&answer["summary"]), "by-fault": faults, "answerable": answerable })
}

#[test]
fn what_is_counted_is_what_was_put_in() {
    let fleet = fleet();
    let plain = fleet.file("fleet.ndjson");
    let output = check(&[plain.to_str().unwrap(), "--format", "json", "--jobs", "1"], Stdio::null());
    assert_eq!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stderr));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(counts(&answer), fleet.expected);
    assert_eq!(answer["sites"].as_array().unwrap().len(), SITES);
}

#[test]
fn every_form_is_the_same_bytes_for_every_number_of_jobs() {
    let plain = fleet().file("fleet.ndjson");
    for form in ["text", "json", "ndjson", "lines", "sarif"] {
        let one = check(&[plain.to_str().unwrap(), "--format", form, "--jobs", "1"], Stdio::null());
        assert!(!one.stdout.is_empty());
        for jobs in ["2", "7"] {
            let several = check(&[plain.to_str().unwrap(), "--format", form, "--jobs", jobs], Stdio::null());
            assert!(one.stdout == several.stdout && one.stderr == several.stderr, "{form} with {jobs} jobs");
            assert_eq!(one.status.code(), several.status.code());
        }
    }
}

#[test]
fn packed_listed_or_on_standard_input_it_is_the_same_fleet() {
    let fleet = fleet();
    for name in ["fleet.ndjson.gz", "fleet.ndjson.zst", "fleet.list"] {
        let output = check(&[fleet.file(name).to_str().unwrap(), "--format", "json"], Stdio::null());
        let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(counts(&answer), fleet.expected, "{name}");
    }
    for name in ["fleet.ndjson", "fleet.ndjson.gz", "fleet.ndjson.zst"] {
        let file = std::fs::File::open(fleet.file(name)).unwrap();
        let output = check(&["-", "--format", "json"], file.into());
        let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(counts(&answer), fleet.expected, "{name} on standard input");
    }
}

/// What was worked out for one site never decides another: in whatever order they come, each is told the
/// same.
#[test]
fn a_site_is_judged_the_same_whatever_came_before() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/sites");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let mut told = |name: &str| {
        let list = fleet().file(name);
        std::fs::write(&list, paths.iter().map(|path| format!("{}\n", path.display())).collect::<String>()).unwrap();
        paths.reverse();
        let output = check(&[list.to_str().unwrap(), "--format", "ndjson", "--jobs", "1"], Stdio::null());
        let mut lines: Vec<String> = String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    let (forwards, backwards) = (told("forwards.list"), told("backwards.list"));
    assert!(forwards.len() > 40);
    assert_eq!(forwards, backwards);
}

/// Lines that cannot be read are told, and every other site is counted, by one worker as by several.
#[test]
fn affected_counts_every_site_of_a_fleet() {
    let fleet = fleet();
    let asked = |name: &str, jobs: &str| {
        let file = fleet.file(name);
        let versions = ["affected", "quillbrook/2.0.0", "quillbrook/3.0.0", file.to_str().unwrap()];
        let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
            .args(versions)
            .args(["--format", "json", "--as-of", made::DAY, "--jobs", jobs])
            .env_remove("ASLEFT_PROFILES")
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2));
        output.stdout
    };
    let one = asked("fleet.ndjson", "1");
    assert!(one == asked("fleet.ndjson", "7"), "in another order");
    let answer: Value = serde_json::from_slice(&one).unwrap();
    let unreadable = answer["unreadable"].as_array().unwrap().len();
    assert_eq!(unreadable as u64, fleet.expected["summary"]["could-not-tell"].as_u64().unwrap());
    let counted: u64 = answer["summary"].as_object().unwrap().values().map(|sites| sites.as_u64().unwrap()).sum();
    assert_eq!(counted as usize + unreadable, SITES);
    let packed: Value = serde_json::from_slice(&asked("fleet.ndjson.zst", "2")).unwrap();
    assert_eq!(packed["summary"], answer["summary"]);
}

/// What was read before a packed file broke is told, and so is that it broke.
#[test]
fn a_packed_file_that_was_cut_short_could_not_be_told() {
    let whole = std::fs::read(fleet().file("fleet.ndjson.gz")).unwrap();
    let cut = fleet().file("cut.ndjson.gz");
    std::fs::write(&cut, &whole[..whole.len() / 2]).unwrap();
    let output = check(&[cut.to_str().unwrap(), "--format", "json"], Stdio::null());
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(2));
    let sites = answer["sites"].as_array().unwrap();
    assert!(sites.len() > 100, "half of it was sound");
    assert_eq!(sites.last().unwrap()["findings"][0]["name"], "unreadable");
    assert_eq!(sites.last().unwrap()["line"].as_u64().unwrap() as usize, sites.len());
}

/// A reader that goes away ends it at once, also while more input is awaited; that all sites comply was
/// not shown by then.
#[test]
fn a_reader_that_goes_away_ends_it_while_input_is_awaited() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .args(["check", "-", "--format", "ndjson", "--jobs", "2", "--as-of", made::DAY])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut input = child.stdin.take().unwrap();
    // the input stays open: a program that waited for it would never end
    let _ = input.write_all(&std::fs::read(fleet().file("fleet.ndjson")).unwrap());
    let status = child.wait().unwrap();
    assert_eq!(status.code(), Some(2));
    drop(input);
}
