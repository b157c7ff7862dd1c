//! How many figures something rests on, by how each is known.

use super::{Standing, standing};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use settings_model::requirement::{Requirement, Rulebook};

/// How many required figures are known in each way.
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
    /// Read by an office in its licensed copy, whatever they rested on before.
    pub attested: u32,
    /// Of which a licensed copy says something else: unverified.
    pub disputed: u32,
    /// Asked, but not seen, and so in no other count; absent where there is none.
    #[serde(default, skip_serializing_if = "is_none")]
    pub open: u32,
}

fn is_none(count: &u32) -> bool {
    *count == 0
}

impl Figures {
    /// Those of a requirement: each entry that demands anything, by the line that had the last word.
    #[must_use]
    pub fn of(requirement: &Requirement, rulebook: &Rulebook) -> Self {
        let entries = requirement.entries.iter().map(|resolved| &resolved.entry).filter(|entry| !entry.demands_nothing());
        entries.filter_map(|entry| standing(entry, rulebook)).collect()
    }

    /// How many are known in this way; of common practice, which no requirement is, none.
    #[must_use]
    pub fn known_as(self, standing: Standing) -> u32 {
        match standing {
            Standing::SiteApproval => self.site_approval,
            Standing::Attested => self.attested,
            Standing::Published => self.published,
            Standing::Invented => self.invented,
            Standing::CommonPractice => 0,
            Standing::SingleSource => self.single_source,
            Standing::Memory => self.memory,
            Standing::Disputed => self.disputed,
            Standing::Open => self.open,
        }
    }

    fn count(&mut self, standing: Standing) {
        match standing {
            Standing::SiteApproval => self.site_approval += 1,
            Standing::Attested => self.attested += 1,
            Standing::Published => self.published += 1,
            Standing::Invented => self.invented += 1,
            Standing::CommonPractice => {}
            Standing::SingleSource => self.single_source += 1,
            Standing::Memory => self.memory += 1,
            Standing::Disputed => self.disputed += 1,
            Standing::Open => self.open += 1,
        }
    }

    /// All that were seen. Saturates: a record may come from anywhere.
    #[must_use]
    pub fn total(self) -> u32 {
        self.sum(|standing| standing != Standing::Open)
    }

    /// Those that somebody should compare with a licensed copy, again where one contradicts them.
    #[must_use]
    pub fn unverified(self) -> u32 {
        self.sum(Standing::is_unverified)
    }

    fn sum(self, counts: impl Fn(Standing) -> bool) -> u32 {
        let counted = Standing::ALL.into_iter().filter(|standing| counts(*standing));
        counted.fold(0, |sum: u32, standing| sum.saturating_add(self.known_as(standing)))
    }

    /// The standing of the least sure of those that were seen.
    #[must_use]
    pub fn worst(self) -> Option<Standing> {
        Standing::ALL.into_iter().rev().find(|standing| *standing != Standing::Open && self.known_as(*standing) > 0)
    }

    /// What a reader has to be told; `None` where all of them were verified. `of` says which figures: `of its stages`.
    #[must_use]
    pub fn warning(self, of: &str) -> Option<String> {
        let (how_many, them) = match (self.unverified(), self.total()) {
            (0, _) => return None,
            (1, 1) => ("the figure".to_owned(), "it"),
            (1, all) => (format!("1 of the {all} figures"), "it"),
            (2, 2) => ("both figures".to_owned(), "them"),
            (unverified, all) if unverified == all => (format!("all {all} figures"), "them"),
            (unverified, all) => (format!("{unverified} of the {all} figures"), "them"),
        };
        let verb = if self.unverified() == 1 { "is" } else { "are" };
        // of a single figure the words beside it are singular too
        let of = if self.total() == 1 { of.replace("that are ", "that is ").replace("that ask ", "that asks ") } else { of.to_owned() };
        let of = if of.is_empty() { of } else { format!(" {of}") };
        Some(format!("UNVERIFIED: {how_many}{of} {verb} from memory or a single source, or disputed; compare {them} with a licensed copy."))
    }
}

impl FromIterator<Standing> for Figures {
    fn from_iter<I: IntoIterator<Item = Standing>>(standings: I) -> Self {
        let mut figures = Self::default();
        standings.into_iter().for_each(|standing| figures.count(standing));
        figures
    }
}

impl std::ops::Add for Figures {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            published: self.published + other.published,
            invented: self.invented + other.invented,
            single_source: self.single_source + other.single_source,
            memory: self.memory + other.memory,
            site_approval: self.site_approval + other.site_approval,
            attested: self.attested + other.attested,
            disputed: self.disputed + other.disputed,
            open: self.open + other.open,
        }
    }
}

impl std::iter::Sum for Figures {
    fn sum<I: Iterator<Item = Self>>(figures: I) -> Self {
        figures.fold(Self::default(), |sum, figures| sum + figures)
    }
}
