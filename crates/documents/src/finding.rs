//! The one kind of message, from an unreadable file to a setting that does not comply.
//!
//! Wording: the headline is a lower-case phrase that stands alone, quantities carry units, what was
//! found comes before what is wanted. A hint says what to write or do.

use crate::provenance::Standing;
use crate::source::Place;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What kind of message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The file cannot be used as it stands.
    Unusable,
    /// A setting does not comply.
    DoesNotComply,
    /// Whether a setting complies could not be shown.
    NotProven,
    /// Complies; something a reader should know all the same.
    Remark,
}

impl Outcome {
    /// The word in machine-readable answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Unusable => "unusable",
            Self::DoesNotComply => "does-not-comply",
            Self::NotProven => "not-proven",
            Self::Remark => "remark",
        }
    }

    /// In print.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Unusable => "cannot be used",
            Self::DoesNotComply => "does not comply",
            Self::NotProven => "not proven",
            Self::Remark => "remark",
        }
    }
}

/// A message with its place. A finding cannot be made without one.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What kind of message.
    pub outcome: Outcome,
    /// A stable name for the kind of fault, in kebab-case: `unknown-key`, `threshold-too-high`.
    pub name: &'static str,
    /// The setting it is about, as `inverter-1/overvoltage-1/threshold`.
    pub setting: Option<String>,
    /// One phrase that stands alone.
    pub headline: String,
    /// Where the fault is.
    pub place: Place,
    /// What to say at that place.
    pub label: Option<String>,
    /// Other places that explain it.
    pub because: Vec<Because>,
    /// How the figure is known that decides it; `None` where no figure does.
    pub basis: Option<Standing>,
    /// Consequences of the same fault, folded under it.
    pub folded: Vec<Folded>,
    /// What other sources have in place of the figures that it names.
    pub conflicts: Vec<String>,
    /// What else to know.
    pub notes: Vec<String>,
    /// What to do.
    pub hint: Option<String>,
}

/// A place that explains a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Because {
    /// Where.
    pub place: Place,
    /// A few words for the place itself.
    pub label: String,
    /// The whole of it: who says so, in which document, how sure.
    pub text: Option<String>,
    /// How the figure there is known; `None` where no figure stands there.
    pub basis: Option<Standing>,
}

/// A consequence of a fault, or one fault of several that a finding names together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Folded {
    /// What it says.
    pub text: String,
    /// How the figure is known that decides it; absent where no figure does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
}

impl From<String> for Folded {
    fn from(text: String) -> Self {
        Self { text, basis: None }
    }
}

/// Marks by its letters a figure that nobody verified: `is 270 V, required 265 V (MEMORY)`.
impl std::fmt::Display for Folded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.basis.filter(|basis| basis.is_unverified()) {
            Some(basis) => write!(f, "{} ({})", self.text, basis.column()),
            None => f.write_str(&self.text),
        }
    }
}

impl Finding {
    /// A file that cannot be used as it stands.
    #[must_use]
    pub fn unusable(name: &'static str, place: Place, headline: impl Into<String>) -> Self {
        Self::new(Outcome::Unusable, name, place, headline)
    }

    /// A finding of any kind.
    #[must_use]
    pub fn new(outcome: Outcome, name: &'static str, place: Place, headline: impl Into<String>) -> Self {
        Self {
            outcome,
            name,
            setting: None,
            headline: headline.into(),
            place,
            label: None,
            because: Vec::new(),
            basis: None,
            folded: Vec::new(),
            conflicts: Vec::new(),
            notes: Vec::new(),
            hint: None,
        }
    }

    /// Adds a place that explains it.
    #[must_use]
    pub fn because(mut self, place: Place, label: impl Into<String>) -> Self {
        self.because.push(Because { place, label: label.into(), text: None, basis: None });
        self
    }

    /// Says what stands at its place.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.label = Some(text.into());
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        self.hint = Some(text.into());
        self
    }

    /// Says something else to know.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }
}

/// So many faults of one text are told; nobody mends more in one sitting.
pub const MOST_FAULTS: usize = 500;

/// The faults of a text in its order, up to [`MOST_FAULTS`]; where there are more, a last one says so.
#[must_use]
pub fn in_order(mut faults: Vec<Finding>) -> Vec<Finding> {
    faults.sort_by_key(|fault| fault.place);
    if faults.len() > MOST_FAULTS {
        faults.truncate(MOST_FAULTS);
        let place = faults.last().map_or(Place::NOWHERE, |last| last.place);
        let more = Finding::unusable("too-many-faults", place, format!("more than {MOST_FAULTS} faults, of which the rest is not told"));
        faults.push(more.hint("mend those above first, and run it again; or see whether this is the file that is meant"));
    }
    faults
}

/// So many words are compared with a misspelt one.
const MOST_COMPARED: usize = 1_000;

/// The known word nearest to a misspelt one, if it is near enough to be meant.
#[must_use]
pub fn nearest<'w>(written: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let length = written.chars().count();
    let allowed = (length / 3).clamp(1, 3);
    known
        .into_iter()
        .take(MOST_COMPARED)
        .filter(|word| word.chars().count().abs_diff(length) <= allowed)
        .map(|word| (strsim::osa_distance(&written.to_lowercase(), &word.to_lowercase()), word))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn only_a_near_word_is_suggested() {
        let known = ["threshold", "definite-delay", "disconnection", "state"];
        assert_eq!(nearest("treshold", known), Some("threshold"));
        assert_eq!(nearest("definite_delay", known), Some("definite-delay"));
        assert_eq!(nearest("Threshold", known), Some("threshold"));
        assert_eq!(nearest("points", known), None);
    }
}
