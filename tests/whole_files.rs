//! A reader that goes away, a full disk and a kill leave no half-written file and are no panic.

use std::io::pipe;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const SITE: &str = "tests/sites/larkspur-row-3.yaml";

/// Every verb that prints much, with arguments that leave nothing to say on standard error.
const PRINTING: [&[&str]; 14] = [
    &["check", "tests/sites"],
    &["check", "tests/sites", "--format", "json"],
    &["sheet", SITE],
    &["diff", "quillbrook/2.0.0", "quillbrook/3.0.0"],
    &["diff", "tests/sites/kiln-row-19.yaml"],
    &["curve", SITE],
    &["rise", "tests/sites/woolshed-track-11.yaml"],
    &["lint", "quillbrook/3.0.0"],
    &["revision-check", "quillbrook/2.0.0", "quillbrook/3.0.0"],
    &["affected", "quillbrook/2.0.0", "quillbrook/3.0.0", SITE],
    &["affected", "quillbrook/2.0.0", "quillbrook/3.0.0", SITE, "--format", "csv"],
    &["pin", SITE],
    &["template", "quillbrook"],
    &["test-sheet", SITE],
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env_remove("ASLEFT_PROFILES").env("NO_COLOR", "1").stdin(Stdio::null()).args(arguments);
    command
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_closed_pipe_is_a_quiet_end_of_every_verb() {
    for arguments in PRINTING {
        let (reader, writer) = pipe().unwrap();
        drop(reader);
        let output = asleft(arguments).stdout(writer).output().unwrap();
        // nobody was shown that something is fine; what a fleet came to is known by then
        let code = if arguments[0] == "affected" { 0 } else { 2 };
        assert_eq!((output.status.code(), &*stderr(&output)), (Some(code), ""), "{arguments:?}");
    }
}

#[test]
fn a_full_disk_under_standard_output_is_said() {
    let Ok(full) = std::fs::OpenOptions::new().write(true).open("/dev/full") else {
        return println!("skipped: this system has no /dev/full");
    };
    for arguments in PRINTING {
        let output = asleft(arguments).stdout(full.try_clone().unwrap()).output().unwrap();
        let says = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {says}");
        assert!(says.starts_with("asleft: ") && says.contains("No space left"), "{arguments:?}: {says}");
        assert!(!says.contains("panicked"), "{arguments:?}: {says}");
    }
}

/// The shell in which no file may grow beyond this many blocks of 512 bytes; `None` where there is none.
fn without_room(blocks: u32, is_killed: bool, arguments: &[&str]) -> Option<Output> {
    // a process that goes beyond the limit is killed, or sees its write fail where the signal is ignored
    let trap = if is_killed { "" } else { "trap '' XFSZ; " };
    let script = format!("{trap}ulimit -c 0; ulimit -f {blocks} || exit 99; exec \"$0\" \"$@\"");
    let shell = Command::new("sh")
        .current_dir(root())
        .env_remove("ASLEFT_PROFILES")
        .args(["-c", &script, env!("CARGO_BIN_EXE_asleft")])
        .args(arguments)
        .stdin(Stdio::null())
        .output();
    shell.ok().filter(|output| output.status.code() != Some(99))
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Where nothing more can be written, what was there stays whole, the fault names the file, and
/// nothing is left beside it.
#[test]
fn a_full_disk_leaves_the_old_file_whole() {
    let folder = tempfile::tempdir().unwrap();
    let old = std::fs::read_to_string(root().join(SITE)).unwrap();
    let at = |name: &str| folder.path().join(name);
    let (site, drawing, examples) = (at("site.yaml"), at("drawing.svg"), at("examples"));
    std::fs::write(&site, &old).unwrap();
    std::fs::write(&drawing, "an older drawing").unwrap();
    std::fs::create_dir(&examples).unwrap();
    let example = examples.join("01-volt-watt-state.yaml");
    std::fs::write(&example, "an older example").unwrap();
    let (site_path, drawing_path, examples_path) = (site.to_str().unwrap(), drawing.to_str().unwrap(), examples.to_str().unwrap());
    let record = at("record.json");
    std::fs::write(&record, "an older record").unwrap();
    let record_path = record.to_str().unwrap();
    let writing: [&[&str]; 5] = [
        &["pin", site_path, "--write"],
        &["curve", SITE, "--of", "volt-watt", "--svg", drawing_path],
        &["events", SITE, "tests/logs/sag-11.5s.csv", "--svg", drawing_path],
        &["revision-check", "quillbrook/2.0.0", "quillbrook/3.0.0", "--examples", examples_path],
        &["close-out", SITE, "--out", record_path, "--replace"],
    ];
    let before = (names(folder.path()), names(&examples));
    for arguments in writing {
        for blocks in [0, 1] {
            let Some(output) = without_room(blocks, false, arguments) else {
                return println!("skipped: no shell that limits the size of files");
            };
            let says = stderr(&output);
            assert_eq!(output.status.code(), Some(2), "{arguments:?}: {says}");
            assert!(says.contains(folder.path().to_str().unwrap()) && says.contains("too large"), "{arguments:?}: {says}");
            assert!(!says.contains("panicked"), "{arguments:?}: {says}");
            assert_eq!((names(folder.path()), names(&examples)), before, "{arguments:?}");
        }
        // killed in the middle of the write
        let Some(output) = without_room(1, true, arguments) else { return };
        assert_eq!(output.status.code(), None, "{arguments:?}: {}", stderr(&output));
        for folder in [folder.path(), &*examples] {
            for left in names(folder).iter().filter(|name| name.ends_with(".partial")) {
                std::fs::remove_file(folder.join(left)).unwrap();
            }
        }
        assert_eq!((names(folder.path()), names(&examples)), before, "{arguments:?}");
    }
    assert_eq!(std::fs::read_to_string(&site).unwrap(), old);
    assert_eq!(std::fs::read_to_string(&drawing).unwrap(), "an older drawing");
    assert_eq!(std::fs::read_to_string(&example).unwrap(), "an older example");
    assert_eq!(std::fs::read_to_string(&record).unwrap(), "an older record");
}

/// Killed at any moment, the file is the old one or the new one, and what lies beside it is taken for
/// no site.
#[test]
fn a_kill_leaves_the_old_file_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let arguments = ["pin", site.to_str().unwrap(), "--write", "--as-of", "2026-11-25"];
    let old = std::fs::read_to_string(root().join(SITE)).unwrap();
    std::fs::write(&site, &old).unwrap();
    let started = Instant::now();
    assert!(asleft(&arguments).output().unwrap().status.success());
    let takes = started.elapsed();
    let new = std::fs::read_to_string(&site).unwrap();
    assert!(new.starts_with(&old) && new.contains("pinned:"));
    let (mut kept, mut replaced) = (0, 0);
    for n in 0..40u32 {
        std::fs::write(&site, &old).unwrap();
        let mut child = asleft(&arguments).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // spread over the whole run, and closest together towards its end, where the file is written
        let moment = if n % 4 == 0 { takes * n / 40 } else { takes * (70 + n) / 100 };
        std::thread::sleep(moment.min(Duration::from_millis(500)));
        child.kill().unwrap();
        child.wait().unwrap();
        match std::fs::read_to_string(&site).unwrap() {
            now if now == old => kept += 1,
            now if now == new => replaced += 1,
            half => panic!("neither the old file nor the new one:\n{half}"),
        }
    }
    println!("{kept} times the old file, {replaced} times the new one");
    assert!(kept > 0, "every run was over before it was killed");
    let output = asleft(&["check", folder.path().to_str().unwrap(), "--format", "json"]).output().unwrap();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["sites"].as_array().map(Vec::len), Some(1), "{answer}");
}
