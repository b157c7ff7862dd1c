//! JSON Schemas for every kind of file, made from the types and the catalogues.
//!
//! A value may be bare (`265 V`) or a group (`{ value: 265 V, known-by: photo }`). Keywords that
//! bind only one JSON type say so without unions, so an error speaks of the branch that was meant.
//! Keywords that begin with `x-` call the tool's own parsers; editors use the plain ones.

mod keywords;
mod readings;
mod statements;

pub use keywords::{KEYWORDS, complaints_of_text, setting_of_path};
pub use readings::{installation_readings, relay_readings};
pub use statements::{installation_statements, relay_statements};

use crate::catalogue::{Equipment, FUNCTIONS, Function, HeldBy, Parameter, SettingId, Shape};
use crate::claim::Evidence;
use crate::exact::Exact;
use crate::facts::{FACTS, FactId, FactShape};
use crate::files::{Displayed, FactWord, Kind};
use crate::notation::{self, Written};
use crate::quantity::Dimension;
use crate::settings::Settings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value as Json, json};
use std::borrow::Cow;

/// The schema of a kind of file.
#[must_use]
pub fn of_kind(kind: Kind) -> Json {
    let mut schema = kind.schema();
    schema.insert("title".to_owned(), kind.title().into());
    let mut schema = schema.to_value();
    simplify(&mut schema);
    if kind == Kind::Attestation {
        readings::allow_empty(&mut schema);
    }
    schema["properties"]["kind"] = json!({ "description": format!("Always `{}`.", kind.word()), "const": kind.word() });
    schema
}

/// Says the same without unions, so that an error speaks of the value and not of a branch: an
/// absent value is left out, never null; a choice of words is a list of them.
fn simplify(schema: &mut Json) {
    match schema {
        Json::Array(items) => items.iter_mut().for_each(simplify),
        Json::Object(object) => {
            object.values_mut().for_each(simplify);
            object.retain(|key, value| key != "default" || !value.is_null());
            if let Some(Json::Array(types)) = object.get_mut("type") {
                types.retain(|t| t != "null");
                if let [only] = &types[..] {
                    let only = only.clone();
                    object.insert("type".to_owned(), only);
                }
            }
            if let Some(Json::Array(words)) = object.get_mut("enum") {
                words.retain(|word| !word.is_null());
            }
            if let Some(Json::Array(branches)) = object.get("anyOf")
                && let [some, null] = &branches[..]
                && *null == json!({ "type": "null" })
            {
                let some = some.clone();
                object.remove("anyOf");
                object.extend(some.as_object().into_iter().flatten().map(|(k, v)| (k.clone(), v.clone())));
            }
            if let Some(Json::Array(branches)) = object.get("oneOf")
                && let Some(words) = branches.iter().map(|b| b.get("const").cloned()).collect::<Option<Vec<_>>>()
            {
                object.remove("oneOf");
                object.insert("type".to_owned(), "string".into());
                object.insert("enum".to_owned(), words.into());
            }
        }
        _ => {}
    }
}

/// The schema of a plain quantity.
#[must_use]
pub fn quantity(dimension: Dimension) -> Schema {
    read_by("x-plain-quantity", text_of(dimension), dimension.name()).try_into().expect("an object is a schema")
}

/// The schema of a quantity that answers a fact.
#[must_use]
pub fn rating(fact: FactId) -> Schema {
    let FactShape::Quantity(dimension) = fact.row().shape else { unreachable!("only quantities are asked for") };
    read_by("x-rating", text_of(dimension), fact.row().key).try_into().expect("an object is a schema")
}

fn text_of(dimension: Dimension) -> Json {
    let kind = if dimension.is_unitless() { json!(["string", "number"]) } else { json!("string") };
    json!({
        "type": kind,
        "pattern": quantity_pattern(dimension),
        "description": format!("{}, such as `{}`", dimension.a_name(), dimension.example()),
        "examples": [dimension.example()],
        "x-quantity": dimension.name(),
    })
}

/// A coordinate of what a device or a site holds, or is required to hold: within what is possible.
fn held_text_of(dimension: Dimension) -> Json {
    read_by("x-held", text_of(dimension), dimension.name())
}

/// A quantity that is read by another keyword than usual.
fn read_by(keyword: &str, mut text: Json, of: &str) -> Json {
    text.as_object_mut().expect("made as an object").remove("x-quantity");
    text[keyword] = of.into();
    text
}

fn quantity_pattern(dimension: Dimension) -> String {
    let units: Vec<String> = dimension.symbols().map(|s| s.replace('/', "\\/").replace('.', "\\.")).collect();
    let unit = if units.is_empty() { String::new() } else { format!("\\s*({})", units.join("|")) };
    format!("^[+-]?\\d+(\\.\\d+)?{unit}$")
}

