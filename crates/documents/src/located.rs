//! serde over the located tree, so that one definition of a file reads it from YAML with places
//! and from JSON lines without.
//!
//! [`At`] keeps the place of the value it wraps. Not inside `#[serde(flatten)]` or untagged enums:
//! serde buffers there and the place is lost.

use crate::document::{Kind, Node};
use crate::source::{Place, SourceId};
use serde::de::{self, Deserialize, DeserializeSeed, Deserializer, IntoDeserializer, SeqAccess, Visitor, value};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::ops::Deref;

/// A value and where it is written; [`Place::NOWHERE`] when it was read from a JSON line.
#[derive(Clone, Debug, PartialEq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Where it is written.
    pub place: Place,
}

impl<T> Deref for At<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

/// Asks the deserialiser of this room for the place; any other passes it by.
const AT: &str = "$at";

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Parts<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Parts<T> {
            type Value = At<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value")
            }
            fn visit_newtype_struct<D: Deserializer<'de>>(self, elsewhere: D) -> Result<At<T>, D::Error> {
                Ok(At { value: T::deserialize(elsewhere)?, place: Place::NOWHERE })
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<At<T>, A::Error> {
                let mut number = || parts.next_element::<u32>().map(Option::unwrap_or_default);
                let (source, start, end) = (number()?, number()?, number()?);
                let value = parts.next_element()?.ok_or_else(|| de::Error::custom("no value"))?;
                Ok(At { value, place: Place { source: SourceId(source), start, end } })
            }
        }
        deserializer.deserialize_newtype_struct(AT, Parts(PhantomData))
    }
}

/// The place is invisible in a schema.
impl<T: schemars::JsonSchema> schemars::JsonSchema for At<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }
    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        T::json_schema(generator)
    }
}

/// Why a tree does not hold the type that was asked for.
#[derive(Debug)]
pub struct Mismatch {
    /// What is wrong.
    pub message: String,
    /// The innermost value at fault.
    pub place: Option<Place>,
}

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}
impl std::error::Error for Mismatch {}
impl de::Error for Mismatch {
    fn custom<M: fmt::Display>(message: M) -> Self {
        Self { message: message.to_string(), place: None }
    }
}

impl Mismatch {
    fn at(self, node: &Node) -> Self {
        Self { place: self.place.or(Some(node.place)), ..self }
    }
}

/// Feeds [`At`]'s visitor: source, start, end, then the value itself.
struct PlaceThenValue<'de> {
    step: u8,
    node: &'de Node,
}

impl<'de> SeqAccess<'de> for PlaceThenValue<'de> {
    type Error = Mismatch;
    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Mismatch> {
        let place = self.node.place;
        self.step += 1;
        match self.step {
            1 => seed.deserialize(place.source.0.into_deserializer()),
            2 => seed.deserialize(place.start.into_deserializer()),
            3 => seed.deserialize(place.end.into_deserializer()),
            _ => seed.deserialize(self.node),
        }
        .map(Some)
    }
}

impl<'de> IntoDeserializer<'de, Mismatch> for &'de Node {
    type Deserializer = Self;
    fn into_deserializer(self) -> Self {
        self
    }
}

impl<'de> Deserializer<'de> for &'de Node {
    type Error = Mismatch;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mismatch> {
        match &self.kind {
            Kind::Null => visitor.visit_unit(),
            Kind::Bool(b) => visitor.visit_bool(*b),
            Kind::Number(n) => match n.parse::<i64>() {
                Ok(whole) => visitor.visit_i64(whole),
                Err(_) => visitor.visit_borrowed_str(n),
            },
            Kind::Text(text) => visitor.visit_borrowed_str(text),
            Kind::List(items) => value::SeqDeserializer::new(items.iter()).deserialize_any(visitor),
            Kind::Map(entries) => value::MapDeserializer::new(entries.iter().map(|(key, value)| (key, value))).deserialize_any(visitor),
        }
        .map_err(|e: Mismatch| e.at(self))
    }

    /// Text, and numbers exactly as written.
    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mismatch> {
        match &self.kind {
            Kind::Number(n) => visitor.visit_borrowed_str(n).map_err(|e: Mismatch| e.at(self)),
            _ => self.deserialize_any(visitor),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mismatch> {
        match self.kind {
            Kind::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, name: &'static str, visitor: V) -> Result<V::Value, Mismatch> {
        if name == AT { visitor.visit_seq(PlaceThenValue { step: 0, node: self }) } else { visitor.visit_newtype_struct(self) }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Mismatch> {
        match &self.kind {
            Kind::Text(word) => visitor.visit_enum(word.as_str().into_deserializer()),
            _ => Err(de::Error::custom(format!("expected one of a few words, found {}", self.describe()))),
        }
        .map_err(|e: Mismatch| e.at(self))
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mismatch> {
        self.deserialize_str(visitor)
    }

    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mismatch> {
        self.deserialize_str(visitor)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char bytes byte_buf unit unit_struct seq tuple tuple_struct map struct ignored_any
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize)]
    struct Sample {
        name: At<String>,
        count: u8,
        ratio: At<String>,
        list: Vec<At<String>>,
        nothing: Option<String>,
    }

    #[test]
    fn the_same_type_reads_yaml_with_places_and_json_without() {
        let text = "name: ünder\ncount: 3\nratio: 1.10\nlist: [a, b]\nnothing:\n";
        let root = crate::document::parse(SourceId(4), text, &mut Vec::new()).unwrap();
        let yaml = Sample::deserialize(&root).unwrap();
        assert_eq!((yaml.name.place.source, yaml.name.place.start), (SourceId(4), 6));
        assert_eq!(yaml.ratio.value, "1.10");
        assert_eq!((yaml.count, yaml.list[1].place.start, yaml.nothing), (3, 44, None));
        let json: Sample = serde_json::from_str(r#"{"name":"x","count":3,"ratio":"1","list":["a"]}"#).unwrap();
        assert_eq!(json.name, At { value: "x".to_owned(), place: Place::NOWHERE });
    }

    #[test]
    fn a_mismatch_points_at_the_innermost_value() {
        let root = crate::document::parse(SourceId(0), "name: x\ncount: three\nratio: 1\nlist: []\n", &mut Vec::new()).unwrap();
        let error = Sample::deserialize(&root).err().unwrap();
        assert_eq!(error.place.unwrap().start, 15);
    }
}
