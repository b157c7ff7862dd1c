//! The one visitor of settings: from located YAML and from JSON lines alike.

use super::{Figures, Known, Settings, Stated, Step};
use crate::catalogue::{COUNT, Group, HeldBy, SettingId, Shape};
use crate::claim::Evidence;
use crate::exact::Exact;
use crate::notation::{self, NEVER};
use crate::quantity::{Amount, Dimension};
use crate::value::{Point, Value};
use serde::de::{self, Deserialize, DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde::{Serialize, Serializer};
use std::{fmt, mem};

/// Reads what a device holds.
impl<'de> Deserialize<'de> for Settings {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(FunctionsVisitor(Holder::Device))
    }
}

/// Reads what is calculated for an installation.
impl<'de> Deserialize<'de> for Figures {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(FunctionsVisitor(Holder::Installation)).map(Self)
    }
}

/// Whose block is read: a function stands in one of the two only.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Holder {
    Device,
    Installation,
}

impl Holder {
    fn may_state_function(self, first: SettingId) -> bool {
        (first.group() == Group::Installation) == (self == Self::Installation)
    }

    /// What is added up from the devices is stated by nobody.
    fn may_state(self, setting: SettingId) -> bool {
        self == Self::Device || setting.parameter().held_by != HeldBy::AddedUp
    }
}

struct FunctionsVisitor(Holder);
impl<'de> Visitor<'de> for FunctionsVisitor {
    type Value = Settings;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("functions and their settings")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut functions: A) -> Result<Settings, A::Error> {
        let mut settings = Box::<Stated>::default();
        let (mut last, mut seen) = (None, [false; COUNT]);
        while let Some(first) = functions.next_key_seed(FunctionKey { last })? {
            last = Some(first);
            if !self.0.may_state_function(first) {
                return Err(de::Error::custom(format_args!("`{}` has no place here", first.function().key)));
            }
            if mem::replace(&mut seen[first.index()], true) {
                return Err(de::Error::custom(format_args!("`{}` is given twice", first.function().key)));
            }
            functions.next_value_seed(ParametersSeed { first, holder: self.0, settings: &mut settings })?;
        }
        Ok(Settings(Some(settings)))
    }
}

/// The key of a function. Files mostly keep the catalogue's order, so the one after the last is
/// tried first.
struct FunctionKey {
    last: Option<SettingId>,
}

impl<'de> DeserializeSeed<'de> for FunctionKey {
    type Value = SettingId;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<SettingId, D::Error> {
        deserializer.deserialize_identifier(self)
    }
}

impl Visitor<'_> for FunctionKey {
    type Value = SettingId;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a function of the catalogue")
    }
    fn visit_str<E: de::Error>(self, key: &str) -> Result<SettingId, E> {
        SettingId::of_function_after(self.last, key).ok_or_else(|| E::custom(format_args!("unknown function `{key}`")))
    }
}

/// The key of a setting within a function; the one after the last is tried first.
struct ParameterKey {
    first: SettingId,
    last: Option<SettingId>,
}

impl<'de> DeserializeSeed<'de> for ParameterKey {
    type Value = SettingId;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<SettingId, D::Error> {
        deserializer.deserialize_identifier(self)
    }
}

impl Visitor<'_> for ParameterKey {
    type Value = SettingId;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a setting of the function")
    }
    fn visit_str<E: de::Error>(self, key: &str) -> Result<SettingId, E> {
        if self.last.is_none() && self.first.parameter().key == key {
            return Ok(self.first);
        }
        self.last.unwrap_or(self.first).sibling_after(key).ok_or_else(|| E::custom(format_args!("unknown setting `{key}`")))
    }
}

struct ParametersSeed<'s> {
    first: SettingId,
    holder: Holder,
    settings: &'s mut Stated,
}

impl<'de> DeserializeSeed<'de> for ParametersSeed<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for ParametersSeed<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("settings of one function")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut parameters: A) -> Result<(), A::Error> {
        let mut last = None;
        while let Some(id) = parameters.next_key_seed(ParameterKey { first: self.first, last })? {
            last = Some(id);
            if !self.holder.may_state(id) {
                return Err(de::Error::custom(format_args!("`{id}` is added up, and not stated")));
            }
            if self.settings.has(id) {
                return Err(de::Error::custom(format_args!("`{id}` is given twice")));
            }
            parameters.next_value_seed(KnownSeed { id, settings: self.settings })?;
        }
        Ok(())
    }
}

