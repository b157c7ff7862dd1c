//! What is said of a file that is refused: whole where a text is kept beside it, else by a row in the table of its folder.
//!
//! ```text
//! alias | (alias) 9:12 an alias is not read here -> write the value where the alias stands
//! ```
//!
//! The name of the fault, its line and column, how the message begins, and how the remedy does; of several faults, each.

use crate::plain_words;
use std::collections::BTreeMap;
use std::path::Path;

/// So many letters of a message are held, and of a remedy.
const BEGINNING: (usize, usize) = (64, 40);

/// What differs from what is kept; with `ASLEFT_REWRITE` nothing does, and this is kept.
pub fn difference(case: &Path, says: &str) -> Option<String> {
    let rewrites = std::env::var_os("ASLEFT_REWRITE").is_some();
    let text = case.with_extension("txt");
    let replaced = plain_words::replaced_in(&case.display().to_string(), says);
    let (_, unfinished) = plain_words::remedies_in(says);
    if !replaced.is_empty() || !unfinished.is_empty() {
        return Some([replaced, unfinished].concat().join("\n"));
    }
    if let Ok(kept) = std::fs::read_to_string(&text) {
        if rewrites {
            std::fs::write(&text, says).unwrap();
        }
        return (!rewrites && kept != says).then(|| format!("--- kept\n{kept}\n--- now\n{says}"));
    }
    let (table, own) = (case.parent().unwrap().with_extension("facts"), case.file_stem().unwrap().to_string_lossy());
    let mut rows = rows(&table);
    let now = facts(says);
    if rewrites {
        rows.insert(own.into_owned(), now);
        let lines = rows.iter().map(|(case, facts)| format!("{case} | {facts}\n"));
        std::fs::write(&table, lines.collect::<String>()).unwrap();
        return None;
    }
    let kept = rows.get(&*own).map_or("no row", |row| row);
    (kept != now).then(|| format!("--- row of {}\n{kept}\n--- now\n{now}\n--- from\n{says}", table.display()))
}

fn rows(table: &Path) -> BTreeMap<String, String> {
    let text = std::fs::read_to_string(table).unwrap_or_default();
    text.lines().filter_map(|line| line.split_once(" | ")).map(|(case, facts)| (case.to_owned(), facts.to_owned())).collect()
}

/// How many rows a table has, so that none stays when its file is gone.
pub fn count(table: &Path) -> usize {
    rows(table).len()
}

/// Each finding in short.
fn facts(says: &str) -> String {
    let findings = says.split("cannot be used ").skip(1).map(|finding| {
        let (headline, rest) = finding.split_once("\n  ").unwrap_or((finding, ""));
        // the first lines are the headline's, folded or not
        let folded: Vec<&str> = finding.lines().skip(1).take_while(|line| line.starts_with("    ")).collect();
        let headline = squeezed(&[&[headline.lines().next().unwrap_or_default()][..], &folded].concat().join(" "));
        let (name, says) = headline.split_once("): ").unwrap_or((&headline, ""));
        let place = rest.lines().find_map(|line| line.rsplit_once(", line ")).map_or(String::new(), |(_, at)| at.replace(", column ", ":"));
        let remedy = finding.split_once("\n  to do ").map_or("", |(_, remedy)| remedy).split("\n\n").next().unwrap_or_default();
        format!("{name}) {place} {} -> {}", beginning(says, BEGINNING.0), beginning(&squeezed(remedy), BEGINNING.1))
    });
    findings.collect::<Vec<_>>().join(" & ")
}

fn beginning(text: &str, most: usize) -> String {
    text.chars().take(most).collect::<String>().trim_end().to_owned()
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
