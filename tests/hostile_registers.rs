//! Registers that somebody tampered with, and paths that look like something else, at the command line.
#![cfg(unix)]

#[path = "register/altered.rs"]
mod altered;
#[path = "measured/mod.rs"]
mod measured;

use altered::altered;
use measured::{asleft, root, says};
use std::path::Path;

fn record_file() -> String {
    root().join("tests/records/wattle-bend-6/close-out.json").display().to_string()
}

/// A path is a path: what is acknowledged is in a file of that name.
#[test]
fn names_that_a_database_takes_for_something_else_are_files() {
    for name in [":memory:", "file:other.db?mode=memory", "file::memory:?cache=shared", "a?b#c%20.db", "file:///nowhere/x.db"] {
        let folder = tempfile::tempdir().unwrap();
        let added = asleft(folder.path(), &["register", "add", "--register", name, &record_file()]);
        if name.starts_with("file:///") {
            // a path into a folder that is not there
            assert_eq!(added.code, Some(2), "{}", says(&added));
            continue;
        }
        assert_eq!(added.code, Some(0), "{name}: {}", says(&added));
        assert!(folder.path().join(name).is_file(), "{name}: {:?}", std::fs::read_dir(folder.path()).unwrap().collect::<Vec<_>>());
        let listed = asleft(folder.path(), &["register", "list", "--register", name]);
        assert!(says(&listed).contains("wattle-bend-6"), "{name}: {}", says(&listed));
        let copy = asleft(folder.path(), &["register", "backup", "--register", name, "file:copy.db?mode=memory"]);
        assert_eq!(copy.code, Some(0), "{}", says(&copy));
        assert!(folder.path().join("file:copy.db?mode=memory").is_file());
    }
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(asleft(folder.path(), &["register", "add", "--register", "", &record_file()]).code, Some(2));
}

fn replaced(bytes: &[u8], what: &[u8], with: &[u8]) -> (Vec<u8>, usize) {
    assert_eq!(what.len(), with.len());
    let (mut bytes, mut count) = (bytes.to_vec(), 0);
    for at in 0..bytes.len() - what.len() {
        if bytes[at..].starts_with(what) {
            bytes[at..at + what.len()].copy_from_slice(with);
            count += 1;
        }
    }
    (bytes, count)
}

/// Every verb that reads a register refuses one whose rows are not as they were written.
#[test]
fn no_verb_uses_rows_whose_hash_does_not_hold() {
    let folder = tempfile::tempdir().unwrap();
    let kept = std::fs::read(root().join("tests/register/office.db")).unwrap();
    let record = root().join("tests/register/records/osier-bank-27.json").display().to_string();
    let register = ["--register", "office.db"];
    let map = root().join("tests/register/operator-columns.yaml").display().to_string();
    let verbs: [&[&str]; 9] = [
        &["register", "list"],
        &["register", "show", "osier-bank-27"],
        &["register", "show", "1"],
        &["register", "export"],
        &["register", "export", "--columns", &map],
        &["register", "roll-up"],
        &["due", "--as-of", "2026-11-26"],
        &["verify", &record],
        &["report", "--site", "osier-bank-27", "--out", "-"],
    ];
    let run = |verb: &[&str]| asleft(folder.path(), &[verb, &register].concat());
    std::fs::write(folder.path().join("office.db"), &kept).unwrap();
    for verb in verbs {
        let ended = run(verb);
        assert!(ended.code.is_some_and(|code| code < 2) && !says(&ended).contains("damaged"), "{verb:?}: {}", says(&ended));
    }
    let (altered, count) = replaced(&kept, b"\"verdict\":\"does-not-comply\"", b"\"verdict\":\"complies\"       ");
    assert!(count > 0);
    std::fs::write(folder.path().join("office.db"), altered).unwrap();
    for verb in verbs {
        let ended = run(verb);
        assert!(ended.code == Some(2) && says(&ended).contains("damaged"), "{verb:?}: {:?} {}", ended.code, says(&ended));
        assert!(ended.stdout.is_empty(), "{verb:?}: nothing of it is said: {}", String::from_utf8_lossy(&ended.stdout));
    }
    // and nothing is written on behind it
    let added = run(&["register", "add", &record_file()]);
    assert!(added.code == Some(2) && says(&added).contains("damaged"), "{}", says(&added));
    assert!(Path::new(&folder.path().join("office.db")).exists());
}

/// A pipe under a name that a database opens beside its file would be waited for without end.
#[test]
fn pipes_beside_a_register_are_refused_before_they_are_opened() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(root().join("tests/register/office.db"), folder.path().join("office.db")).unwrap();
    for end in ["-journal", "-wal", "-shm", ".sha256"] {
        let pipe = folder.path().join(format!("office.db{end}"));
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        for verb in [["register", "list"].as_slice(), &["register", "verify"], &["register", "add", &record_file()], &["due"]] {
            let ended = asleft(folder.path(), &[verb, &["--register", "office.db"]].concat());
            assert_eq!(ended.code, Some(2), "{end} {verb:?}: {}", says(&ended));
            assert!(says(&ended).contains(&format!("office.db{end}`")), "{end} {verb:?}: {}", says(&ended));
        }
        assert!(std::fs::metadata(&pipe).is_ok_and(|there| !there.is_file()), "it stays as it is");
        std::fs::remove_file(pipe).unwrap();
    }
}

/// A row of hundreds of megabytes is no record's: it is refused before it is read into memory.
#[test]
fn rows_that_are_longer_than_any_record_are_not_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("office.db");
    // the system counts the memory of who starts a program as that of the program: first what costs this test nothing
    for (statement, costs_nothing) in [
        ("UPDATE entry SET record = zeroblob(400000000) WHERE number = 3", true),
        ("UPDATE entry SET header = json_set(header, '$.x', hex(zeroblob(30000000))) WHERE number = 3", false),
        ("UPDATE entry SET site_line = hex(zeroblob(30000000)) WHERE number = 3", false),
        ("INSERT INTO profile VALUES (zeroblob(32), hex(zeroblob(30000000)))", false),
    ] {
        std::fs::copy(root().join("tests/register/office.db"), &path).unwrap();
        altered(&path, statement);
        let mut refused = 0;
        for verb in
            [["register", "list"].as_slice(), &["register", "show", "3"], &["register", "export"], &["register", "verify"], &["due"]]
        {
            let ended = asleft(folder.path(), &[verb, &["--register", "office.db"]].concat());
            let said = says(&ended);
            assert!(
                !said.contains("panicked") && (!costs_nothing || ended.peak < 100_000_000),
                "{statement} {verb:?}: {} {said}",
                ended.peak
            );
            refused += usize::from(said.contains("damaged") || said.split_whitespace().any(|word| word == "ALTERED"));
        }
        assert!(refused >= 1, "{statement}");
    }
}
