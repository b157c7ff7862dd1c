//! A site as plain borrowed text: what reading a line costs when nothing in it is understood.
//!
//! Derived, but for a value, which is written in one of four ways: an untagged enum would read each of
//! them twice, and make the baseline slower than it has to be.

use serde::de::{Deserializer, Error, MapAccess, SeqAccess, Visitor, value::MapAccessDeserializer};
use serde::{Deserialize, de};
use settings_model::files::Named;
use std::fmt;

macro_rules! group {
    ($name:ident { $($field:ident: $kind:ty),+ $(,)? }) => {
        #[derive(Deserialize)]
        #[serde(rename_all = "kebab-case", deny_unknown_fields)]
        #[allow(dead_code, reason = "read, and not looked at")]
        pub struct $name<'a> { $(#[serde(borrow, default)] pub $field: $kind),+ }
    };
}

/// A text as it stands in the line; invented fleets escape nothing, and `serde` copies an optional `Cow`.
type Text<'a> = Option<&'a str>;

group!(Site {
    kind: &'a str,
    site: &'a str,
    network: Text<'a>,
    requirements: Option<Requirements<'a>>,
    dates: Option<Dates<'a>>,
    work: Option<Work<'a>>,
    supply: Option<Supply<'a>>,
    export: Option<Export<'a>>,
    answerable: Option<Answerable<'a>>,
    installation: Option<Groups<'a>>,
    devices: Option<Named<&'a str, Device<'a>>>,
});
group!(Requirements { overlay: Text<'a>, standard: Text<'a>, installation: Text<'a>, region: Text<'a>, route: Text<'a> });
group!(Dates { applied: Text<'a>, approved: Text<'a>, installed: Text<'a>, altered: Text<'a> });
group!(Work { kind: Text<'a> });
group!(Export { kind: Text<'a>, approved: Text<'a>, reference: Text<'a> });
group!(Answerable { crew: Text<'a>, branch: Text<'a>, company: Text<'a> });

/// The supply at the site.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "read, and not looked at")]
pub struct Supply<'a> {
    phases: Option<u8>,
    #[serde(borrow)]
    nominal: Text<'a>,
    #[serde(borrow)]
    sub_network: Text<'a>,
    #[serde(borrow)]
    connection_point: Text<'a>,
}

/// An inverter or a relay.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "read, and not looked at")]
pub struct Device<'a> {
    #[serde(borrow)]
    kind: Text<'a>,
    #[serde(borrow)]
    certified: Option<Certified<'a>>,
    #[serde(borrow)]
    source: Text<'a>,
    #[serde(borrow)]
    nameplate: Text<'a>,
    #[serde(borrow)]
    rated_power: Text<'a>,
    #[serde(borrow)]
    limited_to: Text<'a>,
    phases: Option<u8>,
    #[serde(borrow)]
    model: Text<'a>,
    #[serde(borrow)]
    serial: Text<'a>,
    #[serde(borrow)]
    firmware: Text<'a>,
    #[serde(borrow)]
    as_left: Option<Holding<'a>>,
}

/// To what a device is certified.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read, and not looked at")]
pub struct Certified<'a> {
    #[serde(borrow)]
    standard: Text<'a>,
    edition: Option<Edition>,
}

/// Year and amendment.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read, and not looked at")]
pub struct Edition {
    year: u16,
    amendment: Option<u8>,
}

group!(Holding { date: Text<'a>, role: Text<'a>, known_by: Text<'a>, region_selected: Text<'a>, settings: Option<Groups<'a>> });

/// Functions with their settings, in the order of the line: cheaper than to match their names.
type Groups<'a> = Named<&'a str, Named<&'a str, Held<'a>>>;

/// A value, as it may be written.
#[allow(dead_code, reason = "read, and not looked at")]
pub enum Held<'a> {
    /// `253 V`.
    Text(&'a str),
    /// `0.95`.
    Number(f64),
    /// A curve.
    Points(Vec<[&'a str; 2]>),
    /// With how it is known.
    Known(Box<Known<'a>>),
}

/// A value with how it is known.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "read, and not looked at")]
pub struct Known<'a> {
    #[serde(borrow)]
    value: Held<'a>,
    #[serde(borrow)]
    known_by: Text<'a>,
    photo: Option<u32>,
}

impl<'de: 'a, 'a> Deserialize<'de> for Held<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyHeld)
    }
}

struct AnyHeld;

impl<'de> Visitor<'de> for AnyHeld {
    type Value = Held<'de>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_borrowed_str<E: Error>(self, text: &'de str) -> Result<Self::Value, E> {
        Ok(Held::Text(text))
    }

    fn visit_bool<E: Error>(self, truth: bool) -> Result<Self::Value, E> {
        Ok(Held::Text(if truth { "yes" } else { "no" }))
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<Self::Value, E> {
        Ok(Held::Number(number as f64))
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Self::Value, E> {
        Ok(Held::Number(number))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<Self::Value, A::Error> {
        Deserialize::deserialize(de::value::SeqAccessDeserializer::new(seq)).map(Held::Points)
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        Deserialize::deserialize(MapAccessDeserializer::new(map)).map(|known| Held::Known(Box::new(known)))
    }
}
