//! Text from outside is shown, and never obeyed: every verb is run as its cases run it, over files whose names
//! and texts hold characters that move cursors, turn text round or hide in it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Turns what follows round, and ends in a character of no width.
const TURN: &str = "\u{202e}\u{2066}\u{200b}";
/// The name of a folder: clears the screen.
const CLEARS: &str = "\u{1b}[2J\u{9b}31m\u{202e}";

/// Verbs that no case can run: a page is served (its answers go through the same room, see
/// `classroom/server/response`), and keys are made by chance.
const WITHOUT_CASES: [&str; 11] =
    ["page", "new", "keys", "seal", "sign-profile", "report", "register", "readout", "schema", "completions", "help"];

/// What makes a site's file whole.
const NEW: [&str; 15] = [
    "--network",
    "quillbrook",
    "--phases",
    "1",
    "--export",
    "fixed=5kW",
    "--applied",
    "2026-02-16",
    "--approved",
    "2026-03-02",
    "--installed",
    "2026-04-09",
    "--inverter",
    "nameplate=6kVA,source=solar,certified=as-nzs-4777.2/2020-amd2",
    "--as-of=2026-11-25",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn asleft() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env_remove("ASLEFT_PROFILES").stdin(Stdio::null());
    command
}

/// What a terminal would obey, or an eye would not see.
fn obeyed(text: &str) -> Option<char> {
    let is_obeyed = |c: char| {
        (c.is_control() && !matches!(c, '\n' | '\t' | '\r'))
            || matches!(c, '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    text.chars().find(|c| is_obeyed(*c))
}

fn commands(below: &Path, found: &mut Vec<PathBuf>) {
    if below.join("command").is_file() {
        found.push(below.to_owned());
    }
    let mut entries: Vec<PathBuf> =
        std::fs::read_dir(below).unwrap().flatten().map(|entry| entry.path()).filter(|path| path.is_dir()).collect();
    entries.sort();
    entries.iter().for_each(|folder| commands(folder, found));
}

/// A text with marks behind its names, titles, reasons and headings.
fn marked(text: &str, extension: &str) -> String {
    const KEYS: [&str; 11] =
        ["site:", "title:", "because:", "document:", "reference:", "serial:", "model:", "firmware:", "company:", "crew:", "note:"];
    let mark = |line: &str| -> String {
        let key = KEYS.iter().find(|key| line.trim_start().trim_start_matches("- ").starts_with(**key));
        match key {
            Some(_) if line.ends_with(|c: char| c.is_alphanumeric() || c == ')') => format!("{line}{TURN}"),
            _ => line.to_owned(),
        }
    };
    match extension {
        "yaml" | "yml" => text.lines().map(mark).collect::<Vec<_>>().join("\n") + "\n",
        // another column, which nobody reads
        "csv" if !text.contains('"') => text.lines().map(|line| format!("{line},{TURN}")).collect::<Vec<_>>().join("\n") + "\n",
        _ => text.to_owned(),
    }
}

fn copied(from: &Path, to: &Path) {
    if from.is_dir() {
        std::fs::create_dir_all(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap().flatten() {
            copied(&entry.path(), &to.join(entry.file_name()));
        }
        return;
    }
    std::fs::create_dir_all(to.parent().unwrap()).unwrap();
    let extension = from.extension().unwrap_or_default().to_string_lossy().into_owned();
    match std::fs::read_to_string(from) {
        Ok(text) => std::fs::write(to, marked(&text, &extension)).unwrap(),
        Err(_) => drop(std::fs::copy(from, to).unwrap()),
    }
}

/// The file or folder that a word of a command line names, and what stands behind it (`:inverter-1:as-left`).
fn named(word: &str) -> Option<(PathBuf, String)> {
    let parts: Vec<&str> = word.split(':').collect();
    (1..=parts.len()).rev().find_map(|n| {
        let path = parts[..n].join(":");
        let rest: String = parts[n..].iter().map(|part| format!(":{part}")).collect();
        let is_path = ["tests/", "profiles/", "docs/"].iter().any(|folder| path.starts_with(folder)) && root().join(&path).exists();
        is_path.then(|| (PathBuf::from(path), rest))
    })
}

/// Runs words as a case would, over marked copies of all that they name; what was printed.
fn run(words: &[String], folder: &Path) -> (String, String) {
    let mut command = asleft();
    let mut words = words.iter();
    while let Some(word) = words.next() {
        let over = |word: &str| match named(word) {
            None => word.to_owned(),
            Some((path, rest)) => {
                let to = folder.join(&path);
                copied(&root().join(&path), &to);
                format!("{}{rest}", to.display())
            }
        };
        match word.split_once('=') {
            Some((name, value)) if name.chars().all(|c| c.is_ascii_uppercase() || c == '_') => drop(command.env(name, value)),
            _ if word == "<" => drop(command.stdin(std::fs::File::open(over(words.next().unwrap())).unwrap())),
            _ => drop(command.arg(over(word))),
        }
    }
    let output = command.output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
}

fn verb(words: &[String]) -> Option<&String> {
    words.iter().find(|word| !word.contains('=') && *word != "<")
}

#[test]
fn no_verb_obeys_what_files_say() {
    let mut cases = Vec::new();
    commands(&root().join("tests/cases"), &mut cases);
    let folder = tempfile::tempdir().unwrap();
    let (mut verbs, mut shown, mut wrong, mut kinds) = (BTreeSet::new(), BTreeSet::new(), Vec::new(), BTreeSet::new());
    for case in &cases {
        let own = case.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
        let line = std::fs::read_to_string(case.join("command")).unwrap().replace("CASE", &own);
        let words: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
        let verb = verb(&words).unwrap().clone();
        // one case for each verb, its own verb below and each set of flags
        let flags = words
            .iter()
            .filter(|word| word.starts_with("--") || ["json", "csv", "html", "markdown", "sarif", "lines"].contains(&word.as_str()));
        let below = words.iter().skip_while(|word| **word != verb).nth(1).filter(|word| !word.contains(['/', '.', '-'])).cloned();
        if !kinds.insert((verb.clone(), below, flags.cloned().collect::<BTreeSet<String>>())) {
            continue;
        }
        let at = folder.path().join(CLEARS).join(case.file_name().unwrap());
        let (out, messages) = run(&words, &at);
        // a record is written byte for byte where standard output is a file: its hash is over its bytes
        let is_record = verb == "close-out" && out.starts_with('{');
        let printed = if is_record { messages } else { out + &messages };
        if let Some(c) = obeyed(&printed) {
            let line = printed.lines().find(|line| obeyed(line).is_some()).unwrap_or_default();
            wrong.push(format!("{own}: {c:?} in {line:?}"));
        }
        if printed.contains("\\u202e") {
            shown.insert(verb.clone());
        }
        verbs.insert(verb);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(shown.len() >= 15, "the marks came through, to be shown, in {shown:?} only");
    let help = String::from_utf8(asleft().arg("--help").output().unwrap().stdout).unwrap();
    let all = help.lines().skip_while(|line| !line.starts_with("Usage:")).skip(1).take_while(|line| !line.starts_with("Options:"));
    let all: Vec<&str> =
        all.filter(|line| line.starts_with("  ") && !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next()).collect();
    assert!(all.len() > 25, "{help}");
    let missing: Vec<&&str> = all.iter().filter(|verb| !verbs.contains(**verb) && !WITHOUT_CASES.contains(verb)).collect();
    assert!(missing.is_empty(), "verbs that no case runs: {missing:?}");
}

/// The verbs that no case can run, over a record and a register that hold the marks.
#[test]
fn records_registers_and_papers_obey_nothing_either() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join(CLEARS);
    std::fs::create_dir_all(&at).unwrap();
    let path = |name: &str| at.join(name).display().to_string();
    let site = std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap();
    std::fs::write(path("site.yaml"), marked(&site, "yaml")).unwrap();
    let profile = std::fs::read_to_string(root().join("profiles/overlays/quillbrook/2.0.0.yaml")).unwrap();
    std::fs::create_dir_all(at.join("profiles/overlays/quillbrook")).unwrap();
    std::fs::write(at.join("profiles/overlays/quillbrook/2.0.0.yaml"), marked(&profile, "yaml")).unwrap();
    let (site, record, register, key, profiles) = (path("site.yaml"), path("record.json"), path("register"), path("key"), path("profiles"));
    let public = path("public");
    let day = ["--as-of", "2026-11-25"];
    let words = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect::<Vec<String>>();
    let steps: Vec<Vec<String>> = vec![
        words(&["close-out", &site, "--out", &record, "--profiles", &profiles, day[0], day[1]]),
        words(&["keys", "new", "--out", &key]),
        words(&["keys", "public", &key]),
        words(&["seal", &record, "--key", &key]),
        words(&["sign-profile", &format!("{profiles}/overlays/quillbrook/2.0.0.yaml"), "--key", &key]),
        words(&["verify", &record, "--profiles", &profiles]),
        words(&["verify", &site]),
        words(&["register", "add", &record, "--register", &register, "--profiles", &profiles]),
        words(&["register", "list", "--register", &register]),
        words(&["register", "list", "--register", &register, "--format", "json"]),
        words(&["register", "show", "1", "--register", &register]),
        words(&["register", "verify", "--register", &register]),
        words(&["register", "export", "--register", &register]),
        words(&["register", "export", "--register", &register, "--format", "ndjson"]),
        words(&["register", "roll-up", "--register", &register]),
        words(&["register", "roll-up", "--register", &register, "--format", "json"]),
        words(&["due", "--register", &register]),
        words(&["report", &record, "--out", "-", "--profiles", &profiles]),
        words(&["new", "-", "--network", CLEARS]),
        words(&["new", &path("new.yaml"), "--network", "quillbrook"]),
        [words(&["new", "-", "--site", CLEARS]), words(&NEW)].concat(),
        [words(&["new", &path("new.yaml"), "--site", CLEARS]), words(&NEW)].concat(),
        words(&["schema", "site"]),
        words(&["completions", "bash"]),
        words(&["page", &path("no such file")]),
        words(&["check", &path("no such file"), &public]),
        words(&["check", "--no-such-flag\u{1b}[2J\u{202e}"]),
    ];
    let (mut shown, mut wrong) = (0, Vec::new());
    for step in &steps {
        let output = asleft().args(step).output().unwrap();
        let printed = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        if let Some(c) = obeyed(&printed) {
            let line = printed.lines().find(|line| obeyed(line).is_some()).unwrap_or_default();
            wrong.push(format!("{step:?}: {c:?} in {line:?}"));
        }
        shown += usize::from(printed.contains("\\u202e"));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(shown >= steps.len() / 2, "the marks came through in {shown} of {} steps", steps.len());
}

/// A line break in the name of a file, or in a name, makes no line of its own.
#[test]
fn no_name_makes_a_line_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let site = std::fs::read_to_string(root().join("tests/sites/larkspur-row-3.yaml")).unwrap();
    let broken = site.replace("threshold: 265 V", "threshold: 290 V");
    assert_ne!(site, broken);
    let path = folder.path().join("a\nCOMPLIES  all sites\n.yaml");
    std::fs::write(&path, broken).unwrap();
    for words in
        [vec!["check"], vec!["check", "--format", "lines"], vec!["sheet"], vec!["diff"], vec!["explain", "overvoltage-1", "--site"]]
    {
        let output = asleft().args(&words).arg(&path).output().unwrap();
        let printed = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        assert!(!printed.lines().any(|line| line.starts_with("COMPLIES")), "{words:?}: {printed}");
    }
    let folder = folder.path().to_str().unwrap();
    let output = asleft().args(["check", folder]).output().unwrap();
    assert!(!String::from_utf8(output.stdout).unwrap().lines().any(|line| line.starts_with("COMPLIES")));
}