/// A short name for a shape, for shared definitions.
fn shape_name(shape: Shape) -> String {
    match shape {
        Shape::Quantity(dimension) => dimension.name().replace(' ', "-"),
        Shape::Choice(words) => words.join("-or-"),
        Shape::Curve { x, y } => format!("curve-{}-{}", x.name().replace(' ', "-"), y.name().replace(' ', "-")),
    }
}

/// Shares a definition and refers to it.
fn shared(generator: &mut SchemaGenerator, name: String, make: impl FnOnce(&mut SchemaGenerator) -> Json) -> Json {
    if !generator.definitions().contains_key(&name) {
        let definition = make(generator);
        generator.definitions_mut().insert(name.clone(), definition);
    }
    json!({ "$ref": format!("#/$defs/{name}") })
}

/// One object with a property for each function that some of this equipment may have, and in it one
/// for each of its settings.
fn by_catalogue(held_by: &[Equipment], mut of: impl FnMut(&Parameter) -> Option<Json>) -> Json {
    let mut functions = Map::new();
    for function in FUNCTIONS.iter().filter(|function| held_by.iter().any(|kind| function.held_by.contains(kind))) {
        let described = |parameter: &Parameter| {
            let mut schema = of(parameter)?;
            schema["description"] = format!("{}: {}", parameter.title, parameter.meaning).into();
            Some((parameter.key.to_owned(), schema))
        };
        let parameters: Map<String, Json> = function.parameters.iter().filter_map(described).collect();
        functions.insert(function.key.to_owned(), function_schema(function, parameters));
    }
    json!({ "type": "object", "properties": functions, "additionalProperties": false })
}

fn function_schema(function: &Function, parameters: Map<String, Json>) -> Json {
    json!({
        "type": "object",
        "description": format!("{}: {}", function.title, function.meaning),
        "properties": parameters,
        "additionalProperties": false,
    })
}

impl JsonSchema for Settings {
    fn schema_name() -> Cow<'static, str> {
        "settings".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        held_settings(&[Equipment::Inverter, Equipment::GridProtectionRelay], generator)
    }
}

/// One of the words of a fact.
impl<const FACT: u8> JsonSchema for FactWord<FACT> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        FACTS[usize::from(FACT)].key.into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let row = &FACTS[usize::from(FACT)];
        let words = row.id.words();
        json_schema!({ "type": "string", "enum": words, "description": row.title })
    }
}

/// What an installation comes to: its figures, where they are stated and not added up.
pub fn installation_figures(generator: &mut SchemaGenerator) -> Schema {
    held_settings(&[Equipment::Installation], generator)
}

fn held_settings(held_by: &[Equipment], generator: &mut SchemaGenerator) -> Schema {
    let evidence = generator.subschema_for::<Evidence>();
    let schema = by_catalogue(held_by, |parameter| {
        let shape = parameter.shape;
        let stated = parameter.held_by != HeldBy::AddedUp;
        stated.then(|| shared(generator, format!("held-{}", shape_name(shape)), |_| held(shape, evidence.as_value())))
    });
    schema.try_into().expect("an object is a schema")
}

/// A value as a device holds it: bare, or with how it is known.
fn held(shape: Shape, evidence: &Json) -> Json {
    let bare = if shape == Shape::Quantity(Dimension::Time) { held_time() } else { value(shape) };
    let mut group = json!({ "value": bare, "known-by": evidence, "photo": { "type": ["integer", "string"], "x-one-line": true }, "initials": { "type": "string", "x-one-line": true }, "read-from": read_from() });
    let step = match shape {
        Shape::Quantity(dimension) => Some(step_of(dimension)),
        Shape::Curve { x, y } => {
            Some(json!({ "title": "step", "type": "array", "prefixItems": [step_of(x), step_of(y)], "minItems": 2, "maxItems": 2 }))
        }
        Shape::Choice(_) => None,
    };
    if let Some(step) = step {
        group["step"] = step;
        group["exact"] =
            json!({ "type": "boolean", "description": "whether the device holds just what it shows, and only takes it in steps" });
    }
    let mut both = bare;
    if let Some(words) = both.as_object_mut().and_then(|both| both.remove("enum")) {
        both["if"] = json!({ "type": "string" });
        both["then"] = json!({ "enum": words });
    }
    let bare = both["type"].take();
    let kinds = bare.as_array().cloned().unwrap_or_else(|| vec![bare]);
    both["type"] = kinds.into_iter().chain([json!("object")]).collect();
    both["properties"] = group;
    both["required"] = json!(["value"]);
    both["additionalProperties"] = false.into();
    both
}

