//! What rests on what: how figures are known, how many of each kind, what something came to, and by
//! which figures. Every verb, output and record asks here, and says it in these words.

mod figures;
mod verdict;

pub use figures::Figures;
pub use settings_model::provenance::Standing;
pub use verdict::{Judgement, Verdict};

use settings_model::claim::{Claim, ProvenanceId};
use settings_model::entry::Entry;
use settings_model::requirement::Rulebook;

/// How what a line asks is known; `None` for the rules that no profile states.
#[must_use]
pub fn of_line(why: ProvenanceId, rulebook: &Rulebook) -> Option<Standing> {
    if why == ProvenanceId::SITE_APPROVAL || why == ProvenanceId::NO_EXPORT {
        return Some(Standing::SiteApproval);
    }
    rulebook.whys.get(why)?.standing()
}

/// How an entry is known: by the line that had the last word, and no better than the worst of the
/// lines beside it. One that was read does not vouch for one that was not.
#[must_use]
pub fn standing(entry: &Entry, rulebook: &Rulebook) -> Option<Standing> {
    if entry.is_gap() {
        return Some(Standing::Open);
    }
    let first = of_line(entry.comply.first()?.why, rulebook)?;
    if first == Standing::SiteApproval {
        return Some(first);
    }
    let values = entry.comply.iter().filter(|claim| !claim.is_about_evidence());
    let of_claim = |claim: &Claim| of_line(claim.why, rulebook);
    let unverified = values.filter_map(of_claim).filter(|standing| standing.is_unverified()).max();
    Some(unverified.unwrap_or(first))
}
