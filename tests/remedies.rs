//! A command that the program names can be pasted: every one of its messages, of its refusals and of its own sources is
//! run with its placeholders filled in.

use crate::program;

use crate::plain_words::files;
use program::root;
use std::collections::BTreeMap;
use std::process::{Command, Stdio};

/// What stands in a message for what only its reader knows.
const PLACEHOLDERS: &[(&str, &str)] = &[
    ("SITES", "tests/sites"),
    ("SITE", "tests/sites/larkspur-row-3.yaml"),
    ("RECORD", "tests/register/records/larkspur-row-3.json"),
    ("REGISTER", "tests/register/office.db"),
    ("BACKUP", "tests/register/office.db"),
    ("PROFILE.yaml", "profiles/overlays/quillbrook/2.0.0.yaml"),
    ("PROFILE", "quillbrook/2.0.0"),
    ("NETWORK", "quillbrook"),
    ("ATTESTATION", "tests/attested/disagrees/attestations/standards/hill-code/2021-amd1/fernhold.yaml"),
    ("LOG", "tests/logs/noon-creep.csv"),
    ("KIND", "site"),
    ("VERB", "check"),
    ("sheet.csv", "SHEET"),
    ("KEY", "office.key"),
];

/// Each command between backquotes; a command is never folded, and in Markdown the marks are escaped.
fn commands(text: &str) -> Vec<String> {
    let text = text.replace("\\`", "'");
    text.split('`').skip(1).filter(|part| part.starts_with("asleft ") && !part.contains('\n')).map(str::to_owned).collect()
}

/// What the program was seen to say.
fn seen() -> BTreeMap<String, String> {
    let mut said = Vec::new();
    files(&root().join("tests/cases"), &["/printed"], &mut said);
    files(&root().join("tests/refused"), &[".txt"], &mut said);
    files(&root().join("tests/logs/refused"), &[".txt"], &mut said);
    let mut seen = BTreeMap::new();
    for file in said {
        let text = std::fs::read_to_string(&file).unwrap();
        seen.extend(commands(&text).into_iter().map(|command| (command, file.display().to_string())));
    }
    seen
}

/// What it may say besides: the texts in its sources, with what the program writes into them filled in.
fn written() -> BTreeMap<String, String> {
    let mut sources = Vec::new();
    files(&root().join("crates"), &[".rs"], &mut sources);
    let mut written = BTreeMap::new();
    for file in sources.iter().filter(|file| file.to_string_lossy().contains("/src/")) {
        let text = std::fs::read_to_string(file).unwrap();
        let joined = text.lines().map(str::trim).filter(|line| !line.starts_with("//")).collect::<Vec<_>>().join("\n").replace("\\\n", "");
        for line in joined.lines().filter(|line| line.contains('"')) {
            written.extend(commands(line).iter().map(|command| (filled(command), format!("{}: {command}", file.display()))));
        }
    }
    written
}

/// `{name}` as the program fills it in.
fn filled(command: &str) -> String {
    let command = command.replace("--register {file}", "--register REGISTER").replace("--register {at}", "--register REGISTER");
    let known = [("{network}/{old} {network}/{new}", "quillbrook/2.0.0 quillbrook/3.0.0"), ("{what}s", "settings"), ("{kind}", "site")];
    let command = known.iter().fold(command, |command, (braces, is)| command.replace(braces, is));
    if command.starts_with("asleft exercise new {}") {
        return "asleft exercise new quillbrook/2.0.0 --seed 1 --students 2 --faults 1..3 --as-of 2026-11-25 --out CLASS --key ANSWERS"
            .to_owned();
    }
    if command.starts_with("asleft explain ") {
        return "asleft explain volt-watt/points".to_owned();
    }
    ["{site}", "{name}", "{file}", "{}"].iter().fold(command, |command, braces| command.replace(braces, "SITE"))
}

/// A folder with copies of what a command may write to.
struct Desk(tempfile::TempDir);

