//! What a layer may state: a statement for each shape of setting, and the conditions on it.

use super::{by_catalogue, set, shape_name, shared, text_of, value};
use crate::catalogue::{Equipment, HeldBy, Shape};
use crate::exact::Exact;
use crate::facts::{FACTS, FactId, FactShape};
use crate::files::{Conditions, Statements};
use crate::quantity::Dimension;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value as Json, json};
use std::borrow::Cow;

impl JsonSchema for Statements {
    fn schema_name() -> Cow<'static, str> {
        "statements".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        statements_on(Equipment::Inverter, generator)
    }
}

/// Statements on a grid protection relay.
pub fn relay_statements(generator: &mut SchemaGenerator) -> Schema {
    shared_statements_on(Equipment::GridProtectionRelay, generator)
}

/// Statements on the installation as a whole.
pub fn installation_statements(generator: &mut SchemaGenerator) -> Schema {
    shared_statements_on(Equipment::Installation, generator)
}

fn shared_statements_on(kind: Equipment, generator: &mut SchemaGenerator) -> Schema {
    let name = format!("statements-on-{}", kind.word());
    let reference = shared(generator, name, |generator| statements_on(kind, generator).to_value());
    reference.try_into().expect("an object is a schema")
}

fn statements_on(kind: Equipment, generator: &mut SchemaGenerator) -> Schema {
    let schema = by_catalogue(&[kind], |parameter| {
        let settable = parameter.held_by != HeldBy::AmbiguousDisplay;
        settable.then(|| {
            let name = format!("statement-{}", shape_name(parameter.shape));
            shared(generator, name, |generator| statement(generator, parameter.shape))
        })
    });
    schema.try_into().expect("an object is a schema")
}

/// A quantity of which one unit is a likely example.
fn one_of(dimension: Dimension) -> Json {
    let mut tolerance = text_of(dimension);
    tolerance["examples"] = json!([dimension.show(Exact::ONE)]);
    tolerance
}

/// What may be said of a setting of a shape.
pub(super) fn statement(generator: &mut SchemaGenerator, shape: Shape) -> Json {
    let conditions = generator.subschema_for::<Conditions>().to_value();
    let moved_by = generator.subschema_for::<crate::files::WhoWord>();
    let mut said = json!({
        "require": value(shape),
        "comply": set(shape),
        "also": set(shape),
        "adjustable": set(shape),
        "evidence": {
            "type": "string", "x-evidence": true, "examples": ["read or photo", "any"],
            "description": "how the value has to be known; `region` accepts a selected region on a certified device",
        },
        "moved-by": moved_by,
        "because": { "type": "string", "minLength": 1 },
        "outside-because": { "type": "string", "minLength": 1, "description": "why the range reaches outside the one below" },
        "gap": { "type": "string", "minLength": 1, "description": "a demand whose table is not in this profile, and why" },
        "source": { "type": "string", "description": "one of this file's sources" },
        "range-source": { "type": "string", "description": "the source of the adjustable range, where that is another" },
    });
    if let Shape::Quantity(dimension) = shape {
        said["step"] = one_of(dimension);
        said["step"]["description"] = "the steps in which the adjustable range can be set, counted from its lower end".into();
    }
    if let Shape::Curve { x, y } = shape {
        said["response-within"] = json!({
            "title": "tolerance", "type": "array", "prefixItems": [one_of(x), one_of(y)], "minItems": 2, "maxItems": 2,
            "description": "how far the response may lie from the required one: along the measured axis, and across it",
        });
        for (verb, side) in [("nowhere-below", "below"), ("nowhere-above", "above")] {
            said[verb] = value(shape);
            said[verb]["description"] = format!("a response complies that lies nowhere {side} this one; a step is a point twice").into();
        }
        said["spacing"] = json!({ "type": "string", "x-interval": x.name(), "examples": ["at least 0.02 pu"] });
    }
    let mut case = said.clone();
    case["when"] = conditions.clone();
    case["otherwise"] = json!({ "const": "as the layer below" });
    let case = json!({ "type": "object", "properties": case, "additionalProperties": false });
    said["when"] = conditions;
    said["cases"] = json!({ "type": "array", "minItems": 1, "items": case });
    json!({ "title": "statement", "type": "object", "properties": said, "additionalProperties": false, "minProperties": 1 })
}

impl JsonSchema for Conditions {
    fn schema_name() -> Cow<'static, str> {
        "conditions".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let facts: Map<String, Json> = FACTS.iter().map(|fact| (fact.key.to_owned(), condition(fact.id))).collect();
        json_schema!({ "title": "condition", "type": "object", "properties": facts, "additionalProperties": false, "minProperties": 1 })
    }
}

fn condition(fact: FactId) -> Json {
    let row = fact.row();
    let (kind, example) = match row.shape {
        FactShape::Choice(words) => (json!("string"), words.join(" or ")),
        FactShape::Quantity(Dimension::Count) => (json!(["string", "integer"]), "2 to 3".to_owned()),
        FactShape::Quantity(dimension) => (json!("string"), format!("over {}", dimension.example())),
        FactShape::Date => (json!("string"), "from 2026-02-03".to_owned()),
    };
    json!({ "type": kind, "description": format!("{} ({})", row.title, row.stated_as), "examples": [example], "x-fact": row.key })
}
