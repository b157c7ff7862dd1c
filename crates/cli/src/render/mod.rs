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

/// The same at the beginning.
pub fn title(out: &mut dyn Write, words: &str, rest: &str) -> io::Result<()> {
    let rest = if rest.is_empty() { String::new() } else { format!("  {rest}") };
    match colour() {
        true => writeln!(out, "{}{words}{}{rest}", style("1"), style("0")),
        false => writeln!(out, "{words}{rest}"),
    }
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
    for word in unbroken(&text.replace('\n', " ")).split(' ').filter(|word| !word.is_empty()) {
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
