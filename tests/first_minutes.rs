//! The first minutes at a site of one's own: what `new` and `check` name next is pasted, and leads to a verdict.

use crate::{new_files, program};

use new_files::{COMPLETE, INVERTER};
use program::DAY;
use std::path::Path;
use std::process::{Command, Output};

fn at(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(folder).env("COLUMNS", "80").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES").args(arguments);
    command.output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// The commands of a text, each by its words and where its output goes.
fn named(text: &str) -> Vec<(Vec<String>, Option<String>)> {
    let of = |command: &str| {
        let (words, to) = command.split_once(" > ").map_or((command, None), |(words, to)| (words, Some(to.trim().to_owned())));
        (words.split_whitespace().skip(1).map(str::to_owned).collect(), to)
    };
    text.split('`').filter(|part| part.starts_with("asleft ")).map(of).collect()
}

/// What `new` answers when it is done, and what `check` says of the file as it is, are pasted one by one.
#[test]
fn what_is_named_next_leads_to_the_sheet_and_to_a_verdict_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let made = at(folder.path(), &[&["new", "sawmill-1.yaml"][..], &COMPLETE, &INVERTER].concat());
    assert_eq!(made.status.code(), Some(0), "{}", said(&made));
    let next: Vec<String> = said(&made)
        .lines()
        .filter_map(|line| line.strip_prefix("  asleft "))
        .map(|line| format!("`asleft {}`", line.split("  #").next().unwrap()))
        .collect();
    assert_eq!(next.len(), 3, "{}", said(&made));

    let check = at(folder.path(), &["check", "sawmill-1.yaml", "--as-of", DAY]);
    assert_eq!(check.status.code(), Some(1));
    let from_check = named(&said(&check));
    assert_eq!(from_check.len(), 2, "{}", said(&check));
    assert!(said(&check).lines().all(|line| line.chars().count() <= 80), "{}", said(&check));

    for (words, to) in next.iter().flat_map(|line| named(line)).chain(from_check) {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let output = at(folder.path(), &[&words[..], &["--as-of", DAY]].concat());
        match to {
            Some(file) => std::fs::write(folder.path().join(file), &output.stdout).unwrap(),
            None if words.contains(&"--filled") => {
                assert!(output.status.code() == Some(2) && said(&output).contains("nothing is filled in"), "{words:?}: {}", said(&output));
            }
            None => assert_eq!(output.status.code(), Some(0), "{words:?}: {}", said(&output)),
        }
    }
}

/// A rise that nobody stated is a matter of the installation: no region has to do with it.
#[test]
fn a_rise_that_is_missing_says_what_to_write_or_what_to_run() {
    let folder = tempfile::tempdir().unwrap();
    let of = ["--standard", "as-nzs-4777.2/2020-amd2", "--installation", "as-nzs-4777.1/2024", "--region", "australia-a"];
    let more = ["--installed", "2026-04-09", "--phases", "1", "--export", "fixed=5kW"];
    let made = at(folder.path(), &[&["new", "sawmill-1.yaml"], &of[..], &more, &INVERTER].concat());
    assert_eq!(made.status.code(), Some(0), "{}", said(&made));
    let says = said(&at(folder.path(), &["check", "sawmill-1.yaml", "--as-of", DAY]));
    let (_, rise) = says.split_once("installation: ").unwrap_or_else(|| panic!("{says}"));
    assert!(!rise.contains("region"), "{rise}");
    assert!(rise.contains("`asleft rise sawmill-1.yaml`") && rise.contains("voltage-rise: { total: …"), "{rise}");
}

/// A name that a shell would take apart stays one word in what is pasted.
#[test]
fn a_name_with_spaces_is_quoted() {
    let folder = tempfile::tempdir().unwrap();
    let made = at(folder.path(), &[&["new", "saw mill.yaml"][..], &COMPLETE, &INVERTER].concat());
    assert_eq!(made.status.code(), Some(0), "{}", said(&made));
    let says = said(&at(folder.path(), &["check", "saw mill.yaml", "--as-of", DAY]));
    assert!(says.contains("asleft sheet 'saw mill.yaml' --format csv"), "{says}");
}
