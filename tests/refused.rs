//! What the reader refuses, point by point. Each file in `tests/refused/<kind>/` is the good file
//! `tests/refused/<kind>.yaml` with one thing wrong, and is named for it; what is said of it stands
//! in short in `tests/refused/<kind>.facts`, and of some, which show how it is laid out, whole beside it as `.txt`.
//! `ASLEFT_REWRITE=1` writes both anew.

use crate::refusal;

use settings_model::document;
use settings_model::source::SourceId;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The day asked about: the invented network's issue is published by then.
const AS_OF: &str = "2026-06-01";
/// The good site, from the root of the project.
const GOOD_SITE: &str = "tests/refused/site.yaml";
/// Where a profile of a kind is kept in a folder of profiles.
const KEPT_AT: [(&str, &str); 2] = [("overlay", "overlays/quillbrook/2.0.0.yaml"), ("standard", "standards/as-nzs-4777.2/2020-amd2.yaml")];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// How a run ended, and what it had to say against its input.
struct Ended {
    code: Option<i32>,
    says: String,
}

fn asleft(arguments: &[&str]) -> Ended {
    let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
        .current_dir(root())
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1")
        .env_remove("ASLEFT_PROFILES")
        .stdin(Stdio::null())
        .args(arguments)
        .output()
        .unwrap();
    Ended { code: output.status.code(), says: String::from_utf8(output.stderr).unwrap() }
}

fn check_site(path: &str) -> Ended {
    asleft(&["check", path, "--as-of", AS_OF])
}

/// The good site under a profile that is kept where its kind belongs.
fn check_under(kind: &str, profile: &Path) -> Ended {
    with_profile(kind, profile, &["check", GOOD_SITE, "--as-of", AS_OF])
}

fn with_profile(kind: &str, profile: &Path, arguments: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join(KEPT_AT.iter().find(|(of, _)| *of == kind).unwrap().1);
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::copy(profile, place).unwrap();
    let profiles = folder.path().to_str().unwrap();
    let ended = asleft(&[arguments, &["--profiles", profiles]].concat());
    Ended { says: ended.says.replace(profiles, "PROFILES"), ..ended }
}

/// What is wrong with a refusal itself, whatever it says.
fn flaws(ended: &Ended) -> Vec<String> {
    let mut flaws = Vec::new();
    if ended.code != Some(2) {
        flaws.push(format!("ends with {:?}, not with 2", ended.code));
    }
    let findings: Vec<&str> = ended.says.split("cannot be used (").skip(1).collect();
    if findings.is_empty() {
        flaws.push("no finding".to_owned());
    }
    flaws.extend(findings.iter().filter(|finding| !has_place(finding)).map(|finding| format!("no file, line and column: {finding}")));
    flaws.extend(findings.iter().filter(|finding| !finding.contains("\n  to do ")).map(|finding| format!("no remedy: {finding}")));
    let wide = ended.says.lines().filter(|line| is_our_own(line) && line.chars().count() > 100);
    flaws.extend(wide.map(|line| format!("wider than 100 columns: {line}")));
    flaws
}

/// Paths are never folded; all the rest is laid out for the width at hand.
fn is_our_own(line: &str) -> bool {
    !line.starts_with("  in ")
}

/// `  in        FILE, line N, column N`.
fn has_place(finding: &str) -> bool {
    let Some(place) = finding.lines().find_map(|line| line.strip_prefix("  in ")) else { return false };
    let numbers = |words: &str| place.split_once(words).map(|(_, rest)| rest.split(',').next().unwrap_or_default());
    [", line ", ", column "].into_iter().all(|words| numbers(words).is_some_and(|n| n.parse::<usize>().is_ok_and(|n| n > 0)))
}

/// Compares with what is kept, or keeps this one; what is wrong is added to `wrong`.
fn compare(case: &Path, ended: &Ended, wrong: &mut Vec<String>) {
    let name = case.strip_prefix(root()).unwrap_or(case).display().to_string();
    wrong.extend(flaws(ended).into_iter().map(|flaw| format!("{name}: {flaw}")));
    wrong.extend(refusal::difference(case, &ended.says).map(|differs| format!("{name}\n{differs}")));
}

