//! What a schema wants, in people's words.

use crate::document::{Kind, Node};
use crate::facts::{FactId, FactShape};
use crate::quantity::Dimension;
use crate::slip::{Slip, one_of, with_article};
use serde_json::Value as Json;

/// The titles by which people know a group or a list.
const TITLES: [&str; 7] = ["point", "step", "tolerance", "list of points", "condition", "statement", "reading"];

/// What belongs here (`a voltage`), and how to write it.
pub(super) fn expected(wanted: &[String], schema: &Json) -> (String, String) {
    let titled = schema["title"].as_str().filter(|title| TITLES.contains(title));
    let named = titled.or_else(|| dimension(schema).map(Dimension::name));
    let noun = named.map_or_else(|| types(wanted), with_article);
    let help = match example(schema) {
        Some(example) => format!("write it as `{example}`"),
        None => how_to_write(wanted, schema),
    };
    (noun, help)
}

fn dimension(schema: &Json) -> Option<Dimension> {
    let keywords = ["x-quantity", "x-held", "x-set", "x-plain-quantity", "x-time-or-never", "x-step", "x-interval", "x-point-interval"];
    let of_fact = || match FactId::named(schema.get("x-rating")?.as_str()?)?.row().shape {
        FactShape::Quantity(dimension) => Some(dimension),
        FactShape::Choice(_) | FactShape::Date => None,
    };
    keywords.iter().find_map(|key| Dimension::named(schema.get(key)?.as_str()?)).or_else(of_fact)
}

/// How a value of this schema might be written.
fn example(schema: &Json) -> Option<String> {
    let first = |schema: &Json| schema["examples"][0].as_str().map(str::to_owned);
    let point = |schema: &Json| Some(format!("[{}, {}]", first(&schema["prefixItems"][0])?, first(&schema["prefixItems"][1])?));
    match schema["title"].as_str() {
        Some("point" | "step" | "tolerance") => point(schema),
        Some("list of points") => point(&schema["items"]).map(|point| format!("[{point}, …]")),
        Some("condition") => Some("{ phases: 3 }".to_owned()),
        _ => first(schema),
    }
}

fn types(wanted: &[String]) -> String {
    let word = |json: &String| match json.as_str() {
        "string" => "text",
        "object" => "a group of keys",
        "array" => "a list",
        "boolean" => "`true` or `false`",
        _ => "a whole number",
    };
    // a value that may be left empty is not asked for as nothing
    wanted.iter().filter(|json| *json != "null").map(word).collect::<Vec<_>>().join(" or ")
}

fn how_to_write(wanted: &[String], schema: &Json) -> String {
    let keys: Vec<&str> = schema["properties"].as_object().into_iter().flatten().map(|(key, _)| key.as_str()).collect();
    match wanted.first().map(String::as_str) {
        Some("object") if (1..=16).contains(&keys.len()) => format!("write keys of this group: {}", keys.join(", ")),
        Some("object") => "write `key: value` lines under it".to_owned(),
        Some("array") => "write a list: lines that begin with `- `, or `[ … ]`".to_owned(),
        Some("string") => "write text".to_owned(),
        Some("boolean") => "write `true` or `false`".to_owned(),
        _ => "write a whole number".to_owned(),
    }
}

/// How to add a key that is missing.
pub(super) fn missing(key: &str, schema: &Json) -> String {
    if let Some(only) = schema["const"].as_str() {
        return format!("add `{key}: {only}`");
    }
    let words: Vec<&str> = schema["enum"].as_array().into_iter().flatten().filter_map(Json::as_str).collect();
    if !words.is_empty() {
        return format!("add `{key}: …`: {}", one_of(&words));
    }
    match (example(schema), schema["description"].as_str().and_then(first_sentence)) {
        (Some(example), _) => format!("add `{key}: …`, such as `{key}: {example}`"),
        (None, Some(meaning)) => format!("add `{key}: …` ({meaning})"),
        (None, None) => format!("add `{key}: …`"),
    }
}

/// The first sentence of a description, to go on with.
fn first_sentence(description: &str) -> Option<String> {
    let sentence = description.split(". ").next()?.trim_end_matches('.');
    let first = sentence.chars().next()?;
    Some(first.to_lowercase().chain(sentence.chars().skip(1)).collect())
}

/// Too few or too many.
pub(super) fn size(node: &Node, schema: &Json) -> Slip {
    let as_example = || example(schema).map_or_else(|| "write at least one".to_owned(), |example| format!("write it as `{example}`"));
    match (&node.kind, schema["title"].as_str()) {
        (Kind::List(values), Some(title @ ("point" | "step" | "tolerance"))) => {
            Slip::new(format!("a {title} has two values, found {}", values.len()), as_example())
        }
        (Kind::List(points), Some("list of points")) => {
            let says = format!("a curve has {} to {} points, found {}", schema["minItems"], schema["maxItems"], points.len());
            Slip::new(says, format!("write every point at which the curve bends: `{}`", example(schema).unwrap_or_default()))
        }
        (Kind::List(_), _) => Slip::new("the list is empty", "write at least one line under it, beginning with `- `"),
        (Kind::Map(_), Some("condition")) => {
            Slip::new("the condition asks nothing", "name a fact, such as `phases: 3`; `asleft list facts` names them all")
        }
        (Kind::Map(_), Some("statement")) => Slip::new("the statement says nothing", SAY_SOMETHING),
        (Kind::Map(_), Some("reading")) => {
            Slip::new("nothing was read here", "write what the copy says, such as `require: …`, or leave the setting out")
        }
        (Kind::Map(_), _) => Slip::new("nothing is listed here", "write at least one `name:` under it"),
        (Kind::Text(_), _) => Slip::new("the text is empty", "write it, or leave the key out"),
        _ => Slip::new(format!("too few or too many: {}", node.describe()), as_example()),
    }
}

/// What a statement may say.
pub(super) const SAY_SOMETHING: &str = "add `require`, `comply`, `also`, `adjustable` or `gap`, and its `source`";
