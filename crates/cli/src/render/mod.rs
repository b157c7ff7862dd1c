//! How answers look, one file for each medium.

pub mod findings;
pub mod table;

use std::io::IsTerminal;

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

/// Text in lines of at most `width`, later ones indented.
pub fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
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
    lines.join("\n")
}
