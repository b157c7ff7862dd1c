//! JSON Schema validation behind a small door, so that the large library is compiled once and
//! touching the rest of the project does not instantiate it again.
//!
//! It knows no settings. It takes a schema and keywords of the caller's own, and lists every
//! problem with a path into the document, so that the caller can point at the text.

use jsonschema::error::{TypeKind, ValidationErrorKind};
use jsonschema::paths::Location;
use jsonschema::{ValidationError, Validator};
use serde_json::{Map, Value as Json, json};
use std::borrow::Cow;

/// A schema keyword of the caller's own.
#[derive(Clone, Copy)]
pub struct Keyword {
    /// Its name in the schema.
    pub name: &'static str,
    /// Given the keyword's value in the schema, and the value in the document: all that is wrong with
    /// it. A value of a type that another keyword reports is none of its business.
    pub check: fn(&Json, &Json) -> Vec<Complaint>,
}

/// Something that keeps a value from satisfying a [`Keyword`].
#[derive(Clone, Debug, PartialEq)]
pub struct Complaint {
    /// Keys and list positions that lead to it from the value; none for the value itself.
    pub steps: Vec<String>,
    /// What is wrong.
    pub says: String,
    /// What to write instead.
    pub help: String,
}

/// Something that keeps a document from being valid. It borrows the schema, which is far larger than most
/// documents.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem<'c> {
    /// Keys and list positions that lead to the value at fault.
    pub path: Vec<String>,
    /// What is wrong with it.
    pub kind: ProblemKind,
    /// The schema of the value; of the value that is missing, for one that is missing.
    pub schema: Cow<'c, Json>,
}

impl Problem<'_> {
    /// The keys that may stand at its value.
    pub fn known_keys(&self) -> impl Iterator<Item = &str> + Clone {
        self.schema.get("properties").and_then(Json::as_object).into_iter().flat_map(|known| known.keys().map(String::as_str))
    }
}

/// What is wrong with a value.
#[derive(Clone, Debug, PartialEq)]
pub enum ProblemKind {
    /// A key that is not known there, as written.
    UnknownKey(String),
    /// A key that must be there and is not.
    MissingKey(String),
    /// Another type of value belongs there, by JSON's names.
    WrongType(Vec<String>),
    /// Not one of the values that may stand there.
    NotOneOf(Vec<String>),
    /// Too few or too many items, keys or characters; the schema says how many.
    Size,
    /// A number that is too small or too large; the schema says how large.
    OutOfRange,
    /// What a keyword of the caller's own says.
    Complaint {
        /// What is wrong.
        says: String,
        /// What to write instead.
        help: String,
    },
    /// Anything else, in the words of the library.
    Other(String),
}

/// A compiled schema.
pub struct Checker {
    schema: Json,
    validator: Validator,
}

struct Adapter {
    keyword: Keyword,
    value: Json,
}

impl<'i> jsonschema::Keyword<'i> for Adapter {
    fn validate(&self, instance: &'i Json) -> Result<(), ValidationError<'i>> {
        match &(self.keyword.check)(&self.value, instance)[..] {
            [] => Ok(()),
            complaints => Err(ValidationError::custom(packed(complaints))),
        }
    }
    fn is_valid(&self, instance: &'i Json) -> bool {
        (self.keyword.check)(&self.value, instance).is_empty()
    }
}

/// The library carries one message for each keyword: complaints cross it as one line of JSON.
fn packed(complaints: &[Complaint]) -> String {
    complaints.iter().map(|c| json!([c.steps, c.says, c.help])).collect::<Json>().to_string()
}

fn unpacked(message: &str) -> Vec<Complaint> {
    let complaints: Vec<(Vec<String>, String, String)> = serde_json::from_str(message).unwrap_or_default();
    complaints.into_iter().map(|(steps, says, help)| Complaint { steps, says, help }).collect()
}

type Made = Box<dyn for<'i> jsonschema::Keyword<'i>>;

fn factory(
    keyword: Keyword,
) -> impl for<'a> Fn(&'a Map<String, Json>, &'a Json, Location) -> Result<Made, ValidationError<'a>> + Send + Sync {
    move |_, value, _| Ok(Box::new(Adapter { keyword, value: value.clone() }))
}

impl Checker {
    /// Compiles a schema.
    ///
    /// # Errors
    /// When the schema itself is not valid.
    pub fn new(schema: Json, keywords: &'static [Keyword]) -> Result<Self, String> {
        let mut options = jsonschema::options();
        for keyword in keywords {
            options = options.with_keyword(keyword.name, factory(*keyword));
        }
        let validator = options.build(&schema).map_err(|e| e.to_string())?;
        Ok(Self { schema, validator })
    }

