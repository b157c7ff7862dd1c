//! JSON Schema validation behind a small door, so that the large library is compiled once and
//! touching the rest of the project does not instantiate it again.
//!
//! It knows no settings. It takes a schema and keywords of the caller's own, and lists every
//! problem with a path into the document, so that the caller can point at the text.

use jsonschema::error::{TypeKind, ValidationErrorKind};
use jsonschema::paths::Location;
use jsonschema::{ValidationError, Validator};
use serde_json::{Map, Value as Json};

/// A schema keyword of the caller's own.
#[derive(Clone, Copy)]
pub struct Keyword {
    /// Its name in the schema.
    pub name: &'static str,
    /// Given the keyword's value in the schema, and the value in the document.
    pub check: fn(&Json, &Json) -> Result<(), Slip>,
}

/// Why a [`Keyword`] is not satisfied.
#[derive(Clone, Debug, PartialEq)]
pub enum Slip {
    /// Nothing to say: the value has a type that another keyword reports.
    NotMine,
    /// A fault in the whole value.
    Whole(String),
    /// A fault deeper in the value.
    At {
        /// Keys and list positions that lead there.
        steps: Vec<String>,
        /// What is wrong.
        says: String,
    },
}

impl From<String> for Slip {
    fn from(says: String) -> Self {
        Self::Whole(says)
    }
}
impl From<&str> for Slip {
    fn from(says: &str) -> Self {
        Self::Whole(says.to_owned())
    }
}

/// Something that keeps a document from being valid.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Keys and list positions that lead to the value at fault.
    pub path: Vec<String>,
    /// What is wrong with it.
    pub kind: ProblemKind,
}

/// What is wrong with a value.
#[derive(Clone, Debug, PartialEq)]
pub enum ProblemKind {
    /// A key that is not known there.
    UnknownKey {
        /// As written.
        key: String,
        /// What may stand there.
        known: Vec<String>,
    },
    /// A key that must be there and is not.
    MissingKey(String),
    /// Another type of value belongs there.
    WrongType {
        /// JSON's names of the types that do.
        wanted: Vec<String>,
        /// The schema of the value.
        schema: Json,
    },
    /// Not one of the values that may stand there.
    NotOneOf(Vec<String>),
    /// What a keyword of the caller's own says.
    Slip(String),
    /// Anything else, in the words of the library.
    Other(String),
}

/// A compiled schema.
pub struct Checker {
    schema: Json,
    validator: Validator,
}

/// Separates the steps and the words of a [`Slip`] on their way through the library.
const STEP: char = '\u{1}';
const SAYS: char = '\u{2}';

struct Adapter {
    keyword: Keyword,
    value: Json,
}

