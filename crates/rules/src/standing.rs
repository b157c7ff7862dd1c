//! How the figure that decides an entry is known.

use settings_model::claim::{Basis, Claim, Why, WhyId};
use settings_model::entry::Entry;
use settings_model::requirement::Rulebook;

/// How a figure is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// A site-specific approval sets it.
    Approved,
    /// A licensed copy says something else.
    Disputed,
    /// An office read it in its licensed copy.
    Attested,
    /// Nobody is known to have read it: it rests on what its profile names.
    Rests(Basis),
}

impl Standing {
    /// The word in machine-readable answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Approved => "site-approval",
            Self::Disputed => "disputed",
            Self::Attested => "attested",
            Self::Rests(basis) => basis.word(),
        }
    }

    /// Whether somebody should compare the figure with a licensed copy before relying on it.
    #[must_use]
    pub fn is_unverified(self) -> bool {
        match self {
            Self::Approved | Self::Attested => false,
            Self::Disputed => true,
            Self::Rests(basis) => basis.is_unverified(),
        }
    }

    /// Of one line of a profile; `None` for the rules that no profile states.
    #[must_use]
    pub fn of(why: &Why) -> Option<Self> {
        let citation = why.citation.as_ref()?;
        Some(match &why.read {
            Some(read) if read.agrees => Self::Attested,
            Some(_) => Self::Disputed,
            None => Self::Rests(citation.basis),
        })
    }
}

/// How many figures something rests on, and how many of them nobody verified.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Figures {
    /// All.
    pub all: usize,
    /// Those from memory or a single source, or disputed.
    pub unverified: usize,
}

impl FromIterator<Standing> for Figures {
    fn from_iter<I: IntoIterator<Item = Standing>>(standings: I) -> Self {
        standings.into_iter().fold(Self::default(), |Self { all, unverified }, standing| Self {
            all: all + 1,
            unverified: unverified + usize::from(standing.is_unverified()),
        })
    }
}

impl Figures {
    /// What a reader has to be told; `None` where all of them were verified. `of` says which figures: `of its stages`.
    #[must_use]
    pub fn warning(self, of: &str) -> Option<String> {
        let Self { all, unverified } = self;
        let (how_many, them) = match (unverified, all) {
            (0, _) => return None,
            (1, 1) => ("the figure".to_owned(), "it"),
            (1, all) => (format!("1 of the {all} figures"), "it"),
            (2, 2) => ("both figures".to_owned(), "them"),
            (unverified, all) if unverified == all => (format!("all {all} figures"), "them"),
            (unverified, all) => (format!("{unverified} of the {all} figures"), "them"),
        };
        let verb = if unverified == 1 { "is" } else { "are" };
        Some(format!(
            "UNVERIFIED: {how_many} {of} {verb} from memory or a single source, or disputed; compare {them} with a licensed copy."
        ))
    }
}

/// How an entry is known: by the line that had the last word, and no better than the worst of the
/// lines beside it. One that was read does not vouch for one that was not.
#[must_use]
pub fn standing(entry: &Entry, rulebook: &Rulebook) -> Option<Standing> {
    let first = entry.comply.first()?.why;
    if first == WhyId::SITE_APPROVAL || first == WhyId::NO_EXPORT {
        return Some(Standing::Approved);
    }
    let lines = || entry.comply.iter().filter(|claim| !claim.is_about_evidence()).filter_map(|claim| line(claim, rulebook));
    let own = Standing::of(rulebook.whys.get(first)?)?;
    if lines().any(|line| line.disputed().is_some()) {
        return Some(Standing::Disputed);
    }
    let unread = lines().filter(|line| line.is_unverified()).filter_map(|line| line.citation.as_ref()).map(|c| c.basis).max();
    Some(unread.map_or(own, Standing::Rests))
}

fn line<'b>(claim: &Claim, rulebook: &'b Rulebook) -> Option<&'b Why> {
    rulebook.whys.get(claim.why)
}
