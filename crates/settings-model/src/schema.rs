//! JSON Schemas for every kind of file, made from the types and the catalogues.
//!
//! A value may be bare (`265 V`) or a group (`{ value: 265 V, known-by: photo }`). Keywords that
//! bind only one JSON type say so without unions, so an error speaks of the branch that was meant.
//! Keywords that begin with `x-` call the tool's own parsers; editors use the plain ones.

use crate::catalogue::{FUNCTIONS, Function, HeldBy, Parameter, SettingId, Shape};
use crate::claim::Evidence;
use crate::facts::{FACTS, FactId, FactShape};
use crate::files::{Conditions, Kind, Nominal, OverlayFile, SiteFile, StandardFile, Statements, Version, VersionRange};
use crate::notation::{self, Written};
use crate::quantity::Dimension;
use crate::settings::Settings;
use schema_check::{Keyword, Slip};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value as Json, json};
use std::borrow::Cow;

/// The schema of a kind of file.
#[must_use]
pub fn of_kind(kind: Kind) -> Json {
    let (mut schema, title) = match kind {
        Kind::Standard => (schemars::schema_for!(StandardFile), "asleft standard: one edition of a base standard"),
        Kind::Overlay => (schemars::schema_for!(OverlayFile), "asleft overlay: one version of a network operator's requirements"),
        Kind::Site => (schemars::schema_for!(SiteFile<'static>), "asleft site: its facts, devices and what they hold"),
    };
    schema.insert("title".to_owned(), title.into());
    let mut schema = schema.to_value();
    simplify(&mut schema);
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
            if let Some(Json::Array(types)) = object.get_mut("type") {
                types.retain(|t| t != "null");
                if let [only] = &types[..] {
                    let only = only.clone();
                    object.insert("type".to_owned(), only);
                }
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
    text_of(dimension).try_into().expect("an object is a schema")
}

fn text_of(dimension: Dimension) -> Json {
    json!({
        "type": "string",
        "pattern": quantity_pattern(dimension),
        "description": format!("{}, such as `{}`", dimension.a_name(), dimension.example()),
        "examples": [dimension.example()],
        "x-quantity": dimension.name(),
    })
}

fn quantity_pattern(dimension: Dimension) -> String {
    let units: Vec<String> = dimension.symbols().map(|s| s.replace('/', "\\/")).collect();
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

/// One object with a property for each function, and in it one for each of its settings.
fn by_catalogue(mut of: impl FnMut(&Parameter) -> Option<Json>) -> Json {
    let mut functions = Map::new();
    for function in FUNCTIONS {
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
        let evidence = generator.subschema_for::<Evidence>();
        let schema = by_catalogue(|parameter| {
            let shape = parameter.shape;
            Some(shared(generator, format!("held-{}", shape_name(shape)), |_| held(shape, evidence.as_value())))
        });
        schema.try_into().expect("an object is a schema")
    }
}

/// A value as a device holds it: bare, or with how it is known.
fn held(shape: Shape, evidence: &Json) -> Json {
    let bare = if shape == Shape::Quantity(Dimension::Time) { held_time() } else { value(shape) };
    let mut group = json!({ "value": bare, "known-by": evidence, "photo": { "type": ["integer", "string"] } });
    if let Shape::Quantity(dimension) = shape {
        group["step"] = text_of(dimension);
    }
    let mut both = bare;
    both["type"] = json!([both["type"], "object"]);
    both["properties"] = group;
    both["required"] = json!(["value"]);
    both["additionalProperties"] = false.into();
    both
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
        Shape::Quantity(dimension) => text_of(dimension),
        Shape::Choice(words) => json!({ "type": "string", "enum": words }),
        Shape::Curve { x, y } => points(text_of(x), text_of(y), Some(x)),
    }
}

fn points(x: Json, y: Json, ascending: Option<Dimension>) -> Json {
    let point = json!({
        "type": "array",
        "x-size": "a point has two values, such as `[253 V, 100 %]`",
        "prefixItems": [x, y],
        "minItems": 2,
        "maxItems": 2,
    });
    let mut schema = json!({
        "type": "array",
        "x-size": format!("a curve has 2 to {} points", notation::MAX_POINTS),
        "items": point,
        "minItems": 2,
        "maxItems": notation::MAX_POINTS,
    });
    if let Some(dimension) = ascending {
        schema["x-ascending"] = dimension.name().into();
    }
    schema
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
        Shape::Curve { x, y } => points(interval(x), interval(y), None),
    }
}

impl JsonSchema for Evidence {
    fn schema_name() -> Cow<'static, str> {
        "evidence".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "enum": Evidence::ALL.map(Evidence::word),
            "description": "how a value is known: read by a program, photographed, typed in from a display, or only stated",
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
        json_schema!({ "type": ["string", "number", "array"], "description": "a value, set or curve as its setting takes it" })
    }
}

impl JsonSchema for Statements {
    fn schema_name() -> Cow<'static, str> {
        "statements".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let schema = by_catalogue(|parameter| {
            let settable = parameter.held_by != HeldBy::AmbiguousDisplay;
            settable.then(|| {
                let name = format!("statement-{}", shape_name(parameter.shape));
                shared(generator, name, |generator| statement(generator, parameter.shape))
            })
        });
        schema.try_into().expect("an object is a schema")
    }
}

