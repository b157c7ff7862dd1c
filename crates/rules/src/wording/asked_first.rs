//! What is said before a device is set by a figure that nobody verified, or on which sources disagree.

use super::WRONG_REGION;
use crate::provenance::Standing;
use settings_model::finding::{Finding, Outcome};

/// What breaks a figure that nobody verified says so, and its remedy asks first: the device may be right,
/// and the figure wrong.
pub(super) fn asking_first(mut finding: Finding) -> Finding {
    finding.notes.extend(finding.conflicts.iter().map(|says| format!("conflict: {says}")));
    if finding.outcome != Outcome::DoesNotComply {
        return finding;
    }
    let standing = finding.basis.and_then(unverified).map(|(says, _)| says);
    let why = match (standing, !finding.conflicts.is_empty()) {
        (Some(says), true) => format!("; {says}, and sources disagree on it"),
        (Some(says), false) => format!("; {says}"),
        (None, true) => "; sources disagree on the required figure".to_owned(),
        (None, false) => String::new(),
    };
    finding.headline.push_str(&why);
    let ask = finding.basis.or_else(|| of_what_is_to_be_set(&finding)).and_then(unverified);
    if let Some((_, [ask, only_if])) = ask {
        finding.hint = Some(match finding.hint {
            Some(hint) => format!("{ask}; {only_if}: {hint}"),
            None => ask.to_owned(),
        });
    }
    finding
}

/// What is said of a required figure that nobody verified, and what comes before a device is set by it, with what then has
/// to hold.
fn unverified(standing: Standing) -> Option<(&'static str, [&'static str; 2])> {
    match standing {
        Standing::Memory => Some(("the required figure is from memory, unverified", COMPARE)),
        Standing::SingleSource => Some(("the required figure is from a single source, unverified", COMPARE)),
        Standing::Disputed => Some(("a licensed copy contradicts the required figure", READ_AGAIN)),
        _ => None,
    }
}

/// How the figure is known that the remedy would set, where a finding stands without it: by a rule that breaks too.
/// Which region is to be selected no figure says.
fn of_what_is_to_be_set(finding: &Finding) -> Option<Standing> {
    finding.because.iter().find_map(|because| because.basis).filter(|_| finding.name != WRONG_REGION)
}

/// What comes before a device is set by a figure that nobody verified.
const COMPARE: [&str; 2] = ["first compare the required figure with a licensed copy", "only if it says the same"];
/// The same of a figure that one contradicts: what an office read there is not what is required.
const READ_AGAIN: [&str; 2] = ["first read the licensed copy again", "only if it says what is required here, and not what was read"];
