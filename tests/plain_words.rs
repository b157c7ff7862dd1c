//! Words that people stumbled over are in nothing that the program says: not in the cases, not in a refusal, not in the
//! README and not on a page. Each stands beside what is said in its place.

use crate::program;

use program::root;
use std::path::{Path, PathBuf};

/// What nobody shall read any more, and what stands there now.
const REPLACED: &[(&str, &str)] = &[
    ("just that", "exactly this value"),
    ("hangs on", "depends on"),
    ("known by read", "evidence: read-out, photo or display"),
    ("known by photo", "evidence: photo or test"),
    ("excess gone within", "export back under the limit within"),
    ("content was not seen", "not in profile"),
    ("of the fall at high frequency", "for the response to high frequency, % of the power at that moment"),
    ("counts per unit from", "the phase-to-neutral voltage"),
    ("by whom the rules entitle", "only by authorised persons"),
    ("governed, and nothing changes", "no change"),
    ("which way it leans", "`direction` says absorbing or supplying"),
    ("drops out too easily", "trips too early"),
    ("MIND", "BEFORE YOU START"),
    ("GIVES WAY", "WHERE OUTPUT IS REDUCED"),
    ("SETTLES", "OPERATING POINT"),
    ("TAKEN AS", "ASSUMED"),
    ("TAKEN FOR GRANTED", "ASSUMED"),
    ("TO STATE", "ADD TO THE SITE FILE"),
    ("Not told", "Could not tell"),
    ("KNOW:", "NO ACTION NEEDED"),
    ("strands", "makes non-compliant"),
    ("for as long as it lasts", "with no time limit"),
    ("promises more than the changes keep", "the version number is too low for these changes"),
    ("so it is: enough", "the declared version is high enough"),
    ("has other content now", "was changed since"),
    ("given way to reactive power", "reduced to make room for reactive power"),
    ("% at the least", "down to % of what was available"),
    ("AS IT WAS MADE", "UNALTERED"),
    ("AS IT WAS WRITTEN", "UNALTERED"),
    ("moved by", "may be changed by"),
    ("could have been given", "available"),
    ("held back by", "limited by"),
    ("came up (", "ramped up"),
    ("dropped out", "tripped or disconnected"),
];

/// Every file below a folder with one of these names or endings.
fn files(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            files(&entry, endings, found);
        } else if endings.iter().any(|ending| entry.to_string_lossy().ends_with(ending)) {
            found.push(entry);
        }
    }
}

/// What the program was seen to say, and what its pages say.
fn said() -> Vec<PathBuf> {
    let mut found = vec![root().join("README.md")];
    files(&root().join("tests/cases"), &["/printed"], &mut found);
    for folder in ["tests/refused", "tests/logs/refused"] {
        files(&root().join(folder), &[".txt"], &mut found);
    }
    let pages = std::fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    found.extend(pages.filter(|page| page.extension().is_some_and(|extension| extension == "md")));
    found.sort();
    assert!(found.len() > 400, "{}", found.len());
    found
}

#[test]
fn nothing_is_said_in_words_that_were_replaced() {
    let mut wrong = Vec::new();
    for file in said() {
        let text = std::fs::read_to_string(&file).unwrap();
        // a phrase may be folded
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for (word, instead) in REPLACED {
            for (at, _) in text.match_indices(word) {
                let begins = text[..at].chars().next_back().is_none_or(|c| !c.is_alphanumeric() && c != '-');
                let around = &text[text.floor_char_boundary(at.saturating_sub(40))..text.ceil_char_boundary((at + 60).min(text.len()))];
                if begins {
                    wrong.push(format!("{}: `{word}`, better `{instead}`: …{around}…", file.strip_prefix(root()).unwrap().display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} times\n{}", wrong.len(), wrong.join("\n"));
}

/// A remedy is a whole sentence: it does not end where a value was left out.
#[test]
fn no_remedy_ends_in_mid_sentence() {
    const OPEN: [&str; 10] = ["use", "to", "of", "as", "the", "a", "or", "and", "is", "with"];
    let mut remedies = 0;
    for file in said() {
        let text = std::fs::read_to_string(&file).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for (n, line) in lines.iter().enumerate() {
            let Some(first) = line.strip_prefix("  to do     ") else { continue };
            let later = lines[n + 1..].iter().take_while(|line| line.starts_with("            "));
            let remedy = later.fold(first.to_owned(), |all, line| format!("{all} {}", line.trim()));
            let last = remedy.trim_end_matches(['.', ':', ',', ';']).rsplit(' ').next().unwrap();
            assert!(!OPEN.contains(&last) && !remedy.ends_with([':', ',', ';']), "{}: {remedy}", file.display());
            remedies += 1;
        }
    }
    assert!(remedies > 300, "{remedies}");
}