    /// Whether nothing is wrong with a document: sooner known than what is.
    #[must_use]
    pub fn is_valid(&self, document: &Json) -> bool {
        self.validator.is_valid(document)
    }

    /// Everything that is wrong with a document.
    #[must_use]
    pub fn problems(&self, document: &Json) -> Vec<Problem<'_>> {
        self.first_problems(document, usize::MAX)
    }

    /// What is wrong with a document, up to so many problems.
    #[must_use]
    pub fn first_problems(&self, document: &Json, most: usize) -> Vec<Problem<'_>> {
        let errors = self.validator.iter_errors(document).take(most);
        errors.flat_map(|error| self.problem(&error, most)).take(most).collect()
    }

    fn problem(&self, error: &ValidationError<'_>, most: usize) -> Vec<Problem<'_>> {
        let path = steps(error.instance_path().as_str());
        let one = |kind| vec![Problem { path: path.clone(), kind, schema: Cow::Borrowed(self.enclosing(error)) }];
        match error.kind() {
            ValidationErrorKind::AdditionalProperties { unexpected } => {
                unexpected.iter().take(most).flat_map(|key| one(ProblemKind::UnknownKey(key.clone()))).collect()
            }
            ValidationErrorKind::Required { property } => self.missing(error, path, property.as_str().unwrap_or_default()),
            ValidationErrorKind::Type { kind } => one(ProblemKind::WrongType(match kind {
                TypeKind::Single(one) => vec![one.to_string()],
                TypeKind::Multiple(several) => several.iter().map(|t| t.to_string()).collect(),
            })),
            ValidationErrorKind::Enum { options } => {
                one(ProblemKind::NotOneOf(options.as_array().into_iter().flatten().map(plain).collect()))
            }
            ValidationErrorKind::Constant { expected_value } => one(ProblemKind::NotOneOf(vec![plain(expected_value)])),
            ValidationErrorKind::MinItems { .. }
            | ValidationErrorKind::MaxItems { .. }
            | ValidationErrorKind::MinProperties { .. }
            | ValidationErrorKind::MaxProperties { .. }
            | ValidationErrorKind::MinLength { .. }
            | ValidationErrorKind::MaxLength { .. } => one(ProblemKind::Size),
            ValidationErrorKind::Minimum { .. } | ValidationErrorKind::Maximum { .. } => one(ProblemKind::OutOfRange),
            ValidationErrorKind::Custom { message, .. } => self.complaints(error, &path, message),
            // the pattern is for editors; the keyword beside it says the same in better words
            ValidationErrorKind::Pattern { .. } | ValidationErrorKind::Format { .. } if self.has_own_keyword(error) => Vec::new(),
            _ => one(ProblemKind::Other(error.to_string())),
        }
    }

    fn missing(&self, error: &ValidationError<'_>, path: Vec<String>, key: &str) -> Vec<Problem<'_>> {
        let schema = self.enclosing(error).get("properties").and_then(|known| known.get(key)).map(|of| self.resolved(of));
        vec![Problem { path, kind: ProblemKind::MissingKey(key.to_owned()), schema: schema.unwrap_or_default() }]
    }

    /// A schema with what it refers to, if it refers to a definition of the same file.
    fn resolved<'c>(&'c self, schema: &'c Json) -> Cow<'c, Json> {
        let target = schema.get("$ref").and_then(Json::as_str).and_then(|to| self.schema.pointer(to.strip_prefix('#')?));
        let Some(target) = target else { return Cow::Borrowed(schema) };
        let mut merged = target.clone();
        if let (Some(merged), Some(own)) = (merged.as_object_mut(), schema.as_object()) {
            merged.extend(own.iter().map(|(key, value)| (key.clone(), value.clone())));
        }
        Cow::Owned(merged)
    }

    fn complaints(&self, error: &ValidationError<'_>, path: &[String], message: &str) -> Vec<Problem<'_>> {
        let problem = |Complaint { steps, says, help }| Problem {
            path: path.iter().cloned().chain(steps).collect(),
            kind: ProblemKind::Complaint { says, help },
            schema: Cow::Borrowed(self.enclosing(error)),
        };
        unpacked(message).into_iter().map(problem).collect()
    }

    /// The schema object that holds the keyword that failed.
    fn enclosing(&self, error: &ValidationError<'_>) -> &Json {
        let at = error.schema_path().as_str();
        let holder = at.rsplit_once('/').map_or("", |(holder, _)| holder);
        self.schema.pointer(holder).unwrap_or(&Json::Null)
    }

    fn has_own_keyword(&self, error: &ValidationError<'_>) -> bool {
        self.enclosing(error).as_object().is_some_and(|schema| schema.keys().any(|key| key.starts_with("x-")))
    }
}

fn plain(value: &Json) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

fn steps(pointer: &str) -> Vec<String> {
    pointer.split('/').skip(1).map(|step| step.replace("~1", "/").replace("~0", "~")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const EVEN: &[Keyword] = &[Keyword {
        name: "x-even",
        check: |_, value| match value.as_i64() {
            Some(n) if n % 2 != 0 => {
                let complaint = |step: &str| Complaint { steps: vec![step.into()], says: format!("{n} is odd"), help: "add one".into() };
                vec![complaint("deeper"), complaint("elsewhere")]
            }
            _ => Vec::new(),
        },
    }];

    fn path(steps: &[&str]) -> Vec<String> {
        steps.iter().map(|s| (*s).to_owned()).collect()
    }

    #[test]
    fn every_problem_is_listed_with_its_path_and_what_is_known_there() {
        let schema = json!({
            "type": "object",
            "properties": {
                "a": { "$ref": "#/$defs/even" },
                "b/c": { "enum": ["x", "y"] },
                "list": { "type": "array", "items": { "type": ["string"] }, "maxItems": 1 },
                "must": { "$ref": "#/$defs/text", "description": "what must be" },
                "n": { "type": "integer", "maximum": 3 },
            },
            "required": ["must"], "additionalProperties": false,
            "$defs": { "even": { "type": "integer", "x-even": true }, "text": { "type": "string" } },
        });
        let checker = Checker::new(schema, EVEN).unwrap();
        let problems = checker.problems(&json!({ "a": 3, "b/c": "z", "list": ["ok", 1], "lst": 1, "n": 4 }));
        let odd = || ProblemKind::Complaint { says: "3 is odd".into(), help: "add one".into() };
        for (at, kind) in [
            (path(&[]), ProblemKind::UnknownKey("lst".into())),
            (path(&[]), ProblemKind::MissingKey("must".into())),
            (path(&["a", "deeper"]), odd()),
            (path(&["a", "elsewhere"]), odd()),
            (path(&["b/c"]), ProblemKind::NotOneOf(path(&["x", "y"]))),
            (path(&["list"]), ProblemKind::Size),
            (path(&["list", "1"]), ProblemKind::WrongType(path(&["string"]))),
            (path(&["n"]), ProblemKind::OutOfRange),
        ] {
            assert!(problems.iter().any(|p| p.path == at && p.kind == kind), "{at:?} {kind:?}: {problems:?}");
        }
        assert_eq!(problems.len(), 8);
        let unknown = problems.iter().find(|p| matches!(p.kind, ProblemKind::UnknownKey(_))).unwrap();
        assert_eq!(unknown.known_keys().collect::<Vec<_>>(), ["a", "b/c", "list", "must", "n"]);
        let missing = problems.iter().find(|p| matches!(p.kind, ProblemKind::MissingKey(_))).unwrap();
        assert_eq!((&missing.schema["description"], &missing.schema["type"]), (&json!("what must be"), &json!("string")));
    }

    #[test]
    fn no_more_problems_are_listed_than_were_asked_for() {
        let checker = Checker::new(json!({ "properties": { "known": {} }, "additionalProperties": false }), EVEN).unwrap();
        let document: Json = (0..1_000).map(|n| (format!("key-{n}"), json!(n))).collect::<Map<_, _>>().into();
        for most in [0, 1, 10, 2_000] {
            assert_eq!(checker.first_problems(&document, most).len(), most.min(1_000));
        }
    }
}
