//! Every case of `cases/`, run once for all tests of this binary: what the program says, on as many cores as there are.
#![allow(dead_code, reason = "each test file uses its own part")]

use crate::program::root;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

/// A case, and what came of it.
pub struct Ran {
    /// `check/wrong-unit`
    pub name: String,
    /// As it is typed.
    pub command: String,
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

impl Ran {
    /// The verb, by its folder.
    pub fn verb(&self) -> &str {
        self.name.split('/').next().unwrap()
    }

    /// The name below the verb's folder.
    pub fn own_name(&self) -> &str {
        self.name.split_once('/').unwrap().1
    }

    pub fn folder(&self) -> PathBuf {
        root().join("tests/cases").join(&self.name)
    }

    /// Exit code, standard output and standard error, as a case keeps them.
    pub fn printed(&self) -> String {
        let mut printed = format!("exit {}\n", self.exit());
        for (name, text) in [("stdout", &self.stdout), ("stderr", &self.stderr)] {
            let _ = write!(printed, "--- {name}\n{text}");
        }
        printed
    }

    pub fn exit(&self) -> String {
        self.code.map_or("by signal".to_owned(), |code| code.to_string())
    }
}

/// All cases, in order.
pub fn all() -> &'static [Ran] {
    static ALL: OnceLock<Vec<Ran>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut folders = Vec::new();
        below(&root().join("tests/cases"), &mut folders);
        folders.sort();
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let mut ran: Vec<Ran> = std::thread::scope(|scope| {
            let folders = &folders;
            let part = |n: usize| folders.iter().skip(n).step_by(cores).map(|folder| run(folder)).collect::<Vec<_>>();
            let workers: Vec<_> = (0..cores).map(|n| scope.spawn(move || part(n))).collect();
            workers.into_iter().flat_map(|worker| worker.join().unwrap()).collect()
        });
        ran.sort_by(|one, other| one.name.cmp(&other.name));
        assert!(ran.len() >= 400, "{}", ran.len());
        ran
    })
}

fn below(folder: &Path, found: &mut Vec<PathBuf>) {
    if folder.join("command").is_file() {
        found.push(folder.to_owned());
    }
    for entry in std::fs::read_dir(folder).unwrap().flatten().filter(|entry| entry.path().is_dir()) {
        below(&entry.path(), found);
    }
}

/// `NAME=value … < file asleft arguments`, with `CASE` standing for the case's own folder.
fn run(folder: &Path) -> Ran {
    let case = folder.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
    let line = std::fs::read_to_string(folder.join("command")).unwrap().replace("CASE", &case);
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES").stdin(Stdio::null());
    let mut words = line.split_whitespace();
    while let Some(word) = words.next() {
        match word.split_once('=') {
            Some((name, value)) if name.chars().all(|c| c.is_ascii_uppercase() || c == '_') => drop(command.env(name, value)),
            _ if word == "<" => drop(command.stdin(std::fs::File::open(root().join(words.next().unwrap())).unwrap())),
            _ => drop(command.arg(word)),
        }
    }
    let output = command.output().unwrap();
    Ran {
        name: case.strip_prefix("tests/cases/").unwrap().to_owned(),
        command: line,
        code: output.status.code(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}