/// The registers that say a value.
fn read_from() -> Json {
    json!({
        "type": "string",
        "pattern": "^\\d+/\\d+ = \\d+( \\d+)*$",
        "examples": ["707/40433 = 880"],
        "x-registers": true,
        "description": "model, first register and raw values, as `capture` read them",
    })
}

/// A device's resolution: a plain quantity above zero.
fn step_of(dimension: Dimension) -> Json {
    let mut step = read_by("x-step", text_of(dimension), dimension.name());
    step["examples"] = json!([dimension.show(Exact::ONE)]);
    step
}

/// A time that a device holds may be "continuous".
fn held_time() -> Json {
    json!({
        "type": "string",
        "pattern": format!("{}|^{}$", quantity_pattern(Dimension::Time), notation::NEVER),
        "examples": [Dimension::Time.example(), notation::NEVER],
        "x-time-or-never": Dimension::Time.name(),
    })
}

/// One value.
fn value(shape: Shape) -> Json {
    match shape {
        Shape::Quantity(dimension) => read_by("x-set", text_of(dimension), dimension.name()),
        Shape::Choice(words) => json!({ "type": "string", "enum": words }),
        Shape::Curve { x, y } => points(held_text_of(x), held_text_of(y), Some(x)),
    }
}

fn points(x: Json, y: Json, ascending: Option<Dimension>) -> Json {
    let point = json!({ "title": "point", "type": "array", "prefixItems": [x, y], "minItems": 2, "maxItems": 2 });
    let most = notation::MAX_POINTS;
    let mut schema = json!({ "title": "list of points", "type": "array", "items": point, "minItems": 2, "maxItems": most });
    if let Some(dimension) = ascending {
        schema["x-ascending"] = dimension.name().into();
    }
    schema
}

/// What an approval may ask instead, by the shape of the setting that it names.
#[must_use]
pub fn approved_values() -> Json {
    let mut shapes: Vec<(Shape, Vec<String>)> = Vec::new();
    for setting in SettingId::all() {
        let shape = setting.parameter().shape;
        match shapes.iter_mut().find(|(known, _)| *known == shape) {
            Some((_, settings)) => settings.push(setting.to_string()),
            None => shapes.push((shape, vec![setting.to_string()])),
        }
    }
    let branch = |(shape, settings): &(Shape, Vec<String>)| {
        let named = format!("^([^/]+/)?({})$", settings.join("|"));
        json!({
            "if": { "properties": { "setting": { "pattern": named } }, "required": ["setting"] },
            "then": { "properties": { "require": value(*shape), "comply": set(*shape) } },
        })
    };
    shapes.iter().map(branch).collect()
}

/// A set of values.
fn set(shape: Shape) -> Json {
    let interval = |dimension: Dimension| {
        let example = dimension.example();
        json!({ "type": "string", "x-interval": dimension.name(), "examples": [format!("at most {example}"), format!("under {example}")] })
    };
    match shape {
        Shape::Quantity(dimension) => interval(dimension),
        Shape::Choice(words) => json!({ "type": "string", "x-words": words, "examples": [words.join(" or ")] }),
        Shape::Curve { x, y } => points(edges(x), edges(y), None),
    }
}

/// The interval of one coordinate of a point, whose edges may be counted from its neighbours.
fn edges(dimension: Dimension) -> Json {
    let example = dimension.example();
    let examples = [format!("at most {example}"), format!("previous + {example} to next")];
    json!({ "type": "string", "x-point-interval": dimension.name(), "examples": examples })
}

/// What a display shows, by its own words: which there are, the label map knows.
impl JsonSchema for Displayed {
    fn schema_name() -> Cow<'static, str> {
        "displayed".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let evidence = generator.subschema_for::<Evidence>();
        json_schema!({
            "title": "displayed",
            "type": "object",
            "description": "values in the words of the display",
            "minProperties": 1,
            "additionalProperties": {
                "type": ["string", "number", "object"],
                "examples": ["265 V"],
                "properties": {
                    "value": { "type": ["string", "number"] },
                    "known-by": evidence,
                    "photo": { "type": ["integer", "string"] },
                    "initials": { "type": "string" },
                },
                "required": ["value"],
                "additionalProperties": false,
            },
        })
    }
}

impl JsonSchema for Evidence {
    fn schema_name() -> Cow<'static, str> {
        "evidence".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "enum": Evidence::WORDS.into_iter().filter(|word| *word != Evidence::Region.word()).collect::<Vec<_>>(),
            "description": "how a value is known: read by a program, photographed, typed in from a display, tested on site, or only stated",
        })
    }
}

impl JsonSchema for Written {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "written".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "description": "a value, set or curve as its setting takes it" })
    }
}
