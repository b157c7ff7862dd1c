//! How a figure is known. Every verb, output and record says it by this one type.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How a figure is known, surest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Set by a site-specific approval.
    SiteApproval,
    /// Read by an office in its licensed copy.
    Attested,
    /// Two independent published sources.
    Published,
    /// Made up for teaching and testing.
    Invented,
    /// What a trade does without anybody having written it down; of tolerances alone.
    CommonPractice,
    /// One published source: unverified.
    SingleSource,
    /// Recalled: unverified.
    Memory,
    /// Contradicted by a licensed copy: unverified.
    Disputed,
    /// Asked, but its content was not seen by those who wrote the profile.
    Open,
}

impl Standing {
    /// Every standing, surest first.
    pub const ALL: [Self; 9] = [
        Self::SiteApproval,
        Self::Attested,
        Self::Published,
        Self::Invented,
        Self::CommonPractice,
        Self::SingleSource,
        Self::Memory,
        Self::Disputed,
        Self::Open,
    ];

    /// The word in files and machine-readable answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::SiteApproval => "site-approval",
            Self::Attested => "attested",
            Self::Published => "published",
            Self::Invented => "invented",
            Self::CommonPractice => "common-practice",
            Self::SingleSource => "single-source",
            Self::Memory => "memory",
            Self::Disputed => "disputed",
            Self::Open => "open",
        }
    }

    /// In one or two words, for a column; what nobody verified stands out by its letters.
    #[must_use]
    pub fn column(self) -> &'static str {
        match self {
            Self::SiteApproval => "approval",
            Self::Attested => "attested",
            Self::Published => "published",
            Self::Invented => "invented",
            Self::CommonPractice => "common practice",
            Self::SingleSource => "one source",
            Self::Memory => "MEMORY",
            Self::Disputed => "DISPUTED",
            Self::Open => "NOT SEEN",
        }
    }

    /// In words that cannot be overlooked.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::SiteApproval => "set by a site-specific approval",
            Self::Attested => "attested",
            Self::Published => "published",
            Self::Invented => "invented",
            Self::CommonPractice => "common practice, no source",
            Self::SingleSource => "single source, unverified",
            Self::Memory => "from memory, unverified",
            Self::Disputed => "DISPUTED by a licensed copy",
            Self::Open => "not in the profile: check your copy of the standard",
        }
    }

    /// Whether somebody should compare the figure with a licensed copy before relying on it.
    #[must_use]
    pub fn is_unverified(self) -> bool {
        matches!(self, Self::SingleSource | Self::Memory | Self::Disputed)
    }
}

#[cfg(test)]
mod tests {
    use super::Standing;

    #[test]
    fn a_word_is_the_word_in_files() {
        for standing in Standing::ALL {
            assert_eq!(serde_json::to_string(&standing).unwrap(), format!("\"{}\"", standing.word()));
        }
        assert!(Standing::ALL.is_sorted());
    }
}