/// A value, or `{ value: …, known-by: …, photo: …, initials: …, read-from: …, step: …, exact: … }`; written straight into
/// its place.
struct KnownSeed<'s> {
    id: SettingId,
    settings: &'s mut Stated,
}

impl KnownSeed<'_> {
    #[inline(always)]
    fn fill(self, value: Value) {
        self.settings.set(self.id, Known { value, evidence: None, step: None });
    }
}

impl<'de> DeserializeSeed<'de> for KnownSeed<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for KnownSeed<'_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a value of {}", self.id)
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<(), E> {
        let value = ValueSeed(self.id).visit_str(text)?;
        self.fill(value);
        Ok(())
    }
    fn visit_i64<E: de::Error>(self, number: i64) -> Result<(), E> {
        let text = plain_number(self.id.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_u64<E: de::Error>(self, number: u64) -> Result<(), E> {
        let text = plain_number(self.id.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_f64<E: de::Error>(self, number: f64) -> Result<(), E> {
        let text = plain_number(self.id.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, points: A) -> Result<(), A::Error> {
        let value = ValueSeed(self.id).visit_seq(points)?;
        self.fill(value);
        Ok(())
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let (mut value, mut evidence, mut step, mut exact) = (None, None, None, None);
        let (mut photo, mut initials, mut read_from) = (None, None, None);
        while let Some(key) = map.next_key::<KnownKey>()? {
            match key {
                KnownKey::Value => once(&mut value, map.next_value_seed(ValueSeed(self.id))?)?,
                KnownKey::KnownBy => once(&mut evidence, map.next_value::<Evidence>()?)?,
                KnownKey::Step => once(&mut step, map.next_value_seed(StepSeed(self.id))?)?,
                KnownKey::Exact => once(&mut exact, map.next_value::<bool>()?)?,
                KnownKey::Photo => once(&mut photo, map.next_value::<IgnoredAny>()?)?,
                KnownKey::Initials => once(&mut initials, map.next_value::<IgnoredAny>()?)?,
                KnownKey::ReadFrom => once(&mut read_from, map.next_value::<IgnoredAny>()?)?,
            }
        }
        let value = value.ok_or_else(|| de::Error::missing_field("value"))?;
        let step = step.map(|step| Box::new(Step { exact: exact == Some(true), ..step }));
        self.settings.set(self.id, Known { value, evidence, step });
        Ok(())
    }
}

/// A number without quotes, as the shortest text that says it; only where a setting has no unit.
fn plain_number<E: de::Error>(shape: Shape, number: impl fmt::Display) -> Result<String, E> {
    match shape {
        Shape::Quantity(dimension) if dimension.is_unitless() => Ok(number.to_string()),
        _ => Err(E::custom(format_args!("`{number}` has no unit"))),
    }
}

/// A key that comes twice says two things; neither is believed.
fn once<T, E: de::Error>(stated: &mut Option<T>, value: T) -> Result<(), E> {
    match stated.replace(value) {
        None => Ok(()),
        Some(_) => Err(E::custom("given twice")),
    }
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
enum KnownKey {
    Value,
    KnownBy,
    Step,
    Exact,
    Photo,
    Initials,
    ReadFrom,
}

impl Serialize for Evidence {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl<'de> Deserialize<'de> for Evidence {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Word;
        impl Visitor<'_> for Word {
            type Value = Evidence;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("how a value is known")
            }
            fn visit_str<E: de::Error>(self, word: &str) -> Result<Evidence, E> {
                // that a region stands for a value is for the tool to say
                let known = Evidence::named(word).filter(|kind| *kind != Evidence::Region);
                known.ok_or_else(|| E::custom(format_args!("`{word}` is no way to know a value")))
            }
        }
        deserializer.deserialize_str(Word)
    }
}

/// A value, typed by its row of the catalogue.
struct ValueSeed(SettingId);

impl<'de> DeserializeSeed<'de> for ValueSeed {
    type Value = Value;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for ValueSeed {
    type Value = Value;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a value of {}", self.0)
    }
    #[inline(always)]
    fn visit_str<E: de::Error>(self, text: &str) -> Result<Value, E> {
        match self.0.parameter().shape {
            Shape::Quantity(Dimension::Time) if text == NEVER => Ok(Value::Never),
            Shape::Quantity(dimension) => dimension.parse_set(text).map(Value::Quantity).map_err(E::custom),
            Shape::Choice(words) => notation::word(words, text).map(Value::Word).map_err(E::custom),
            Shape::Curve { .. } => Err(E::custom("expected points")),
        }
    }
    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Value, E> {
        let text = plain_number(self.0.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Value, E> {
        let text = plain_number(self.0.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Value, E> {
        let text = plain_number(self.0.parameter().shape, number)?;
        self.visit_str(&text)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut points: A) -> Result<Value, A::Error> {
        let Shape::Curve { x, y } = self.0.parameter().shape else {
            return Err(de::Error::custom("expected one value, found a list"));
        };
        let mut curve: Vec<Point> = Vec::with_capacity(4);
        while let Some(point) = points.next_element_seed(PointSeed { x, y })? {
            let descends = curve.last().is_some_and(|last| last.x.of == point.x.of && last.x.number > point.x.number);
            if descends || curve.len() == notation::MAX_POINTS {
                return Err(de::Error::custom("points must ascend, and be few"));
            }
            curve.push(point);
        }
        if curve.len() < 2 {
            return Err(de::Error::custom("a curve has at least two points"));
        }
        Ok(Value::Curve(curve))
    }
}

struct PointSeed {
    x: Dimension,
    y: Dimension,
}

impl<'de> DeserializeSeed<'de> for PointSeed {
    type Value = Point;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Point, D::Error> {
        deserializer.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for PointSeed {
    type Value = Point;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a point of two values")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut axes: A) -> Result<Point, A::Error> {
        let missing = || de::Error::custom("a point has two values");
        let x = axes.next_element_seed(QuantitySeed(self.x))?.ok_or_else(missing)?;
        let y = axes.next_element_seed(QuantitySeed(self.y))?.ok_or_else(missing)?;
        match axes.next_element::<IgnoredAny>()? {
            None => Ok(Point { x, y }),
            Some(_) => Err(missing()),
        }
    }
}

struct QuantitySeed(Dimension);

impl<'de> DeserializeSeed<'de> for QuantitySeed {
    type Value = Amount;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Amount, D::Error> {
        if self.0.is_unitless() { deserializer.deserialize_any(self) } else { deserializer.deserialize_str(self) }
    }
}

impl Visitor<'_> for QuantitySeed {
    type Value = Amount;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a {} with its unit", self.0.name())
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<Amount, E> {
        self.0.parse_held(text).map_err(E::custom)
    }
    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Amount, E> {
        let text = plain_number(Shape::Quantity(self.0), number)?;
        self.visit_str(&text)
    }
    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Amount, E> {
        let text = plain_number(Shape::Quantity(self.0), number)?;
        self.visit_str(&text)
    }
    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Amount, E> {
        let text = plain_number(Shape::Quantity(self.0), number)?;
        self.visit_str(&text)
    }
}

/// A device's resolution: a plain quantity of the setting's own dimension; of a curve, one along each
/// axis.
struct StepSeed(SettingId);

impl<'de> DeserializeSeed<'de> for StepSeed {
    type Value = Step;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Step, D::Error> {
        let sized = |size, level| Step { size, level, exact: false };
        match self.0.parameter().shape {
            Shape::Quantity(dimension) => {
                step::<D::Error>(QuantitySeed(dimension).deserialize(deserializer)?).map(|size| sized(size, None))
            }
            Shape::Curve { x, y } => {
                let Point { x, y } = PointSeed { x, y }.deserialize(deserializer)?;
                Ok(sized(step::<D::Error>(x)?, Some(step::<D::Error>(y)?)))
            }
            Shape::Choice(_) => Err(de::Error::custom("a word has no step")),
        }
    }
}

fn step<E: de::Error>(amount: Amount) -> Result<Exact, E> {
    if amount.of.is_some() || amount.number <= Exact::ZERO {
        return Err(E::custom("a step is a plain quantity above zero"));
    }
    Ok(amount.number)
}
