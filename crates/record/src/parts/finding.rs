//! What was found, in the words in which it was said.

use rules::standing::Standing;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What something came to; the later the worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// It is shown to be as required.
    Complies,
    /// Nothing is shown to be wrong, and not everything to be right.
    NotProven,
    /// Something is not as required.
    DoesNotComply,
}

impl Outcome {
    /// In print.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Complies => "complies",
            Self::NotProven => "not proven",
            Self::DoesNotComply => "does not comply",
        }
    }
}

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Gravity {
    /// Something is not as required.
    DoesNotComply,
    /// Something could not be shown to be as required.
    NotProven,
    /// Something to know.
    Remark,
}

impl Gravity {
    /// In print.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::DoesNotComply => Outcome::DoesNotComply.phrase(),
            Self::NotProven => Outcome::NotProven.phrase(),
            Self::Remark => "remark",
        }
    }
}

/// How sure a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Two independent published sources.
    Published,
    /// One published source: unverified.
    SingleSource,
    /// Recalled: unverified.
    Memory,
    /// Made up for teaching and testing.
    Invented,
    /// Read by an office in its licensed copy.
    Attested,
    /// Contradicted by a licensed copy: unverified.
    Disputed,
    /// Set by a site-specific approval.
    SiteApproval,
    /// What a trade does without anybody having written it down; of tolerances alone.
    CommonPractice,
}

impl Basis {
    /// In print; what nobody verified stands out by its letters.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::SingleSource => "one source",
            Self::Memory => "MEMORY",
            Self::Invented => "invented",
            Self::Attested => "attested",
            Self::Disputed => "DISPUTED",
            Self::SiteApproval => "approval",
            Self::CommonPractice => "common practice",
        }
    }
}

impl From<Standing> for Basis {
    fn from(standing: Standing) -> Self {
        use settings_model::claim::Basis as Stated;
        match standing {
            Standing::Approved => Self::SiteApproval,
            Standing::Disputed => Self::Disputed,
            Standing::Attested => Self::Attested,
            Standing::Rests(Stated::Published) => Self::Published,
            Standing::Rests(Stated::SingleSource) => Self::SingleSource,
            Standing::Rests(Stated::Memory) => Self::Memory,
            Standing::Rests(Stated::Invented) => Self::Invented,
        }
    }
}

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Finding {
    /// A stable name for the kind of fault.
    pub name: String,
    /// How grave it is.
    pub outcome: Gravity,
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
    /// Consequences of the same fault.
    pub folded: Vec<String>,
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

/// How many required figures rest on each basis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Figures {
    /// Two independent published sources.
    pub published: u32,
    /// Made up for teaching and testing.
    pub invented: u32,
    /// One published source: unverified.
    pub single_source: u32,
    /// Recalled: unverified.
    pub memory: u32,
    /// Set by a site-specific approval.
    pub site_approval: u32,
    /// Read by an office in its licensed copy.
    pub attested: u32,
    /// Contradicted by a licensed copy: unverified.
    pub disputed: u32,
}

impl Figures {
    /// An outcome in words: never plain "complies" where figures that nobody verified decided.
    #[must_use]
    pub fn says(self, outcome: Outcome) -> &'static str {
        match outcome {
            Outcome::Complies if self.disputed > 0 => "agrees with disputed figures",
            Outcome::Complies if self.unverified() > 0 => "agrees with unverified figures",
            outcome => outcome.phrase(),
        }
    }

    /// Those that nobody compared with a licensed copy, and those that one contradicts.
    #[must_use]
    pub fn unverified(self) -> u32 {
        self.single_source + self.memory + self.disputed
    }

    /// All of them.
    #[must_use]
    pub fn total(self) -> u32 {
        self.published + self.invented + self.site_approval + self.attested + self.unverified()
    }
}
