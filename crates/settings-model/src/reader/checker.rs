//! The checkers of files, compiled as far as they are needed.
//!
//! A schema of sites or requirements has a branch for each shape of each setting, and compiling it
//! takes longer than all else that a small file costs. A property whose key stands nowhere in the
//! file can neither be wrong nor be missing in it, so the first few files are checked without those.
//! Where anything is wrong the whole schema finds it, with all that may stand in its place.

use crate::document::Node;
use crate::files::Kind;
use crate::schema;
use schema_check::{Checker, Problem};
use serde_json::{Map, Value as Json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// So many files of a kind are checked by as much of its schema as they need; from then on compiling
/// all of it pays.
const FEW_FILES: usize = 3;

const KINDS: usize = Kind::ALL.len();

/// What is wrong with a file, up to so many problems.
pub(super) fn problems(kind: Kind, root: &Node, most: usize) -> Vec<Problem<'static>> {
    static READ: [AtomicUsize; KINDS] = [const { AtomicUsize::new(0) }; KINDS];
    let document = root.to_json();
    let is_early = READ[kind as usize].fetch_add(1, Ordering::Relaxed) < FEW_FILES;
    if is_early && compiled(needed(schema_of(kind), &document)).is_valid(&document) {
        return Vec::new();
    }
    whole(kind).first_problems(&document, most)
}

fn whole(kind: Kind) -> &'static Checker {
    static CHECKERS: [OnceLock<Checker>; KINDS] = [const { OnceLock::new() }; KINDS];
    CHECKERS[kind as usize].get_or_init(|| compiled(schema_of(kind).clone()))
}

fn schema_of(kind: Kind) -> &'static Json {
    static SCHEMAS: [OnceLock<Json>; KINDS] = [const { OnceLock::new() }; KINDS];
    SCHEMAS[kind as usize].get_or_init(|| schema::of_kind(kind))
}

fn compiled(schema: Json) -> Checker {
    Checker::new(schema, schema::KEYWORDS).expect("the tool's own schemas are valid; a test builds each")
}

/// As much of a schema as decides whether this document is valid.
fn needed(schema: &Json, document: &Json) -> Json {
    const DEFINITIONS: &str = "$defs";
    let mut keys = BTreeSet::new();
    keys_of(document, &mut keys);
    let mut shared = BTreeMap::new();
    let mut needed = Pruning { keys: &keys, definitions: schema.get(DEFINITIONS), shared: &mut shared }.of(schema, DEFINITIONS);
    if let Some(needed) = needed.as_object_mut() {
        needed.insert(DEFINITIONS.to_owned(), shared.into_iter().collect::<Map<_, _>>().into());
    }
    needed
}

fn keys_of<'d>(document: &'d Json, keys: &mut BTreeSet<&'d str>) {
    match document {
        Json::Array(items) => items.iter().for_each(|item| keys_of(item, keys)),
        Json::Object(entries) => {
            for (key, value) in entries {
                keys.insert(key);
                keys_of(value, keys);
            }
        }
        _ => {}
    }
}

struct Pruning<'s, 'd> {
    keys: &'d BTreeSet<&'d str>,
    definitions: Option<&'s Json>,
    /// The definitions that what is kept refers to.
    shared: &'d mut BTreeMap<String, Json>,
}

impl Pruning<'_, '_> {
    /// A schema without the properties that no key of the document names, and without one of its keywords.
    fn of(&mut self, schema: &Json, without: &str) -> Json {
        match schema {
            Json::Array(items) => items.iter().map(|item| self.of(item, "")).collect(),
            Json::Object(keywords) => {
                let kept = keywords.iter().filter(|(keyword, _)| *keyword != without);
                kept.map(|(keyword, value)| (keyword.clone(), self.keyword(keyword, value))).collect::<Map<_, _>>().into()
            }
            _ => schema.clone(),
        }
    }

    fn keyword(&mut self, keyword: &str, value: &Json) -> Json {
        match (keyword, value) {
            ("properties", Json::Object(properties)) => {
                let each = properties
                    .iter()
                    .map(|(key, of)| (key.clone(), if self.keys.contains(&**key) { self.of(of, "") } else { Json::Bool(true) }));
                each.collect::<Map<_, _>>().into()
            }
            ("$ref", Json::String(to)) => {
                self.share(to);
                value.clone()
            }
            // data, not schemas
            ("const" | "enum" | "examples" | "default", _) => value.clone(),
            _ => self.of(value, ""),
        }
    }

    fn share(&mut self, to: &str) {
        let Some(name) = to.strip_prefix("#/$defs/").filter(|name| !self.shared.contains_key(*name)) else { return };
        let Some(definition) = self.definitions.and_then(|all| all.get(name)) else { return };
        self.shared.insert(name.to_owned(), Json::Bool(true)); // one that refers to itself ends here
        let kept = self.of(definition, "");
        self.shared.insert(name.to_owned(), kept);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_kind_has_a_schema_that_compiles() {
        for kind in Kind::ALL {
            let _ = whole(kind);
        }
    }

    #[test]
    fn what_is_needed_decides_alike_and_holds_no_more() {
        let schema = json!({
            "properties": {
                "a": { "$ref": "#/$defs/list" }, "b": { "$ref": "#/$defs/other" }, "properties": { "type": "integer" },
            },
            "required": ["a"], "additionalProperties": false,
            "$defs": {
                "list": { "items": { "anyOf": [{ "type": "integer" }, { "$ref": "#/$defs/list" }] }, "type": "array" },
                "other": { "type": "string" },
            },
        });
        for (document, is_valid) in [
            (json!({ "a": [1, [2, []]] }), true),
            (json!({ "a": [1, [2, "x"]] }), false),
            (json!({ "b": "x" }), false),
            (json!({ "a": [], "b": 1 }), false),
            (json!({ "a": [], "c": 1 }), false),
            (json!({ "a": [], "properties": "x" }), false),
            (json!({ "a": [], "properties": 2 }), true),
        ] {
            let needed = needed(&schema, &document);
            assert_eq!(needed["$defs"].get("other").is_some(), document.get("b").is_some(), "{needed}");
            assert_eq!(compiled(needed).is_valid(&document), is_valid, "{document}");
            assert_eq!(compiled(schema.clone()).is_valid(&document), is_valid, "{document}");
        }
    }
}
