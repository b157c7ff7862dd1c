//! What was found, in the words in which it was said.

use rules::provenance::Standing;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize};
use settings_model::finding::{Folded, Outcome};

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Finding {
    /// A stable name for the kind of fault.
    pub name: String,
    /// How grave it is.
    pub outcome: Outcome,
    /// The setting that it is about, with its device in front.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// One phrase that stands alone.
    pub headline: String,
    /// Where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// The lines that explain it.
    pub because: Vec<Because>,
    /// How the figure is known that decides it; absent where no figure does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// Consequences of the same fault.
    #[serde(deserialize_with = "folded_of_any_format")]
    pub folded: Vec<Folded>,
    /// What else to know.
    pub notes: Vec<String>,
    /// What to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
}

/// A line that explains a finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Because {
    /// What it says.
    pub text: String,
    /// How the figure there is known; absent where no figure stands there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// Where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

/// A place in one of the texts that the record was made from, or in a profile.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Place {
    /// The text, as `given` names it, or the profile, as `requirement` does.
    pub text: String,
    /// Its line, from 1.
    pub line: u32,
    /// Its column in characters, from 1.
    pub column: u32,
}

/// Records of format 1 hold a consequence as text alone.
fn folded_of_any_format<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Folded>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Written {
        Text(String),
        Typed(Folded),
    }
    let written = Vec::<Written>::deserialize(from)?;
    let read = |one| match one {
        Written::Text(text) => text.into(),
        Written::Typed(folded) => folded,
    };
    Ok(written.into_iter().map(read).collect())
}
