//! Markdown for pages and tickets.

/// Text in which nothing is taken for Markdown of its own.
pub fn markdown(text: &str) -> String {
    let special = |c: char| matches!(c, '\\' | '*' | '_' | '`' | '<' | '>' | '[' | ']' | '|' | '#' | '~');
    text.chars().flat_map(|c| special(c).then_some('\\').into_iter().chain([c])).collect()
}
