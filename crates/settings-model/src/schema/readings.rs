//! The schema of what an office read: the words of a profile, each of which may be left empty.

use super::statements::statement;
use super::{by_catalogue, shape_name, shared};
use crate::catalogue::{Equipment, HeldBy, Shape};
use crate::files::Readings;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Value as Json, json};
use std::borrow::Cow;

impl JsonSchema for Readings {
    fn schema_name() -> Cow<'static, str> {
        "readings".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        readings_on(Equipment::Inverter, generator)
    }
}

/// Readings on a grid protection relay.
pub fn relay_readings(generator: &mut SchemaGenerator) -> Schema {
    shared_readings_on(Equipment::GridProtectionRelay, generator)
}

/// Readings on the installation as a whole.
pub fn installation_readings(generator: &mut SchemaGenerator) -> Schema {
    shared_readings_on(Equipment::Installation, generator)
}

fn shared_readings_on(kind: Equipment, generator: &mut SchemaGenerator) -> Schema {
    let reference = shared(generator, format!("readings-on-{}", kind.word()), |generator| readings_on(kind, generator).to_value());
    reference.try_into().expect("an object is a schema")
}

fn readings_on(kind: Equipment, generator: &mut SchemaGenerator) -> Schema {
    let schema = by_catalogue(&[kind], |parameter| {
        let settable = parameter.held_by != HeldBy::AmbiguousDisplay;
        settable.then(|| shared(generator, format!("{PREFIX}{}", shape_name(parameter.shape)), |g| reading(g, parameter.shape)))
    });
    generator.definitions_mut().remove("WhoWord");
    schema.try_into().expect("an object is a schema")
}

/// What the names of these definitions begin with.
const PREFIX: &str = "reading-";

/// What a profile says besides its values.
const NO_VALUES: [&str; 7] = ["moved-by", "because", "outside-because", "gap", "source", "range-source", "otherwise"];

/// A reading has the values of a statement, and its clause.
fn reading(generator: &mut SchemaGenerator, shape: Shape) -> Json {
    let mut reading = statement(generator, shape);
    reading["title"] = "reading".into();
    for group in [&["properties"][..], &["properties", "cases", "items", "properties"]] {
        let properties = group.iter().fold(&mut reading, |json, step| &mut json[*step]);
        properties["clause"] = json!({ "type": "string", "minLength": 1, "description": "the clause or table in which it was read" });
        if let Some(properties) = properties.as_object_mut() {
            properties.retain(|key, _| !NO_VALUES.contains(&key.as_str()));
        }
    }
    reading["properties"]["cases"]["items"]["title"] = "reading".into();
    reading["properties"]["cases"]["items"]["minProperties"] = 1.into();
    reading
}

/// Lets every value, and every clause, be left empty: not yet read.
pub(super) fn allow_empty(schema: &mut Json) {
    let definitions = schema["$defs"].as_object_mut().into_iter().flatten();
    for (name, definition) in definitions {
        if name.starts_with(PREFIX) {
            let properties = &mut definition["properties"];
            may_be_empty(&mut properties["cases"]["items"]["properties"], &["when"]);
            may_be_empty(properties, &["when", "cases"]);
        } else if name == "Confirmed" {
            let clause = &mut definition["properties"]["clause"];
            clause["type"] = json!(["string", "null"]);
            clause["minLength"] = 1.into();
        }
    }
}

fn may_be_empty(properties: &mut Json, but: &[&str]) {
    let values = properties.as_object_mut().into_iter().flatten().filter(|(key, _)| !but.contains(&key.as_str()));
    for (_, value) in values {
        let kind = value["type"].take();
        let kinds = kind.as_array().cloned().unwrap_or_else(|| vec![kind]);
        value["type"] = kinds.into_iter().chain([json!("null")]).collect();
        // a list of words is asked of text only
        if let Some(words) = value.as_object_mut().and_then(|value| value.remove("enum")) {
            value["if"] = json!({ "type": "string" });
            value["then"] = json!({ "enum": words });
        }
    }
}
