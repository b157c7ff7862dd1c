//! The pieces that several kinds of file share: text, dates, quantities, named groups.

use crate::exact::Exact;
use crate::facts::{FACTS, FactId, FactShape};
use crate::notation;
use crate::quantity::Dimension;
use crate::slip::Slip;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserialize, Deserializer, MapAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// Text of one line that is not empty, borrowed from what is read wherever that is possible.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Text<'a>(pub Cow<'a, str>);

impl std::ops::Deref for Text<'_> {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Text<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl<'de: 'a, 'a> Deserialize<'de> for Text<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Borrow;
        impl<'de> Visitor<'de> for Borrow {
            type Value = Text<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("text that is not empty")
            }
            fn visit_borrowed_str<E: de::Error>(self, text: &'de str) -> Result<Text<'de>, E> {
                checked(text).map(|()| Text(Cow::Borrowed(text)))
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Text<'de>, E> {
                checked(text).map(|()| Text(Cow::Owned(text.to_owned())))
            }
        }
        fn checked<E: de::Error>(text: &str) -> Result<(), E> {
            if text.is_empty() { Err(E::invalid_length(0, &Borrow)) } else { notation::one_line(text).map_err(E::custom) }
        }
        deserializer.deserialize_str(Borrow)
    }
}

impl JsonSchema for Text<'_> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "text".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "minLength": 1, "x-one-line": true })
    }
}

/// A photo, by number or by name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoName(pub String);

impl<'de> Deserialize<'de> for PhotoName {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Name;
        impl Visitor<'_> for Name {
            type Value = PhotoName;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the number or the name of a photo")
            }
            fn visit_u64<E: de::Error>(self, number: u64) -> Result<PhotoName, E> {
                Ok(PhotoName(number.to_string()))
            }
            fn visit_i64<E: de::Error>(self, number: i64) -> Result<PhotoName, E> {
                Ok(PhotoName(number.to_string()))
            }
            fn visit_str<E: de::Error>(self, name: &str) -> Result<PhotoName, E> {
                notation::one_line(name).map(|()| PhotoName(name.to_owned())).map_err(E::custom)
            }
        }
        deserializer.deserialize_any(Name)
    }
}

impl JsonSchema for PhotoName {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "photo".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["integer", "string"], "x-one-line": true })
    }
}

/// Things by name, in the order written. Names are [`Text`] where they can be borrowed.
#[derive(Clone, Debug, PartialEq)]
pub struct Named<K, T>(pub Vec<(K, T)>);

impl<K, T> Default for Named<K, T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<K: std::ops::Deref<Target = str>, T> Named<K, T> {
    /// The thing of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&T> {
        self.0.iter().find(|(key, _)| **key == *name).map(|(_, thing)| thing)
    }

    /// Names and things.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &T)> {
        self.0.iter().map(|(name, thing)| (&**name, thing))
    }
}

impl<'de, K: Deserialize<'de>, T: Deserialize<'de>> Deserialize<'de> for Named<K, T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pairs<K, T>(PhantomData<(K, T)>);
        impl<'de, K: Deserialize<'de>, T: Deserialize<'de>> Visitor<'de> for Pairs<K, T> {
            type Value = Vec<(K, T)>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("names and what they stand for")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs: Self::Value = Vec::with_capacity(map.size_hint().unwrap_or(1).min(64));
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(pairs)
            }
        }
        deserializer.deserialize_map(Pairs(PhantomData)).map(Self)
    }
}

impl<K, T: JsonSchema> JsonSchema for Named<K, T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("named-{}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object", "additionalProperties": generator.subschema_for::<T>() })
    }
}

/// A calendar date, `2026-02-03`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(pub jiff::civil::Date);

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        notation::date(&text).map(Self).map_err(de::Error::custom)
    }
}

impl JsonSchema for Day {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "day".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "format": "date", "pattern": "^\\d{4}-\\d{2}-\\d{2}$", "examples": ["2026-02-03"], "x-date": true })
    }
}

/// A month, `2026-11`: of what nobody noted the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Month(jiff::civil::Date);

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.0.year(), self.0.month())
    }
}

impl<'de> Deserialize<'de> for Month {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        notation::date(&format!("{}-01", &*text)).map(Self).map_err(|_| de::Error::custom("a month is written as `2026-11`"))
    }
}

impl JsonSchema for Month {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "month".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^\\d{4}-(0[1-9]|1[0-2])$", "examples": ["2026-11"] })
    }
}

/// What a [`Quantity`] measures.
pub trait Measure {
    /// Its dimension.
    const DIMENSION: Dimension;
}

/// Marks a [`Quantity`] of active power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ActivePower {}
impl Measure for ActivePower {
    const DIMENSION: Dimension = Dimension::ActivePower;
}

/// Marks a [`Quantity`] of voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Voltage {}
impl Measure for Voltage {
    const DIMENSION: Dimension = Dimension::Voltage;
}

/// Marks a [`Quantity`] of frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Frequency {}
impl Measure for Frequency {
    const DIMENSION: Dimension = Dimension::Frequency;
}

