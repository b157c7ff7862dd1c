//! How answers look, one file for each medium.

pub mod findings;
pub mod markdown;
pub mod origins;
pub mod spreadsheet;
pub mod table;

use rules::phrase::UNBROKEN;
pub use rules::phrase::{capitalised, unbroken};
use std::io::{self, IsTerminal, Write};
use terminal::style;

/// Columns to lay out for: the terminal's own, or 100; `COLUMNS` overrides both.
pub fn width() -> usize {
    let asked = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
    let terminal = || terminal_size::terminal_size().map(|(columns, _)| usize::from(columns.0));
    asked.or_else(terminal).unwrap_or(100).clamp(60, 160)
}

/// Whether standard output takes colour: a terminal, and nobody said otherwise.
pub fn colour() -> bool {
    std::io::stdout().is_terminal() && colour_allowed()
}

/// Whether nobody asked for plain text.
pub fn colour_allowed() -> bool {
    std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// A heading, and what it means, after an empty line.
pub fn heading(out: &mut dyn Write, words: &str, rest: &str) -> io::Result<()> {
    writeln!(out)?;
    title(out, words, rest)
}

/// The same at the beginning, folded where the terminal is too narrow for it.
pub fn title(out: &mut dyn Write, words: &str, rest: &str) -> io::Result<()> {
    let (folded, _) = beside(words, rest, width());
    match colour() {
        true => writeln!(out, "{}{words}{}{folded}", style("1"), style("0")),
        false => writeln!(out, "{words}{folded}"),
    }
}

/// What stands behind the words of a heading, in lines of at most `width`, and how many lines the heading has.
pub fn beside(words: &str, rest: &str, width: usize) -> (String, usize) {
    if rest.is_empty() {
        return (String::new(), 1);
    }
    let used = words.chars().count() + 2;
    if used + rest.chars().count() <= width {
        return (format!("  {rest}"), 1);
    }
    // in front of the first line stand the words
    let text = wrapped(&format!("{}{rest}", UNBROKEN.to_string().repeat(used)), width, 2);
    let lines = text.lines().count();
    (text.chars().skip(used - 2).collect(), lines)
}

/// A path in a command that can be pasted.
pub fn quoted(path: &str) -> String {
    match path.chars().all(|c| c.is_ascii_alphanumeric() || "/._-:".contains(c)) {
        true => path.to_owned(),
        false => format!("'{}'", path.replace('\'', r"'\''")),
    }
}

/// What stands in remedies for the file of the site.
const SITE: &str = " SITE";

/// A remedy with the site's file in its commands.
pub fn with_site(remedy: &str, file: &str) -> String {
    let is_one = [".yaml", ".yml", ".json"].iter().any(|ending| file.ends_with(ending));
    if is_one { remedy.replace(SITE, &format!(" {}", quoted(file))) } else { remedy.to_owned() }
}

/// A command between backquotes is one word: whoever copies a line of it has all of it.
fn whole_commands(text: &str) -> String {
    let parts = text.split('`').enumerate().map(|(n, part)| match n % 2 == 1 && part.starts_with("asleft ") {
        true => part.replace(' ', &UNBROKEN.to_string()),
        false => part.to_owned(),
    });
    parts.collect::<Vec<_>>().join("`")
}

/// An answer for programs: JSON that people can read too, and a newline.
pub fn json(out: &mut dyn Write, answer: &impl serde::Serialize) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, answer)?;
    writeln!(out)
}

/// Text in lines of at most `width`, later ones indented; its own line breaks are spaces, so that no part of it
/// stands on a line as if it were another text.
pub fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut lines = vec![String::new()];
    for word in whole_commands(&unbroken(&text.replace('\n', " "))).split(' ').filter(|word| !word.is_empty()) {
        let line = lines.last_mut().expect("starts with one");
        if !line.trim().is_empty() && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(format!("{}{word}", " ".repeat(indent)));
        } else {
            if !line.trim().is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n").replace(UNBROKEN, " ")
}
