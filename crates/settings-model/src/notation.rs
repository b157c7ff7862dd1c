//! The notation of values and sets in files: `253 V`, `1 s to under 2 s`, `enabled or off`, points.
//!
//! One grammar for intervals everywhere: `A to B` includes both ends; `at least A`, `at most B`;
//! `over A`, `under B`, `over A to under B` leave the end out; a single value means just that one.
//! Dates also take `from` and `until`, which include the day named. Words are joined with `or`.

mod band;
mod level;
mod tube;
mod written;

pub use band::{Anchor, Coordinate, PointEdges, point_edges};
pub use level::{CountedFrom, Level, level};
pub use tube::tube;
use written::wrong_count;
pub use written::{MAX_POINTS, ValueFault, Written, descending, spacing};

use crate::cells::FactTest;
use crate::claim::{Bound, Claim, Evidence, Limit, ProvenanceId, Term, Words};
use crate::exact::Exact;
use crate::facts::{FactId, FactShape, days};
use crate::finding::nearest;
use crate::quantity::{Amount, Dimension};
use crate::slip::{Slip, one_of};

/// "Continuous", of a time that a device holds: above every finite time.
pub const NEVER: &str = "never";

/// Two edges, either of which may be missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// The lower edge.
    pub low: Option<Bound>,
    /// The upper edge.
    pub high: Option<Bound>,
}

impl Edges {
    /// Whether a number of base units lies between the edges, which must be plain.
    #[must_use]
    pub fn hold(&self, number: Exact) -> bool {
        self.low.is_none_or(|b| number > b.value.number || (!b.open && number == b.value.number))
            && self.high.is_none_or(|b| number < b.value.number || (!b.open && number == b.value.number))
    }

    /// The claims that a variable lies between the edges.
    pub fn claims(self, on: Term, why: ProvenanceId) -> impl Iterator<Item = Claim> {
        let low = self.low.map(|b| Claim { on, limit: Limit::AtLeast(b), why });
        let high = self.high.map(|b| Claim { on, limit: Limit::AtMost(b), why });
        low.into_iter().chain(high)
    }
}

/// Reads an interval of quantities.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn interval(dimension: Dimension, text: &str) -> Result<Edges, Slip> {
    let text = text.trim();
    if let Some(bound) = other_bound(text) {
        return Err(no_bound(text, format!("did you mean `{bound}`?")));
    }
    edges(text, |amount| dimension.parse(amount)).map_err(|slip| match dimension.dashed(text) {
        Some(meant) => Slip::new(format!("`{text}` has a dash between its ends"), format!("write `{meant}`")),
        None if text.starts_with(char::is_alphabetic) && !BOUNDS.iter().any(|(words, ..)| text.starts_with(words)) => {
            no_bound(text, "write `A to B`, `at least A`, `at most A`, `over A` or `under A`".to_owned())
        }
        None => slip,
    })
}

fn no_bound(text: &str, help: String) -> Slip {
    Slip::new(format!("`{text}` is not how an interval is written"), help)
}

/// Other ways to say a bound, and how this notation says it.
const OTHER_BOUNDS: [(&str, &str); 16] = [
    (">=", "at least"),
    ("<=", "at most"),
    ("≥", "at least"),
    ("≤", "at most"),
    (">", "over"),
    ("<", "under"),
    ("=", ""),
    ("max ", "at most"),
    ("maximum ", "at most"),
    ("up to ", "at most"),
    ("min ", "at least"),
    ("minimum ", "at least"),
    ("above ", "over"),
    ("more than ", "over"),
    ("below ", "under"),
    ("less than ", "under"),
];

fn other_bound(text: &str) -> Option<String> {
    let (rest, ours) = OTHER_BOUNDS.iter().find_map(|(theirs, ours)| Some((text.strip_prefix(theirs)?, ours)))?;
    Some(format!("{ours} {}", rest.trim()).trim().to_owned())
}

/// Reads an interval of dates: `from 2032-02-01`, `2032-01-01 to 2032-06-30`.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn date_interval(text: &str) -> Result<Edges, Slip> {
    let text = text.trim();
    let date = |t: &str| date(t).map(|d| Amount::plain(days(d)));
    if let Some(first) = text.strip_prefix("from ") {
        return Ok(Edges { low: Some(Bound::closed(date(first)?)), high: None });
    }
    if let Some(last) = text.strip_prefix("until ") {
        return Ok(Edges { low: None, high: Some(Bound::closed(date(last)?)) });
    }
    if !text.starts_with(|c: char| c.is_ascii_digit()) && !BOUNDS.iter().any(|(words, ..)| text.starts_with(words)) {
        return Err(no_bound(text, "write `from 2026-02-03`, `until 2026-02-03` or `2026-02-03 to 2026-06-30`".to_owned()));
    }
    edges(text, date)
}