impl<'i> jsonschema::Keyword<'i> for Adapter {
    fn validate(&self, instance: &'i Json) -> Result<(), ValidationError<'i>> {
        match (self.keyword.check)(&self.value, instance) {
            Ok(()) | Err(Slip::NotMine) => Ok(()),
            Err(Slip::Whole(says)) => Err(ValidationError::custom(format!("{SAYS}{says}"))),
            Err(Slip::At { steps, says }) => Err(ValidationError::custom(format!("{}{SAYS}{says}", steps.join(&STEP.to_string())))),
        }
    }
    fn is_valid(&self, instance: &'i Json) -> bool {
        matches!((self.keyword.check)(&self.value, instance), Ok(()) | Err(Slip::NotMine))
    }
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

    /// Everything that is wrong with a document.
    #[must_use]
    pub fn problems(&self, document: &Json) -> Vec<Problem> {
        self.validator.iter_errors(document).flat_map(|error| self.problem(&error)).collect()
    }

    fn problem(&self, error: &ValidationError<'_>) -> Vec<Problem> {
        let mut path = steps(error.instance_path().as_str());
        let one = |path, kind| vec![Problem { path, kind }];
        match error.kind() {
            ValidationErrorKind::AdditionalProperties { unexpected } => {
                let known = self.known_keys(error);
                let unknown =
                    |key: &String| Problem { path: path.clone(), kind: ProblemKind::UnknownKey { key: key.clone(), known: known.clone() } };
                unexpected.iter().map(unknown).collect()
            }
            ValidationErrorKind::Required { property } => {
                one(path, ProblemKind::MissingKey(property.as_str().unwrap_or_default().to_owned()))
            }
            ValidationErrorKind::Type { kind } => {
                let wanted = match kind {
                    TypeKind::Single(one) => vec![one.to_string()],
                    TypeKind::Multiple(several) => several.iter().map(|t| t.to_string()).collect(),
                };
                one(path, ProblemKind::WrongType { wanted, schema: self.enclosing(error).clone() })
            }
            ValidationErrorKind::Enum { options } => {
                one(path, ProblemKind::NotOneOf(options.as_array().into_iter().flatten().map(plain).collect()))
            }
            ValidationErrorKind::Constant { expected_value } => one(path, ProblemKind::NotOneOf(vec![plain(expected_value)])),
            ValidationErrorKind::Custom { message, .. } => {
                let (deeper, says) = message.split_once(SAYS).unwrap_or_default();
                path.extend(deeper.split(STEP).filter(|s| !s.is_empty()).map(str::to_owned));
                one(path, ProblemKind::Slip(says.to_owned()))
            }
            ValidationErrorKind::MinProperties { .. } => one(path, self.described(error, "nothing is listed here".to_owned())),
            ValidationErrorKind::MinItems { limit } => one(path, self.described(error, format!("at least {limit} needed here"))),
            ValidationErrorKind::MaxItems { limit } => one(path, self.described(error, format!("at most {limit} may stand here"))),
            ValidationErrorKind::Minimum { limit } => one(path, ProblemKind::Other(format!("must be at least {limit}"))),
            ValidationErrorKind::Maximum { limit } => one(path, ProblemKind::Other(format!("must be at most {limit}"))),
            ValidationErrorKind::MinLength { .. } => one(path, ProblemKind::Other("must not be empty".to_owned())),
            // the pattern is for editors; the keyword beside it says the same in better words
            ValidationErrorKind::Pattern { .. } | ValidationErrorKind::Format { .. } if self.has_own_keyword(error) => Vec::new(),
            _ => one(path, ProblemKind::Other(error.to_string())),
        }
    }

    /// The schema object that holds the keyword that failed.
    fn enclosing(&self, error: &ValidationError<'_>) -> &Json {
        let at = error.schema_path().as_str();
        let holder = at.rsplit_once('/').map_or("", |(holder, _)| holder);
        self.schema.pointer(holder).unwrap_or(&Json::Null)
    }

    /// In the words of the schema's own `x-size`, if it has one.
    fn described(&self, error: &ValidationError<'_>, otherwise: String) -> ProblemKind {
        let words = self.enclosing(error).get("x-size").and_then(Json::as_str);
        ProblemKind::Other(words.map_or(otherwise, str::to_owned))
    }

    fn known_keys(&self, error: &ValidationError<'_>) -> Vec<String> {
        let properties = self.enclosing(error).get("properties").and_then(Json::as_object);
        properties.into_iter().flat_map(|p| p.keys().cloned()).collect()
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
    use serde_json::json;

    const EVEN: &[Keyword] = &[Keyword {
        name: "x-even",
        check: |_, value| match value.as_i64() {
            None => Err(Slip::NotMine),
            Some(n) if n % 2 == 0 => Ok(()),
            Some(n) => Err(Slip::At { steps: vec!["deeper".into()], says: format!("{n} is odd") }),
        },
    }];

    #[test]
    fn every_problem_is_listed_with_its_path_and_what_is_known_there() {
        let schema = json!({
            "type": "object",
            "properties": { "a": { "$ref": "#/$defs/even" }, "b/c": { "enum": ["x", "y"] }, "list": { "type": "array", "items": { "type": ["string"] } } },
            "required": ["must"], "additionalProperties": false,
            "$defs": { "even": { "type": "integer", "x-even": true } },
        });
        let checker = Checker::new(schema, EVEN).unwrap();
        let mut problems = checker.problems(&json!({ "a": 3, "b/c": "z", "list": ["ok", 1], "lst": 1 }));
        problems.sort_by_key(|p| p.path.clone());
        let known = ["a", "b/c", "list"].map(str::to_owned).to_vec();
        let path = |steps: &[&str]| steps.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        assert_eq!(problems[0].path, path(&[]));
        assert!(problems.contains(&Problem { path: path(&[]), kind: ProblemKind::UnknownKey { key: "lst".into(), known } }));
        assert!(problems.contains(&Problem { path: path(&[]), kind: ProblemKind::MissingKey("must".into()) }));
        assert!(problems.contains(&Problem { path: path(&["a", "deeper"]), kind: ProblemKind::Slip("3 is odd".into()) }));
        assert!(problems.contains(&Problem { path: path(&["b/c"]), kind: ProblemKind::NotOneOf(path(&["x", "y"])) }));
        assert!(problems.iter().any(|p| p.path == path(&["list", "1"]) && matches!(p.kind, ProblemKind::WrongType { .. })));
        assert_eq!(problems.len(), 5);
    }
}
