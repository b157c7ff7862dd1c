//! What the reader refuses, point by point. Each file in `tests/refused/<kind>/` is the good file
//! `tests/refused/<kind>.yaml` with one thing wrong, and is named for it; what is said of it stands
//! beside it as `.txt`. `ASLEFT_REWRITE=1` writes those texts anew.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The day asked about: both issues of the invented network are published by then.
const AS_OF: &str = "2026-06-01";
/// The good site, from the root of the project.
const GOOD_SITE: &str = "tests/refused/site.yaml";
/// Where a profile of a kind is kept in a folder of profiles.
const PROFILE_AT: [(&str, &str); 2] = [("overlay", "overlays/quillbrook/2.0.0.yaml"), ("standard", "standards/as-nzs-4777.2/2020.yaml")];

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
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join(PROFILE_AT.iter().find(|(of, _)| *of == kind).unwrap().1);
    std::fs::create_dir_all(place.parent().unwrap()).unwrap();
    std::fs::copy(profile, place).unwrap();
    let profiles = folder.path().to_str().unwrap();
    let ended = asleft(&["check", GOOD_SITE, "--as-of", AS_OF, "--profiles", profiles]);
    Ended { says: ended.says.replace(profiles, "PROFILES"), ..ended }
}

/// What is wrong with a refusal itself, whatever it says.
fn flaws(ended: &Ended) -> Vec<String> {
    let mut flaws = Vec::new();
    if ended.code != Some(2) {
        flaws.push(format!("ends with {:?}, not with 2", ended.code));
    }
    let findings: Vec<&str> = ended.says.split("cannot be used[").skip(1).collect();
    if findings.is_empty() {
        flaws.push("no finding".to_owned());
    }
    flaws.extend(findings.iter().filter(|finding| !has_place(finding)).map(|finding| format!("no file:line:column: {finding}")));
    // paths are never folded; a line of the file itself is cut by the renderer
    let own = ended.says.lines().filter(|line| !line.contains(" | ") && !line.contains("--> "));
    flaws.extend(own.filter(|line| line.chars().count() > 100).map(|line| format!("wider than 100 columns: {line}")));
    flaws
}

fn has_place(finding: &str) -> bool {
    let Some((_, place)) = finding.lines().find_map(|line| line.split_once("--> ")) else { return false };
    let mut parts = place.rsplitn(3, ':');
    let mut number = || parts.next().is_some_and(|part| part.parse::<usize>().is_ok_and(|n| n > 0));
    number() && number()
}

/// Compares with the text that is kept, or keeps this one; what is wrong is added to `wrong`.
fn compare(case: &Path, ended: &Ended, wrong: &mut Vec<String>) {
    let expected = case.with_extension("txt");
    let name = case.strip_prefix(root()).unwrap_or(case).display().to_string();
    wrong.extend(flaws(ended).into_iter().map(|flaw| format!("{name}: {flaw}")));
    if std::env::var_os("ASLEFT_REWRITE").is_some() {
        std::fs::write(&expected, &ended.says).unwrap();
    }
    let kept = std::fs::read_to_string(&expected).unwrap_or_default();
    if kept != ended.says {
        wrong.push(format!("{name}\n--- kept\n{kept}\n--- now\n{}", ended.says));
    }
}

fn cases(kind: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join("tests/refused").join(kind)).unwrap();
    let mut cases: Vec<PathBuf> =
        entries.map(|entry| entry.unwrap().path()).filter(|path| path.extension().is_some_and(|e| e != "txt")).collect();
    cases.sort();
    cases
}

#[test]
fn sites_are_refused_with_reasons() {
    let mut wrong = Vec::new();
    let cases = cases("site");
    assert!(cases.len() >= 40);
    for case in cases {
        let path = case.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        compare(&case, &check_site(&path), &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn profiles_are_refused_with_reasons() {
    let mut wrong = Vec::new();
    for (kind, _) in PROFILE_AT {
        let cases = cases(kind);
        assert!(cases.len() >= 5);
        for case in cases {
            compare(&case, &check_under(kind, &case), &mut wrong);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Otherwise a case might be refused for something that it shares with the good file.
#[test]
fn the_good_files_are_not_refused() {
    assert_eq!(check_site(GOOD_SITE).says, "");
    for (kind, _) in PROFILE_AT {
        let good = root().join(format!("tests/refused/{kind}.yaml"));
        assert_eq!(check_under(kind, &good).says, "", "{kind}");
    }
}