/// Reads `2032-02-01`.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn date(text: &str) -> Result<jiff::civil::Date, Slip> {
    let text = text.trim();
    let help = "write year, month and day as `2026-02-03`";
    let Some((year, month, day)) = date_numbers(text.as_bytes()) else {
        let help = in_another_order(text).unwrap_or_else(|| help.to_owned());
        return Err(Slip::new(format!("`{text}` is not a date"), help));
    };
    if !YEARS.contains(&year) {
        let help = format!("check the year: dates here lie between {} and {}", YEARS.start(), YEARS.end());
        return Err(Slip::new(format!("{text} is beyond any date of a site or a requirement"), help));
    }
    let in_calendar = jiff::civil::Date::new(year, month as i8, day as i8);
    in_calendar.map_err(|_| Slip::new(format!("{text} is not in the calendar"), "check the day and the month"))
}

/// The years that files may name: no standard for what is connected to a network is older, and no approval
/// reaches further.
const YEARS: std::ops::RangeInclusive<i16> = 1950..=2999;

/// A name, a number or a reference stands on one line: with a line break in it, it could be taken for more
/// than one line of what is said of it.
///
/// # Errors
/// That it is nothing but spaces, has a line break, or another character that controls a terminal.
pub fn one_line(text: &str) -> Result<(), Slip> {
    /// So much of it is cited.
    const CITED: usize = 40;
    if !text.is_empty() && text.trim().is_empty() {
        return Err(Slip::new("the text is blank", "write it, or leave the key out"));
    }
    let Some(c) = text.chars().find(|c| c.is_control()) else { return Ok(()) };
    let cited: String = text.chars().take(CITED).collect();
    let more = if cited.len() < text.len() { "…" } else { "" };
    Err(match c {
        '\n' | '\r' => Slip::new(format!("{cited:?}{more} has a line break"), "write it on one line"),
        _ => Slip::new(format!("{cited:?}{more} has a character that nobody sees, {}", c.escape_unicode()), "take it out"),
    })
}

/// Four, two and two digits with dashes between; a site has several dates, so this does not split.
fn date_numbers(text: &[u8]) -> Option<(i16, i16, i16)> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *text else { return None };
    let number = |digits: &[u8]| digits.iter().try_fold(0i16, |n, d| d.is_ascii_digit().then(|| n * 10 + i16::from(d - b'0')));
    Some((number(&[y1, y2, y3, y4])?, number(&[m1, m2])?, number(&[d1, d2])?))
}

/// What `16/09/2026` or `01.03.2026` is written as here: two dates, where it may be either.
fn in_another_order(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split(['/', '.', '-', ' ']).filter(|part| !part.is_empty()).collect();
    let [first, second, year] = parts[..] else { return None };
    let number = |part: &str| part.parse::<i8>().ok().filter(|_| part.len() <= 2);
    let (first, second) = (number(first)?, number(second)?);
    let year: i16 = year.parse().ok().filter(|_| year.len() == 4)?;
    let of = |month: i8, day: i8| jiff::civil::Date::new(year, month, day).ok();
    let named = |date: jiff::civil::Date| format!("`{date}` if it is {}", date.strftime("%-d %B"));
    match (of(second, first), of(first, second)) {
        (Some(one), Some(other)) if one != other => Some(format!("write {}, or {}", named(one), named(other))),
        (Some(only), _) | (None, Some(only)) => Some(format!("write `{only}`")),
        (None, None) => None,
    }
}

/// The words of a bound with one edge, whether it is a lower edge, and whether it is left out.
const BOUNDS: [(&str, bool, bool); 4] =
    [("at least ", true, false), ("over ", true, true), ("at most ", false, false), ("under ", false, true)];

fn edges(text: &str, amount: impl Fn(&str) -> Result<Amount, Slip>) -> Result<Edges, Slip> {
    if let Some((low, high)) = text.split_once(" to ") {
        let low = edge(low, "over ", &amount)?;
        let high = edge(high, "under ", &amount)?;
        if low.value.of == high.value.of && low.value.number > high.value.number {
            return Err(Slip::new(format!("`{text}` runs downwards"), "write the smaller value first"));
        }
        return Ok(Edges { low: Some(low), high: Some(high) });
    }
    for (words, is_low, open) in BOUNDS {
        if let Some(rest) = text.strip_prefix(words) {
            let bound = Some(Bound { value: amount(rest)?, open });
            return Ok(if is_low { Edges { low: bound, high: None } } else { Edges { low: None, high: bound } });
        }
    }
    let only = Some(Bound::closed(amount(text)?));
    Ok(Edges { low: only, high: only })
}

fn edge(text: &str, open_word: &str, amount: impl Fn(&str) -> Result<Amount, Slip>) -> Result<Bound, Slip> {
    let text = text.trim();
    match text.strip_prefix(open_word) {
        Some(rest) => Ok(Bound::open(amount(rest)?)),
        None => Ok(Bound::closed(amount(text)?)),
    }
}

