//! `--require-signed` is one gate: no verb uses a profile that nobody signed.
#![cfg(unix)]

use crate::measured;

use measured::{asleft, root, says};
use std::path::Path;

/// A verb, and arguments with which it uses profiles.
type Verb = (&'static str, Option<&'static [&'static str]>);

/// Every verb, as `asleft --help` names them, with the arguments that have it use profiles; `None` where it uses none.
const VERBS: [Verb; 34] = [
    ("sheet", Some(&["SITE"])),
    ("check", Some(&["SITE"])),
    ("capture", None),
    ("decode", Some(&["IMAGE", "--judge", "OF-IMAGE"])),
    ("test-sheet", Some(&["SITE"])),
    ("close-out", Some(&["SITE", "--dry-run"])),
    ("report", Some(&["RECORD", "--out", "-"])),
    ("identify", Some(&["SITE"])),
    ("diff", Some(&["quillbrook/2.0.0", "quillbrook/3.0.0"])),
    ("lint", Some(&["overlays/quillbrook/2.0.0"])),
    ("revision-check", Some(&["quillbrook/2.0.0", "quillbrook/3.0.0"])),
    ("affected", Some(&["quillbrook/2.0.0", "quillbrook/3.0.0", "SITE"])),
    ("pin", Some(&["SITE"])),
    ("curve", Some(&["quillbrook/2.0.0/australia-a"])),
    ("attest", Some(&["list"])),
    ("rise", Some(&["RISE"])),
    ("events", Some(&["SITE", "LOG"])),
    ("scenario", Some(&["SITE", "noon-creep"])),
    ("trip-map", Some(&["SITE"])),
    ("page", Some(&["quillbrook/2.0.0"])),
    ("exercise", Some(&["new", "quillbrook/2.0.0/australia-a", "--students", "1", "--seed", "1", "--out", "class", "--key", "key.yaml"])),
    ("keys", None),
    ("seal", None),
    ("sign-profile", None),
    ("verify", Some(&["RECORD"])),
    ("register", Some(&["add", "--register", "r.db", "RECORD"])),
    ("due", None),
    ("explain", Some(&["overvoltage-1/threshold", "--site", "SITE"])),
    ("list", Some(&["profiles"])),
    // a copy of what is unsigned is what gets signed
    ("show", None),
    ("template", Some(&["quillbrook"])),
    ("schema", None),
    ("completions", None),
    ("man", None),
];

fn arguments(words: &[&str]) -> Vec<String> {
    let root = root();
    let path = |path: &str| root.join(path).display().to_string();
    let of = |word: &&str| match *word {
        "SITE" => path("tests/sites/larkspur-row-3.yaml"),
        "RISE" => path("tests/sites/fencepost-lane-9.yaml"),
        "IMAGE" => path("tests/sunspec/images/base-0.json"),
        "OF-IMAGE" => path("tests/sunspec/sites/rush-lane-5.yaml"),
        "LOG" => path("tests/logs/sag-11.5s.csv"),
        "RECORD" => path("tests/records/wattle-bend-6/close-out.json"),
        other => other.to_owned(),
    };
    words.iter().map(of).collect()
}

fn keys(folder: &Path) {
    let made = asleft(folder, &["keys", "new", "--out", "office.key"]);
    assert_eq!(made.code, Some(0), "{}", says(&made));
}

#[test]
fn no_verb_uses_a_profile_that_nobody_signed() {
    let folder = tempfile::tempdir().unwrap();
    keys(folder.path());
    let help = asleft(folder.path(), &["--help"]);
    let help = String::from_utf8(help.stdout).unwrap();
    let named = help.lines().skip_while(|line| !line.starts_with("Commands:")).skip(1).take_while(|line| !line.is_empty());
    let named: Vec<&str> =
        named.filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next().filter(|_| !line.starts_with("   "))).collect();
    let known: Vec<&str> = VERBS.iter().map(|(verb, _)| *verb).chain(["help"]).collect();
    assert!(named.iter().all(|verb| known.contains(verb)), "a verb that this test does not know: {named:?}");
    let mut wrong = Vec::new();
    for (verb, words) in VERBS.iter().filter_map(|(verb, words)| Some((verb, (*words)?))) {
        let arguments = arguments(&[&[*verb], words].concat());
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).chain(["--require-signed", "office.key.pub"]).collect();
        let ended = asleft(folder.path(), &arguments);
        let said = says(&ended);
        // `template` names the verb that says why
        let refuses = said.contains("signed") || said.contains("`asleft list profiles` says how");
        if !refuses || said.contains("unexpected argument") || said.contains("Usage:") || ended.code == Some(0) {
            wrong.push(format!("{arguments:?} {:?}\n{said:.600}", ended.code));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// A scenario in a file of its own passes the same gate as one at hand.
#[test]
fn a_scenario_in_a_file_has_to_be_signed() {
    let folder = tempfile::tempdir().unwrap();
    keys(folder.path());
    std::fs::copy(root().join("profiles/scenarios/noon-creep.yaml"), folder.path().join("drill.yaml")).unwrap();
    let site = root().join("tests/sites/larkspur-row-3.yaml").display().to_string();
    let play = || asleft(folder.path(), &["scenario", &site, "drill.yaml", "--require-signed", "office.key.pub", "--trust-shipped"]);
    let unsigned = play();
    assert!(unsigned.code == Some(2) && says(&unsigned).contains("is not signed"), "{:?} {}", unsigned.code, says(&unsigned));
    let signed = asleft(folder.path(), &["sign-profile", "drill.yaml", "--key", "office.key"]);
    assert_eq!(signed.code, Some(0), "{}", says(&signed));
    let played = play();
    assert_ne!(played.code, Some(2), "{}", says(&played));
}

/// A record that was judged by profiles that nobody signed is put on no paper, and into no register.
#[test]
fn records_judged_by_unsigned_profiles_are_not_taken() {
    let folder = tempfile::tempdir().unwrap();
    keys(folder.path());
    let record = root().join("tests/records/wattle-bend-6/close-out.json").display().to_string();
    let signed = ["--require-signed", "office.key.pub"];
    for verb in [["report", &record, "--out", "paper.html"].as_slice(), &["register", "add", "--register", "r.db", &record]] {
        let refused = asleft(folder.path(), &[verb, &signed].concat());
        assert!(refused.code == Some(2) && says(&refused).contains("signed"), "{verb:?} {:?} {}", refused.code, says(&refused));
        let trusted = asleft(folder.path(), &[verb, &signed, &["--trust-shipped"]].concat());
        assert_eq!(trusted.code, Some(0), "{verb:?} {}", says(&trusted));
    }
}

/// Where nothing is asked, nothing would be wrong: a class is not marked by profiles that nobody signed.
#[test]
fn no_class_is_marked_by_profiles_that_nobody_signed() {
    let folder = tempfile::tempdir().unwrap();
    keys(folder.path());
    let at = |path: &str| root().join("tests/exercises").join(path).display().to_string();
    let words = ["exercise", "mark", &at("key.yaml"), &at("handed-in"), "--format", "json"];
    let mark = |more: &[&str]| asleft(folder.path(), &[&words[..], more].concat());
    let signed = ["--require-signed", "office.key.pub"];
    let refused = mark(&signed);
    let said = says(&refused);
    assert!(refused.code == Some(2) && refused.stdout.is_empty(), "{said}");
    assert!(said.contains("not-signed") && said.contains("nobody is marked"), "{said}");
    assert_eq!(mark(&[&signed[..], &["--trust-shipped"]].concat()).stdout, mark(&[]).stdout);
}
