//! What the numbers of one day may be, where they are read from a file that anybody may have written.

use serde::de::{Error, Unexpected, Visitor};
use serde::{Deserialize, Deserializer};
use std::collections::BTreeMap;
use std::fmt;

/// A day, in milliseconds.
pub const DAY: u64 = 86_400_000;
/// As many rows as a day may have: one a millisecond.
const ROWS: u64 = DAY;
/// Blocks of a minute.
const BLOCKS: u64 = 1_440;
/// The most thousandths of a watt: a terawatt.
const THOUSANDTHS: u64 = 1_000_000_000_000_000;
/// The most thousandths of a watt times seconds.
const MISSED: u64 = 10_000_000_000_000_000;

pub fn is_none(count: &u64) -> bool {
    *count == 0
}

pub fn is_no_block(count: &u32) -> bool {
    *count == 0
}

/// A whole number up to a greatest.
struct UpTo(u64, &'static str);

impl Visitor<'_> for UpTo {
    type Value = u64;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, a whole number from 0 to {}", self.1, self.0)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<u64, E> {
        if value <= self.0 { Ok(value) } else { Err(E::invalid_value(Unexpected::Unsigned(value), &self)) }
    }
}

pub fn duration<'de, D: Deserializer<'de>>(from: D) -> Result<u64, D::Error> {
    from.deserialize_u64(UpTo(DAY, "milliseconds of one day"))
}

pub fn rows<'de, D: Deserializer<'de>>(from: D) -> Result<u64, D::Error> {
    from.deserialize_u64(UpTo(ROWS, "rows of one day"))
}

pub fn blocks<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    from.deserialize_u64(UpTo(BLOCKS, "blocks of one day")).map(|blocks| blocks as u32)
}

pub fn missed<'de, D: Deserializer<'de>>(from: D) -> Result<u64, D::Error> {
    from.deserialize_u64(UpTo(MISSED, "thousandths of a watt or var times seconds"))
}

pub fn thousandths<'de, D: Deserializer<'de>>(from: D) -> Result<u64, D::Error> {
    from.deserialize_u64(UpTo(THOUSANDTHS, "thousandths of a unit"))
}

/// Least and greatest, in thousandths.
pub fn range<'de, D: Deserializer<'de>>(from: D) -> Result<Option<[i64; 2]>, D::Error> {
    let range = Option::<[i64; 2]>::deserialize(from)?;
    let is_one = |[low, high]: &[i64; 2]| low <= high && [low, high].iter().all(|end| end.unsigned_abs() <= THOUSANDTHS);
    if range.as_ref().is_none_or(is_one) { Ok(range) } else { Err(D::Error::custom("a range goes from its least to its greatest value")) }
}

/// How long, of one day.
#[derive(Deserialize)]
#[serde(transparent)]
pub struct OfDay(#[serde(deserialize_with = "duration")] pub u64);

/// How long, by reason.
pub fn durations<'de, D: Deserializer<'de>, K: Deserialize<'de> + Ord>(from: D) -> Result<BTreeMap<K, u64>, D::Error> {
    Ok(BTreeMap::<K, OfDay>::deserialize(from)?.into_iter().map(|(key, OfDay(lasted))| (key, lasted)).collect())
}

/// How often something happened on one day, and how long.
pub fn times<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    from.deserialize_u64(UpTo(ROWS, "times on one day")).map(|times| times as u32)
}