fn statement(generator: &mut SchemaGenerator, shape: Shape) -> Json {
    let conditions = generator.subschema_for::<Conditions>().to_value();
    let moved_by = generator.subschema_for::<crate::files::WhoWord>();
    let mut said = json!({
        "require": value(shape),
        "comply": set(shape),
        "also": set(shape),
        "adjustable": set(shape),
        "moved-by": moved_by,
        "because": { "type": "string", "minLength": 1 },
        "outside-because": { "type": "string", "minLength": 1, "description": "why the range reaches outside the one below" },
        "gap": { "type": "string", "minLength": 1, "description": "a demand whose content was not seen, and why" },
        "source": { "type": "string", "description": "one of this file's sources" },
        "range-source": { "type": "string", "description": "the source of the adjustable range, where that is another" },
    });
    if let Shape::Curve { x, .. } = shape {
        said["spacing"] = json!({ "type": "string", "x-interval": x.name(), "examples": ["at least 0.02 pu"] });
    }
    let mut case = said.clone();
    case["when"] = conditions.clone();
    case["otherwise"] = json!({ "const": "as the layer below" });
    let case = json!({ "type": "object", "properties": case, "additionalProperties": false });
    said["when"] = conditions;
    said["cases"] = json!({ "type": "array", "minItems": 1, "items": case });
    json!({ "type": "object", "properties": said, "additionalProperties": false, "minProperties": 1 })
}

