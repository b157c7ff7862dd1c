//! What is wrong with a piece of text, and how to mend it. A slip cannot be made without a remedy.

use std::fmt;

/// What is wrong with a piece of text, and how to mend it. Without a place: whoever holds the text
/// knows where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// What is wrong, as a phrase that stands alone: `` `265` has no unit ``.
    pub says: String,
    /// What to write or do instead.
    pub help: String,
}

impl Slip {
    /// What is wrong, and how to mend it.
    #[must_use]
    pub fn new(says: impl Into<String>, help: impl Into<String>) -> Self {
        Self { says: says.into(), help: help.into() }
    }
}

/// What parts thousands, here or there: points, commas, apostrophes, and spaces of every width.
const BETWEEN_THOUSANDS: [char; 8] = ['.', ',', '\'', '’', ' ', '\u{a0}', '\u{2009}', '\u{202f}'];

/// A number that is written with thousands apart, as it is written without: `1.231,5`, `1,231.5`, `4 999,5` and
/// `1'231.5` are 1231.5, 4999.5 and 1231.5. `None` where it is no such number, or may be one with three decimals.
#[must_use]
pub fn without_thousands_apart(number: &str) -> Option<String> {
    let (sign, digits) = number.strip_prefix(['-', '−']).map_or(("", number), |digits| ("-", digits));
    let parting = digits.chars().find(|c| !c.is_ascii_digit()).filter(|c| BETWEEN_THOUSANDS.contains(c))?;
    let mut groups = digits.split(parting);
    let first = groups.next().filter(|first| (1..=3).contains(&first.len()) && !first.starts_with('0'))?;
    let mut whole = first.to_owned();
    let (mut decimals, mut count) = (None, 0);
    for group in groups {
        if decimals.is_some() {
            return None;
        }
        let (thousand, rest) = group.split_once(['.', ',']).map_or((group, None), |(thousand, rest)| (thousand, Some(rest)));
        if thousand.len() != 3 || !thousand.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        whole += thousand;
        decimals = rest;
        count += 1;
    }
    let decimals = decimals.unwrap_or_default();
    let is_sure = count > 1 || !decimals.is_empty() || !matches!(parting, '.' | ',');
    let is_number = decimals.bytes().all(|byte| byte.is_ascii_digit());
    let point = if decimals.is_empty() { "" } else { "." };
    (count > 0 && is_sure && is_number).then(|| format!("{sign}{whole}{point}{decimals}"))
}

/// In one line, for where no finding is made of it.
impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.says, self.help)
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

    #[test]
    fn thousands_that_stand_apart_are_put_together() {
        for (written, meant) in [
            ("1.231,5", "1231.5"),
            ("1,231.5", "1231.5"),
            ("-4 999,5", "-4999.5"),
            ("4\u{202f}999,5", "4999.5"),
            ("1'150", "1150"),
            ("1 150", "1150"),
            ("1.000.000", "1000000"),
        ] {
            assert_eq!(without_thousands_apart(written).as_deref(), Some(meant), "{written}");
        }
        for other in ["1.231", "1,231", "1231.5", "0,231.5", "1.23,5", "1.231,5,6", "1,23,231.5", "1.231.5", "1234.567,8", "", ".", "1.abc"]
        {
            assert_eq!(without_thousands_apart(other), None, "{other}");
        }
    }
}