/// Marks a [`Quantity`] of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Time {}
impl Measure for Time {
    const DIMENSION: Dimension = Dimension::Time;
}

/// Marks a [`Quantity`] of apparent power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ApparentPower {}
impl Measure for ApparentPower {
    const DIMENSION: Dimension = Dimension::ApparentPower;
}

/// Marks a [`Quantity`] in per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Percent {}
impl Measure for Percent {
    const DIMENSION: Dimension = Dimension::Percent;
}

/// Marks a [`Quantity`] of length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Length {}
impl Measure for Length {
    const DIMENSION: Dimension = Dimension::Length;
}

/// Marks a [`Quantity`] of the cross-section of a conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Area {}
impl Measure for Area {
    const DIMENSION: Dimension = Dimension::Area;
}

/// Marks a [`Quantity`] of resistance or reactance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Resistance {}
impl Measure for Resistance {
    const DIMENSION: Dimension = Dimension::Resistance;
}

/// Marks a [`Quantity`] of resistance or reactance by length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ImpedancePerLength {}
impl Measure for ImpedancePerLength {
    const DIMENSION: Dimension = Dimension::ImpedancePerLength;
}

/// Marks a [`Quantity`] of voltage drop by ampere and metre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VoltageDrop {}
impl Measure for VoltageDrop {
    const DIMENSION: Dimension = Dimension::VoltageDrop;
}

/// A plain quantity outside the `settings` block, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity<M> {
    /// In base units.
    pub number: Exact,
    measures: PhantomData<M>,
}

impl<'de, M: Measure> Deserialize<'de> for Quantity<M> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        let amount = M::DIMENSION.parse_plain_quantity(&text).map_err(de::Error::custom)?;
        Ok(Self { number: amount.number, measures: PhantomData })
    }
}

impl<M: Measure> JsonSchema for Quantity<M> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        M::DIMENSION.name().into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        crate::schema::quantity(M::DIMENSION)
    }
}

/// A quantity that answers one fact of the catalogue, in base units: within what that fact can be at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FactQuantity<const FACT: u8> {
    /// In base units.
    pub number: Exact,
}

impl<const FACT: u8> FactQuantity<FACT> {
    fn fact() -> FactId {
        FACTS[usize::from(FACT)].id
    }
}

impl<'de, const FACT: u8> Deserialize<'de> for FactQuantity<FACT> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        Self::fact().read(&text).map(|number| Self { number }).map_err(de::Error::custom)
    }
}

impl<const FACT: u8> JsonSchema for FactQuantity<FACT> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        FACTS[usize::from(FACT)].key.into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        crate::schema::rating(Self::fact())
    }
}

/// A word that answers one fact of the catalogue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FactWord<const FACT: u8>(u8);

impl<const FACT: u8> FactWord<FACT> {
    /// Its position among the fact's words.
    #[must_use]
    pub fn index(self) -> u8 {
        self.0
    }

    /// The word itself, as files write it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match FACTS[usize::from(FACT)].shape {
            FactShape::Choice(words) => words.get(usize::from(self.0)).copied().unwrap_or_default(),
            _ => "",
        }
    }
}

impl<'de, const FACT: u8> Deserialize<'de> for FactWord<FACT> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        let FactShape::Choice(words) = FACTS[usize::from(FACT)].shape else { return Err(de::Error::custom("no fact of words")) };
        if text.trim().len() < text.len() {
            return Err(de::Error::custom("a word stands without spaces around it"));
        }
        notation::word(words, &text).map(Self).map_err(de::Error::custom)
    }
}

/// A nominal voltage and between what it is measured: `230 V line-neutral`.
///
/// Line-to-line is refused: 400 V/√3 is 230.940… V and not 230 V, and which of the two a network
/// counts per unit from is for the network to say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nominal(pub Exact);

impl Nominal {
    /// Reads `230 V line-neutral`.
    ///
    /// # Errors
    /// What is wrong with the text, and how to mend it.
    pub fn parse(text: &str) -> Result<Self, Slip> {
        let help = "write the phase-to-neutral voltage: `230 V line-neutral`";
        let Some(volts) = text.trim().strip_suffix("line-neutral") else {
            return Err(Slip::new(format!("`{text}` is not a voltage from line to neutral"), help));
        };
        let volts = volts.trim_end();
        let is_long = volts.bytes().filter(u8::is_ascii_digit).count() > 6;
        let volts = Dimension::Voltage.parse(volts)?;
        if volts.of.is_some() || volts.number <= Exact::ZERO || is_long {
            return Err(Slip::new(format!("`{text}` is no nominal voltage: volts above zero, of at most six digits"), help));
        }
        Ok(Self(volts.number))
    }
}

impl<'de> Deserialize<'de> for Nominal {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Text::deserialize(deserializer)?;
        Self::parse(&text).map_err(de::Error::custom)
    }
}

impl JsonSchema for Nominal {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "nominal".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^\\d+(\\.\\d+)?\\s*V line-neutral$", "examples": ["230 V line-neutral"], "x-nominal": true })
    }
}
