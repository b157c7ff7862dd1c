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

/// How an entry is known: by the line that had the last word, and no better than the worst of the
/// lines beside it. One that was read does not vouch for one that was not.
#[must_use]
pub fn standing(entry: &Entry, rulebook: &Rulebook) -> Option<Standing> {
    let first = entry.comply.first()?.why;
    if first == WhyId::SITE_APPROVAL {
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