impl Desk {
    fn new() -> Self {
        let desk = tempfile::tempdir().unwrap();
        let sheet = Command::new(env!("CARGO_BIN_EXE_asleft"))
            .current_dir(root())
            .args(["sheet", "tests/sites/larkspur-row-3.yaml", "--format", "csv", "--as-of", program::DAY])
            .output()
            .unwrap();
        std::fs::write(desk.path().join("sheet.csv"), sheet.stdout).unwrap();
        Self(desk)
    }

    /// The words of a command, each file of the repository as a copy.
    fn words(&self, command: &str) -> Vec<String> {
        let command = command.split(" > ").next().unwrap();
        let word = |word: &str| {
            let known = PLACEHOLDERS.iter().find(|(placeholder, _)| *placeholder == word).map_or(word, |(_, is)| is);
            let (here, copy) = (root().join(known), self.0.path().join(known.replace('/', "-")));
            match known {
                "SHEET" => self.0.path().join("sheet.csv").display().to_string(),
                "office.key" => self.0.path().join("office.key").display().to_string(),
                _ if here.is_file() => {
                    std::fs::copy(here, &copy).unwrap();
                    copy.display().to_string()
                }
                _ if here.is_dir() && known.contains('/') => here.display().to_string(),
                _ => known.to_owned(),
            }
        };
        command.split_whitespace().skip(1).map(word).collect()
    }
}

#[test]
fn every_command_that_is_named_works_as_it_is_pasted() {
    let desk = Desk::new();
    let (seen, written) = (seen(), written());
    assert!(seen.len() >= 15 && written.len() >= 30, "{} seen, {} written", seen.len(), written.len());
    let mut wrong = Vec::new();
    for (command, place) in seen.into_iter().chain(written) {
        if command.contains('…') {
            wrong.push(format!("{command}: `…` cannot be pasted ({place})"));
            continue;
        }
        let output = Command::new(env!("CARGO_BIN_EXE_asleft"))
            .current_dir(desk.0.path())
            .env("NO_COLOR", "1")
            .env_remove("ASLEFT_PROFILES")
            .stdin(Stdio::null())
            .args(desk.words(&command))
            .output()
            .unwrap();
        let says = String::from_utf8_lossy(&output.stderr).into_owned();
        if output.status.code() == Some(2) && says.starts_with("error:") {
            wrong.push(format!("{command} ({place})\n  {}", says.lines().next().unwrap_or_default()));
        }
    }
    assert!(wrong.is_empty(), "{} commands\n{}", wrong.len(), wrong.join("\n"));
}

/// The marks `[1]`, `[2]` … of a text.
fn marks(text: &str) -> Vec<usize> {
    let mut marks: Vec<usize> = text.split('[').skip(1).filter_map(|rest| rest.split_once(']')?.0.parse().ok()).collect();
    marks.sort_unstable();
    marks.dedup();
    marks
}

/// `[3]` beside a figure has its line below the table, and each line there a figure.
#[test]
fn every_source_that_a_table_names_stands_below_it() {
    let mut numbered = 0;
    for entry in std::fs::read_dir(root().join("tests/sites")).unwrap() {
        let site = format!("tests/sites/{}", entry.unwrap().file_name().to_string_lossy());
        for columns in [80, 100] {
            let sheet = program::with_columns(columns, &["sheet", &site, "--all", "--as-of", program::DAY]);
            let text = String::from_utf8(sheet.stdout).unwrap();
            // of each device its tables, then what they name
            let mut tables = "";
            for part in text.split("\n\n") {
                let Some(below) = part.strip_prefix("FROM  ") else {
                    tables = &text[..text.find(part).unwrap() + part.len()];
                    continue;
                };
                let tables = tables.rsplit("\nFROM  ").next().unwrap();
                let tables = tables.split_once("\n\n").map_or(tables, |(_, own)| own);
                let told: Vec<usize> = below
                    .lines()
                    .filter_map(|line| line.strip_prefix("  [")?.split_once(']'))
                    .filter(|(_, says)| !says.trim().is_empty())
                    .filter_map(|(number, _)| number.parse().ok())
                    .collect();
                assert_eq!(marks(tables), told, "{site} at {columns} columns");
                numbered += told.len();
            }
        }
    }
    assert!(numbered > 500, "{numbered}");
}
