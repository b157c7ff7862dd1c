//! Words that people stumbled over are in nothing that the program says: not in the cases, not in a refusal, not in the
//! README and not on a page. Each stands beside what is said in its place.

use crate::{program, ran};

use program::root;
use std::collections::BTreeSet;
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
    ("drop out by", "no stage disconnected it"),
    ("stands under", "requirements: …; has to meet …"),
    ("gives way", "reduces its output"),
    ("is taken to", "is assumed to"),
    ("are taken to", "are assumed to"),
    ("is taken instead", "is used instead"),
    ("acts is chance", "which of them acts is not defined"),
    ("no layer asks", "no requirement asks"),
    ("cannot be weighed", "is not in the profile and cannot be compared"),
    ("not seen by those", "its table is not in the profile"),
    ("the range below", "the range that is left to it"),
    ("way of the figure", "how the figure is worked out"),
    ("content of then", "the version of that day"),
    ("make it absent", "set it to absent or off"),
    ("bring it to", "set it to"),
    ("bring it within", "set it within"),
    ("says the value", "decides the value"),
    ("a demand", "a requirement"),
    ("are wanted", "name two versions"),
];

/// Every file below a folder with one of these names or endings.
pub fn files(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            files(&entry, endings, found);
        } else if endings.iter().any(|ending| entry.to_string_lossy().ends_with(ending)) {
            found.push(entry);
        }
    }
}

/// What the program says in every case, and what its pages say: a name, and the text.
fn said() -> Vec<(String, String)> {
    let mut pages = vec![root().join("README.md")];
    for folder in ["tests/refused", "tests/logs/refused"] {
        files(&root().join(folder), &[".txt", ".facts"], &mut pages);
    }
    let book = std::fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    pages.extend(book.filter(|page| page.extension().is_some_and(|extension| extension == "md")));
    let read = |page: PathBuf| (page.strip_prefix(root()).unwrap().display().to_string(), std::fs::read_to_string(&page).unwrap());
    let cases = ran::all().iter().map(|ran| (ran.name.clone(), ran.printed()));
    pages.into_iter().map(read).chain(cases).collect()
}

/// Where a text says what was replaced.
pub fn replaced_in(name: &str, text: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    // a phrase may be folded
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for (word, instead) in REPLACED {
        for (at, _) in text.match_indices(word) {
            let begins = text[..at].chars().next_back().is_none_or(|c| !c.is_alphanumeric() && c != '-');
            let around = &text[text.floor_char_boundary(at.saturating_sub(40))..text.ceil_char_boundary((at + 60).min(text.len()))];
            if begins {
                wrong.push(format!("{name}: `{word}`, better `{instead}`: …{around}…"));
            }
        }
    }
    wrong
}

#[test]
fn nothing_is_said_in_words_that_were_replaced() {
    let said = said();
    assert!(said.len() > 450, "{}", said.len());
    let wrong: Vec<String> = said.iter().flat_map(|(name, text)| replaced_in(name, text)).collect();
    assert!(wrong.is_empty(), "{} times\n{}", wrong.len(), wrong.join("\n"));
}

/// The remedies of a text, and those that end where a value was left out.
pub fn remedies_in(text: &str) -> (usize, Vec<String>) {
    const OPEN: [&str; 12] = ["use", "to", "of", "as", "the", "a", "or", "and", "is", "with", "write", "only"];
    let (mut count, mut open) = (0, Vec::new());
    let lines: Vec<&str> = text.lines().collect();
    for (n, line) in lines.iter().enumerate() {
        let Some(first) = line.strip_prefix("  to do     ") else { continue };
        let later = lines[n + 1..].iter().take_while(|line| line.starts_with("            "));
        let remedy = later.fold(first.to_owned(), |all, line| format!("{all} {}", line.trim()));
        let last = remedy.trim_end_matches(['.', ':', ',', ';']).rsplit(' ').next().unwrap();
        open.extend((OPEN.contains(&last) || remedy.ends_with([':', ',', ';'])).then(|| remedy.clone()));
        count += 1;
    }
    (count, open)
}

/// A remedy is a whole sentence; of refusals that have a row, `refusal` holds it.
#[test]
fn no_remedy_ends_in_mid_sentence() {
    let mut remedies = 0;
    for (name, text) in said() {
        let (count, open) = remedies_in(&text);
        assert!(open.is_empty(), "{name}: {open:?}");
        remedies += count;
    }
    assert!(remedies > 200, "{remedies}");
}

/// The page of all sentences, to be read: `target/sentences.txt`, by verb, each once.
#[test]
fn all_sentences_are_on_one_page() {
    let mut page = String::new();
    let (mut verb, mut known, mut count) = ("", BTreeSet::new(), 0);
    for ran in ran::all().iter().filter(|ran| !["json", "sarif", "csv", "html", "lines"].iter().any(|form| ran.command.contains(form))) {
        if ran.verb() != verb {
            verb = ran.verb();
            page.push_str(&format!("\n## {verb}\n\n"));
        }
        for sentence in sentences(&format!("{}\n\n{}", ran.stdout, ran.stderr)) {
            // one that differs in its figures alone is the same
            let alike: String = sentence.chars().filter(|c| !c.is_ascii_digit()).collect();
            if known.insert(alike) {
                page.push_str(&format!("{sentence}\n"));
                count += 1;
            }
        }
    }
    std::fs::create_dir_all(root().join("target")).unwrap();
    std::fs::write(root().join("target/sentences.txt"), page).unwrap();
    assert!(count > 700, "{count}");
}

/// Texts with their folded lines joined; rows of tables are none.
fn sentences(text: &str) -> Vec<String> {
    let indent = |line: &str| line.chars().take_while(|c| *c == ' ').count();
    let mut found: Vec<(usize, String)> = Vec::new();
    for line in text.lines() {
        match found.last_mut() {
            Some((own, last)) if indent(line) > *own && !line.trim().is_empty() && !last.is_empty() => {
                last.push_str(&format!(" {}", line.trim()));
            }
            _ => found.push((indent(line), line.trim().to_owned())),
        }
    }
    let is_sentence = |text: &String| text.split_whitespace().count() > 3 && text.matches("  ").count() < 3 && !text.starts_with("in  ");
    found.into_iter().map(|(_, text)| text).filter(is_sentence).collect()
}