fn cases(kind: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join("tests/refused").join(kind)).unwrap();
    let mut cases: Vec<PathBuf> =
        entries.map(|entry| entry.unwrap().path()).filter(|path| path.extension().is_some_and(|e| e != "txt")).collect();
    cases.sort();
    let whole = cases.iter().filter(|case| case.with_extension("txt").exists()).count();
    let rows = refusal::count(&root().join(format!("tests/refused/{kind}.facts")));
    let rewrites = std::env::var_os("ASLEFT_REWRITE").is_some();
    assert!(rewrites || rows == cases.len() - whole, "{kind}: {rows} rows, and {} files without a text beside them", cases.len() - whole);
    cases
}

#[test]
fn sites_are_refused_with_reasons() {
    let mut wrong = Vec::new();
    let cases = cases("site");
    assert!(cases.len() >= 80);
    for case in cases {
        let path = case.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        compare(&case, &check_site(&path), &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Bytes that a version control system, or an editor, might mend are made here.
#[test]
fn sites_of_odd_bytes_are_refused_with_reasons() {
    let good = std::fs::read_to_string(root().join(GOOD_SITE)).unwrap();
    let (_, good) = good.split_once('\n').unwrap(); // so that the mark touches the fault
    let windows = format!("\u{feff}{}", good.replace("265 V", "265 Hz").replace("kind: site", "knid: site").replace('\n', "\r\n"));
    let mut wrong = Vec::new();
    compare(&root().join("tests/refused/made-byte-order-mark-and-crlf"), &check_bytes(windows.as_bytes()), &mut wrong);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));

    let latin_1 = check_bytes(b"kind: site\nsite: Z\xfcrich-3\n");
    assert_eq!(latin_1.code, Some(2));
    assert!(latin_1.says.contains("FOLDER/site.yaml") && latin_1.says.contains("not UTF-8"), "{}", latin_1.says);
}

fn check_bytes(bytes: &[u8]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    std::fs::write(&file, bytes).unwrap();
    let ended = check_site(file.to_str().unwrap());
    Ended { says: ended.says.replace(folder.path().to_str().unwrap(), "FOLDER"), ..ended }
}

#[test]
fn profiles_are_refused_with_reasons() {
    let mut wrong = Vec::new();
    for (kind, _) in KEPT_AT {
        let cases = cases(kind);
        assert!(cases.len() >= 8);
        for case in cases {
            compare(&case, &check_under(kind, &case), &mut wrong);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A label map is read by whoever lists them, and by a site that names its family.
#[test]
fn label_maps_are_refused_with_reasons() {
    let mut wrong = Vec::new();
    let cases = cases("label-map");
    assert!(cases.len() >= 30);
    for case in cases {
        compare(&case, &list_labels(&case), &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let good = list_labels(&root().join("tests/refused/label-map.yaml"));
    assert_eq!((good.code, good.says.as_str()), (Some(0), ""));
}

fn list_labels(map: &Path) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("labels/withy-s/1.yaml");
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::copy(map, place).unwrap();
    let profiles = folder.path().to_str().unwrap();
    let ended = asleft(&["list", "labels", "--profiles", profiles]);
    Ended { says: ended.says.replace(profiles, "PROFILES"), ..ended }
}

/// The answers of an exercise are read by whoever marks by them, before any answer is looked at.
#[test]
fn keys_of_exercises_are_refused_with_reasons() {
    let mark = |key: &Path| {
        let key = key.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        asleft(&["exercise", "mark", &key, "tests/exercises/issued/bench-3.yaml"])
    };
    let (mut wrong, cases) = (Vec::new(), cases("exercise-key"));
    assert!(cases.len() >= 15);
    for case in cases {
        compare(&case, &mark(&case), &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let good = mark(&root().join("tests/refused/exercise-key.yaml"));
    assert_eq!((good.code, &*good.says), (Some(1), ""), "a good key marks an answer that mends nothing");
}

/// A commissioning file is read with the site that it is of.
#[test]
fn commissioning_files_are_refused_with_reasons() {
    let judged = |file: &Path| {
        let path = file.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        asleft(&["test-sheet", "tests/records/wattle-bend-6/site.yaml", "--results", &path, "--as-of", "2026-11-25"])
    };
    let (mut wrong, cases) = (Vec::new(), cases("commissioning"));
    assert!(cases.len() >= 25);
    for case in cases {
        compare(&case, &judged(&case), &mut wrong);
    }
    let good = judged(&root().join("tests/refused/commissioning.yaml"));
    assert_eq!((good.code, &*good.says), (Some(1), ""), "two of its tests are not done");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What only a chain of files can show: what an overlay stands on, and what that leaves to it.
const OF_A_CHAIN: [&str; 4] = ["used (region)", "used (extends): no ", "extends its own network", "used (outside-without-reason)"];

/// What the good site under the invented Hill Code is asked, with an attestation of that at hand.
fn with_attestation(attestation: &Path, arguments: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("attestations/standards/hill-code/2021-amd1/office.yaml");
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::copy(attestation, place).unwrap();
    let profiles = folder.path().to_str().unwrap();
    let ended = asleft(&[arguments, &["--as-of", "2022-06-01", "--profiles", "tests/attested/profiles", "--profiles", profiles]].concat());
    Ended { says: ended.says.replace(profiles, "PROFILES"), ..ended }
}

/// Wherever an attestation is used it is refused with the same words: its faults are never passed over.
#[test]
fn attestations_are_refused_with_reasons() {
    let (mut wrong, cases) = (Vec::new(), cases("attestation"));
    assert!(cases.len() >= 40);
    for case in cases {
        let checked = with_attestation(&case, &["check", "tests/attested/beck-end-4.yaml"]);
        compare(&case, &checked, &mut wrong);
        for other in [&["list"][..], &["attest", "list", "hill-code/2021-amd1"]] {
            let ended = with_attestation(&case, other);
            if (ended.code, ended.says.trim()) != (Some(2), checked.says.trim()) {
                wrong.push(format!("{}: `{other:?}` says\n{}", case.display(), ended.says));
            }
        }
    }
    let good = with_attestation(&root().join("tests/refused/attestation.yaml"), &["check", "tests/attested/beck-end-4.yaml"]);
    assert_eq!((good.code, &*good.says), (Some(0), ""));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Who writes profiles need not have a site at hand.
#[test]
fn a_list_of_profiles_shows_the_same_faults() {
    for (kind, _) in KEPT_AT {
        for case in cases(kind) {
            let (listed, checked) = (with_profile(kind, &case, &["list"]), check_under(kind, &case));
            if !OF_A_CHAIN.iter().any(|words| checked.says.contains(words)) {
                assert_eq!(listed.code, Some(2), "{}", case.display());
                assert_eq!(listed.says.trim(), checked.says.trim(), "{}", case.display());
            }
        }
    }
}

/// One site a line is read by another way, which must refuse the same sites.
#[test]
fn sites_on_a_line_are_refused_too() {
    let mut accepted = Vec::new();
    for case in cases("site") {
        let (text, mut faults) = (std::fs::read_to_string(&case).unwrap(), Vec::new());
        // what is wrong with the text as YAML is gone once it is JSON
        let Some(tree) = document::parse(SourceId(0), &text, &mut faults).filter(|_| faults.is_empty()) else { continue };
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sites.ndjson");
        std::fs::write(&file, format!("{}\n", tree.to_json())).unwrap();
        if check_site(file.to_str().unwrap()).code != Some(2) {
            accepted.push(case.file_stem().unwrap().to_string_lossy().into_owned());
        }
    }
    assert_eq!(accepted, [""; 0]);
}

/// Otherwise a case might be refused for something that it shares with the good file.
#[test]
fn the_good_files_are_not_refused() {
    assert_eq!(check_site(GOOD_SITE).says, "");
    for (kind, _) in KEPT_AT {
        let good = root().join(format!("tests/refused/{kind}.yaml"));
        assert_eq!(check_under(kind, &good).says, "", "{kind}");
    }
}