impl JsonSchema for Conditions {
    fn schema_name() -> Cow<'static, str> {
        "conditions".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let facts: Map<String, Json> = FACTS.iter().map(|fact| (fact.key.to_owned(), condition(fact.id))).collect();
        json_schema!({ "type": "object", "properties": facts, "additionalProperties": false, "minProperties": 1 })
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

/// The keywords that call the tool's own parsers.
pub const KEYWORDS: &[Keyword] = &[
    Keyword { name: "x-quantity", check: |keyword, text| Ok(dimension(keyword)?.parse(text_in(text)?).map(drop)?) },
    Keyword { name: "x-interval", check: |keyword, text| Ok(notation::interval(dimension(keyword)?, text_in(text)?).map(drop)?) },
    Keyword { name: "x-time-or-never", check: time_or_never },
    Keyword { name: "x-words", check: words },
    Keyword { name: "x-fact", check: fact },
    Keyword { name: "x-date", check: |_, text| Ok(notation::date(text_in(text)?).map(drop)?) },
    Keyword { name: "x-nominal", check: |_, text| Ok(Nominal::parse(text_in(text)?).map(drop)?) },
    Keyword { name: "x-version-range", check: |_, text| Ok(VersionRange::parse(text_in(text)?).map(drop)?) },
    Keyword { name: "x-version", check: |_, text| Ok(Version::parse(text_in(text)?).map(drop)?) },
    Keyword { name: "x-ascending", check: ascending },
    Keyword { name: "x-approval", check: approval },
];

fn dimension(keyword: &Json) -> Result<Dimension, Slip> {
    Ok(keyword.as_str().and_then(Dimension::named).ok_or("the schema names no dimension")?)
}

/// Text, or nothing to say: another keyword reports a value that is not text.
fn text_in(value: &Json) -> Result<&str, Slip> {
    value.as_str().ok_or(Slip::NotMine)
}

fn time_or_never(_: &Json, text: &Json) -> Result<(), Slip> {
    let text = text_in(text)?;
    if text == notation::NEVER { Ok(()) } else { Ok(Dimension::Time.parse(text).map(drop)?) }
}

fn words(keyword: &Json, text: &Json) -> Result<(), Slip> {
    let known: Vec<&str> = keyword.as_array().into_iter().flatten().filter_map(Json::as_str).collect();
    for part in text_in(text)?.split(" or ") {
        notation::word(&known, part)?;
    }
    Ok(())
}

fn fact(keyword: &Json, value: &Json) -> Result<(), Slip> {
    let fact = keyword.as_str().and_then(FactId::named).ok_or("the schema names no fact")?;
    match value {
        Json::Number(n) => notation::fact_test(fact, &n.to_string())?,
        _ => notation::fact_test(fact, text_in(value)?)?,
    };
    Ok(())
}

/// Points ascend; what is not a quantity is reported by the point itself.
fn ascending(keyword: &Json, points: &Json) -> Result<(), Slip> {
    let dimension = dimension(keyword)?;
    let x = |point: &Json| point.get(0).and_then(Json::as_str).and_then(|text| dimension.parse(text).ok());
    let points = points.as_array().map(Vec::as_slice).unwrap_or_default();
    for (n, pair) in points.windows(2).enumerate() {
        if let (Some(before), Some(after)) = (x(&pair[0]), x(&pair[1]))
            && before.of == after.of
            && before.number > after.number
        {
            let says = format!("points must ascend: {} comes after {}", after.show(dimension), before.show(dimension));
            return Err(Slip::At { steps: vec![(n + 1).to_string(), "0".to_owned()], says });
        }
    }
    Ok(())
}

/// An approval's value is typed by the setting that it names.
fn approval(_: &Json, approval: &Json) -> Result<(), Slip> {
    let Some(path) = approval.get("setting").and_then(Json::as_str) else { return Err(Slip::NotMine) };
    let at = |step: &str, says: String| Slip::At { steps: vec![step.to_owned()], says };
    let Some(setting) = setting_of_path(path) else {
        return Err(at(
            "setting",
            format!("`{path}` is not a setting; write it as `overvoltage-1/threshold`, with the device in front if need be"),
        ));
    };
    if approval.get("require").is_none() && approval.get("comply").is_none() {
        return Err(at("setting", "the approval says nothing: add `require` or `comply`".to_owned()));
    }
    let day =
        |key: &str| approval.get("approval").and_then(|a| a.get(key)).and_then(Json::as_str).and_then(|text| notation::date(text).ok());
    if let (Some(granted), Some(until)) = (day("granted"), day("until"))
        && until < granted
    {
        let steps = vec!["approval".to_owned(), "until".to_owned()];
        return Err(Slip::At { steps, says: format!("the approval ends on {until}, before it is granted on {granted}") });
    }
    for verb in ["require", "comply"] {
        let Some(written) = approval.get(verb).and_then(|w| serde_json::from_value::<Written>(w.clone()).ok()) else { continue };
        let why = crate::claim::WhyId(0);
        let read = if verb == "require" { written.value(setting).map(drop) } else { written.claims(setting, why).map(drop) };
        if let Err(faults) = read {
            let fault = &faults[0];
            let mut steps = vec![verb.to_owned()];
            steps.extend(fault.at.into_iter().flat_map(|(point, axis)| [point.to_string(), axis.to_string()]));
            return Err(Slip::At { steps, says: fault.says.clone() });
        }
    }
    Ok(())
}

/// The setting at the end of `inverter-1/overvoltage-1/threshold` or `overvoltage-1/threshold`.
#[must_use]
pub fn setting_of_path(path: &str) -> Option<SettingId> {
    SettingId::named(path).or_else(|| SettingId::named(path.split_once('/')?.1))
}
