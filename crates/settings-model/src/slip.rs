//! What is wrong with a piece of text, and how to mend it. A slip cannot be made without a remedy.

use std::fmt;

/// What is wrong with a piece of text, and how to mend it. Without a place: whoever holds the text
/// knows where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// What is wrong, as a phrase that stands alone: `` `265` has no unit ``.
    pub says: String,
    /// What to write or do instead.
    pub mend: String,
}

impl Slip {
    /// What is wrong, and how to mend it.
    #[must_use]
    pub fn new(says: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { says: says.into(), mend: mend.into() }
    }
}

/// In one line, for where no finding is made of it.
impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.says, self.mend)
    }
}

impl std::error::Error for Slip {}

/// `a voltage`, `an active power`.
#[must_use]
pub fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {noun}")
}

/// `V, kV or mV`.
#[must_use]
pub fn one_of<S: AsRef<str>>(words: &[S]) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match &words[..] {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// So many names of a file's own are listed in one message.
const MOST_LISTED: usize = 60;
/// So much of a name is shown.
const MOST_OF_A_NAME: usize = 60;

/// `a, b, c`: names that a file gave, of which a hostile one has many, and long ones.
#[must_use]
pub fn listed<S: AsRef<str>>(names: &[S]) -> String {
    let shown: Vec<&str> = names.iter().take(MOST_LISTED).map(|name| beginning(name.as_ref(), MOST_OF_A_NAME)).collect();
    let left = names.len() - shown.len();
    if left == 0 { shown.join(", ") } else { format!("{}, and {left} more", shown.join(", ")) }
}

/// At most so many characters of a text, from its beginning.
#[must_use]
pub fn beginning(text: &str, most: usize) -> &str {
    text.char_indices().nth(most).map_or(text, |(end, _)| &text[..end])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_articles_read_as_english() {
        assert_eq!([one_of(&["V"]), one_of(&["V", "kV"]), one_of(&["a", "b", "c"])], ["V", "V or kV", "a, b or c"]);
        assert_eq!([listed(&["a"]), listed(&["a", "b"])], ["a", "a, b"]);
        assert_eq!([with_article("active power"), with_article("ramp rate")], ["an active power", "a ramp rate"]);
    }

    #[test]
    fn a_list_of_a_files_own_names_ends() {
        let names = vec!["°".repeat(100_000); 1_000];
        let listed = listed(&names);
        assert!(listed.ends_with(", and 940 more") && listed.len() < 10_000, "{}", listed.len());
    }
}