/// Reads one of a few words.
///
/// # Errors
/// The nearest of the words, or all of them.
pub fn word(words: &[&str], text: &str) -> Result<u8, Slip> {
    let index = |text: &str| words.iter().position(|w| *w == text);
    if let Some(index) = index(text).or_else(|| index(text.trim())) {
        return Ok(index as u8);
    }
    let text = text.trim();
    let depends_on_who_counts =
        words.contains(&"absorbing") && matches!(&*text.to_lowercase(), "lagging" | "leading" | "under-excited" | "over-excited");
    let help = match nearest(text, words.iter().copied()) {
        _ if depends_on_who_counts => {
            "write `absorbing` or `supplying`; the device's manual says which of them its word means, since that depends on who counts"
                .to_owned()
        }
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("write {}", one_of(&words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>())),
    };
    Err(Slip::new(format!("`{text}` is not one of the words that may stand here"), help))
}

/// Reads `enabled or off`.
///
/// # Errors
/// As [`word`].
pub fn words(known: &[&str], text: &str) -> Result<Words, Slip> {
    text.split(" or ").try_fold(Words::default(), |set, part| Ok(set.or(Words::one(word(known, part)?))))
}

/// Reads which kinds of evidence are accepted: `read or photo`, or `any`.
///
/// # Errors
/// As [`word`].
pub fn evidence(text: &str) -> Result<Words, Slip> {
    if text.trim() == "any" {
        return Ok(Words::first(Evidence::WORDS.len()));
    }
    words(&Evidence::WORDS, text)
}

/// What a condition on a fact says.
///
/// # Errors
/// What is wrong with the text, and how to mend it.
pub fn fact_test(fact: FactId, text: &str) -> Result<FactTest, Slip> {
    let edges = match fact.row().shape {
        FactShape::Choice(known) => return words(known, text).map(FactTest::OneOf),
        FactShape::Quantity(dimension) => interval(dimension, text)?,
        FactShape::Date => date_interval(text)?,
    };
    if edges.low.into_iter().chain(edges.high).any(|bound| bound.value.of.is_some()) {
        return Err(Slip::new(format!("`{text}` is per unit, and a condition is not"), "write it in plain units, such as `over 253 V`"));
    }
    Ok(FactTest::Within { low: edges.low, high: edges.high })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(n: i64) -> Amount {
        Amount::plain(Exact::from(n))
    }

    #[test]
    fn one_grammar_for_every_interval() {
        let closed = |n| Some(Bound::closed(volts(n)));
        let open = |n| Some(Bound::open(volts(n)));
        for (text, low, high) in [
            ("244 V to 258 V", closed(244), closed(258)),
            ("244 V to under 258 V", closed(244), open(258)),
            ("over 244 V to 258 V", open(244), closed(258)),
            ("at least 244 V", closed(244), None),
            ("over 244 V", open(244), None),
            ("at most 258 V", None, closed(258)),
            ("under 258 V", None, open(258)),
            ("0.253 kV", closed(253), closed(253)),
        ] {
            assert_eq!(interval(Dimension::Voltage, text), Ok(Edges { low, high }), "{text}");
        }
    }

    #[test]
    fn slips_in_an_interval_say_how_to_mend_them() {
        for (text, says, help) in [
            ("258 V to 244 V", "`258 V to 244 V` runs downwards", "write the smaller value first"),
            ("1.1 pu to 0.9 pu", "`1.1 pu to 0.9 pu` runs downwards", "write the smaller value first"),
            (">= 244 V", "`>= 244 V` is not how an interval is written", "did you mean `at least 244 V`?"),
            ("up to 258 V", "`up to 258 V` is not how an interval is written", "did you mean `at most 258 V`?"),
            ("around 258 V", "`around 258 V` is not how an interval is written", "write `A to B`"),
            ("244 V – 258 V", "`244 V – 258 V` has a dash between its ends", "write `244 V to 258 V`"),
            ("244-258 V", "`244-258 V` has a dash between its ends", "write `244 V to 258 V`"),
            ("244 to 258 V", "`244` has no unit", "write `244 V`"),
            ("244 V to 258 Hz", "`258 Hz` is a frequency", "read the value again"),
            ("at most high", "expected a voltage, found `high`", "write it as"),
        ] {
            let slip = interval(Dimension::Voltage, text).unwrap_err();
            assert!(slip.says.starts_with(says) && slip.help.starts_with(help), "{text}: {slip:?}");
        }
        assert_eq!(date_interval("from 2032-13-01").unwrap_err().says, "2032-13-01 is not in the calendar");
        assert_eq!(date_interval("after 2032-01-01").unwrap_err().says, "`after 2032-01-01` is not how an interval is written");
        assert!(date("2032-2-1").is_err() && date("02/01/2032").is_err() && date("2032-02-+1").is_err());
    }

    #[test]
    fn conditions_take_words_quantities_and_dates() {
        assert_eq!(fact_test(FactId::ExportKind, "fixed or dynamic"), Ok(FactTest::OneOf(Words::one(1).or(Words::one(2)))));
        let until = date_interval("until 2032-04-30").unwrap().high.unwrap();
        assert!(!until.open, "the day named is included");
        assert!(fact_test(FactId::NominalVoltage, "over 1 pu").is_err());
    }
}
