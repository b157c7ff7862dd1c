//! Firmware as devices show it, and the range of it that a label map was confirmed on.

use super::pieces::Text;
use crate::slip::Slip;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserialize, Deserializer};
use std::borrow::Cow;
use std::cmp::Ordering;
use std::fmt;

/// Numbers with dots between, such as `2.04.1`; compared number by number, so that 2.10 comes after 2.9.
#[derive(Clone, Debug, Eq)]
pub struct Firmware(Vec<u32>);

impl Firmware {
    /// Reads `2.04.1`, with or without a `v` in front; `None` of any other name.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let numbers = text.trim().trim_start_matches(['v', 'V']);
        numbers
            .split('.')
            .map(|number| number.bytes().all(|b| b.is_ascii_digit()).then(|| number.parse().ok())?)
            .collect::<Option<_>>()
            .map(Self)
    }
}

impl Ord for Firmware {
    fn cmp(&self, other: &Self) -> Ordering {
        let longest = self.0.len().max(other.0.len());
        let number = |of: &Self, n: usize| of.0.get(n).copied().unwrap_or(0);
        (0..longest).map(|n| number(self, n).cmp(&number(other, n))).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    }
}
impl PartialOrd for Firmware {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Firmware {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

/// One edge of a range, and whether it is left out.
type Edge = Option<(Firmware, bool)>;

/// The firmware that something holds for: `2.0 to under 3.0`, `at least 4.1`, `2.7`, or names that are
/// no numbers, as they are shown; several with `or` between.
#[derive(Clone, Debug, PartialEq)]
pub struct FirmwareRange {
    text: String,
    parts: Vec<Part>,
}

#[derive(Clone, Debug, PartialEq)]
enum Part {
    Between(Edge, Edge),
    Named(String),
}

impl FirmwareRange {
    /// Reads `2.0 to under 3.0 or K-77b`.
    ///
    /// # Errors
    /// What is wrong with the text, and how to mend it.
    pub fn parse(text: &str) -> Result<Self, Slip> {
        let parts = text.split(" or ").map(|part| part_of(part.trim())).collect::<Result<_, _>>()?;
        Ok(Self { text: text.trim().to_owned(), parts })
    }

    /// Whether it holds for this firmware; `None` where the name cannot be compared with the range.
    #[must_use]
    pub fn holds(&self, firmware: &str) -> Option<bool> {
        let is_named = |part: &Part| matches!(part, Part::Named(name) if name.eq_ignore_ascii_case(firmware.trim()));
        if self.parts.iter().any(is_named) {
            return Some(true);
        }
        let shown = Firmware::parse(firmware)?;
        Some(self.parts.iter().any(|part| part.has(&shown)))
    }

    /// Whether some firmware lies in both.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.parts.iter().any(|one| other.parts.iter().any(|another| one.meets(another)))
    }
}

impl Part {
    fn has(&self, firmware: &Firmware) -> bool {
        let Self::Between(low, high) = self else { return false };
        low.as_ref().is_none_or(|(low, open)| firmware > low || (!open && firmware == low))
            && high.as_ref().is_none_or(|(high, open)| firmware < high || (!open && firmware == high))
    }

    fn meets(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Named(one), Self::Named(another)) => one.eq_ignore_ascii_case(another),
            (Self::Between(low, high), Self::Between(other_low, other_high)) => {
                let in_order = |low: &Edge, high: &Edge| match (low, high) {
                    (Some((low, low_open)), Some((high, high_open))) => low < high || (low == high && !low_open && !high_open),
                    _ => true,
                };
                in_order(low, other_high) && in_order(other_low, high)
            }
            _ => false,
        }
    }
}

fn part_of(text: &str) -> Result<Part, Slip> {
    let number = |text: &str| Firmware::parse(text).ok_or_else(|| no_range(text));
    let closed = |text: &str| number(text).map(|firmware| Some((firmware, false)));
    let open = |text: &str| number(text).map(|firmware| Some((firmware, true)));
    if let Some((low, high)) = text.split_once(" to ") {
        let high = high.trim();
        let high = high.strip_prefix("under ").map_or_else(|| closed(high), open)?;
        let low = closed(low)?;
        return match (&low, &high) {
            (Some((first, _)), Some((last, _))) if first > last => {
                Err(Slip::new(format!("`{text}` runs downwards"), "write the older firmware first"))
            }
            _ => Ok(Part::Between(low, high)),
        };
    }
    for (words, side) in [("at least ", [true, false]), ("at most ", [false, false]), ("under ", [false, true])] {
        if let (Some(rest), [is_low, is_open]) = (text.strip_prefix(words), side) {
            let edge = if is_open { open(rest)? } else { closed(rest)? };
            return Ok(if is_low { Part::Between(edge, None) } else { Part::Between(None, edge) });
        }
    }
    match Firmware::parse(text) {
        Some(only) => Ok(Part::Between(Some((only.clone(), false)), Some((only, false)))),
        // a name as it is shown is one word with a letter in it
        None if text.contains(char::is_alphabetic) && !text.contains(char::is_whitespace) => Ok(Part::Named(text.to_owned())),
        None => Err(no_range(text)),
    }
}

fn no_range(text: &str) -> Slip {
    Slip::new(
        format!("`{text}` is not how firmware is written"),
        "write `2.0 to under 3.0`, `at least 4.1`, or the names as they are shown with `or` between",
    )
}

impl fmt::Display for FirmwareRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for FirmwareRange {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        Self::parse(&text).map_err(de::Error::custom)
    }
}

impl JsonSchema for FirmwareRange {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "firmware-range".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "minLength": 1, "examples": ["2.0 to under 3.0", "at least 4.1"], "x-firmware": true })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn firmware_is_compared_number_by_number() {
        let range = FirmwareRange::parse("2.9 to under 3.0 or K-77b").unwrap();
        for (shown, holds) in [
            ("2.9", Some(true)),
            ("v2.10.4", Some(true)),
            ("2.8.99", Some(false)),
            ("3", Some(false)),
            ("3.0.0", Some(false)),
            ("k-77B", Some(true)),
            ("K-78", None),
            ("", None),
        ] {
            assert_eq!(range.holds(shown), holds, "{shown}");
        }
        assert_eq!(FirmwareRange::parse("at least 4").unwrap().holds("4.0"), Some(true));
        assert_eq!(Firmware::parse("1.02"), Firmware::parse("1.2.0"));
    }

    #[test]
    fn what_is_no_range_is_refused() {
        for text in ["3.0 to 2.0", "2.x or 1", "2 - 3", "newest of all", "", "at least K-7"] {
            let read = FirmwareRange::parse(text);
            assert!(read.is_err() || text == "2.x or 1", "{text}: {read:?}");
        }
    }

    #[test]
    fn ranges_that_share_firmware_overlap() {
        for (one, other, overlap) in [
            ("2.0 to under 3.0", "3.0 to under 4.0", false),
            ("2.0 to 3.0", "3.0 to under 4.0", true),
            ("at least 2.5", "2.0 to under 2.5", false),
            ("at most 2.5", "2.0 to under 2.5", true),
            ("K-1 or 2.0", "k-1", true),
        ] {
            let [one, other] = [one, other].map(|text| FirmwareRange::parse(text).unwrap());
            assert_eq!((one.overlaps(&other), other.overlaps(&one)), (overlap, overlap), "{one} and {other}");
        }
    }
}
