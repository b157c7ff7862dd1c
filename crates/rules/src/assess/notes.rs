//! What concerns a site as a whole, in words.

use super::{Assessment, Note, verdict};
use crate::book::Book;
use crate::pairing::Exchanged;
use crate::provenance::Verdict;
use settings_model::claim::WhyId;
use settings_model::facts::{FactId, Facts};
use settings_model::files::Holding;
use settings_model::finding::Outcome;
use settings_model::library::{Part, Refusal};
use settings_model::requirement::Rulebook;
use std::rc::Rc;

pub(super) fn refused<'s>(refusal: Refusal, device: Option<&str>, facts: Facts) -> Assessment<'s> {
    let (notes, profile_findings) = match refusal {
        Refusal::Unusable(findings) => (Vec::new(), findings),
        Refusal::Unknown { part, says, hint } => (vec![unknown(part, device, says, hint)], Vec::new()),
        Refusal::Hangs { facts, versions } => (vec![hangs(&facts, &versions)], Vec::new()),
    };
    let verdict = if profile_findings.is_empty() { verdict(&[], &notes, &[]) } else { Verdict::CouldNotTell };
    Assessment { verdict, profile_findings, ..unsettled(notes, facts) }
}

/// A site of which it cannot be told what it stands under.
pub(super) fn unsettled<'s>(notes: Vec<Note>, facts: Facts) -> Assessment<'s> {
    let verdict = verdict(&[], &notes, &[]);
    Assessment { verdict, book: None, facts, devices: Vec::new(), broken: Vec::new(), notes, profile_findings: Vec::new() }
}

pub(super) fn no_devices() -> Note {
    Note {
        outcome: Outcome::Unusable,
        name: "no-devices",
        path: vec!["devices".to_owned()],
        headline: "the site lists no device".to_owned(),
        hint: Some("add each inverter under `devices`".to_owned()),
        lines: None,
    }
}

pub(super) fn wrong_region(device: &str, left: &Holding<'_>, rulebook: &Rulebook) -> Note {
    let selected = left.region_selected.as_deref().unwrap_or_default();
    Note {
        outcome: Outcome::DoesNotComply,
        name: "wrong-region",
        path: ["devices", device, "as-left", "region-selected"].map(str::to_owned).to_vec(),
        headline: format!("{device}: region `{selected}` is selected, `{}` ({}) is required", rulebook.region, rulebook.region_title),
        hint: Some(format!("select {} on the device, then read every value back", rulebook.region_title)),
        lines: None,
    }
}

pub(super) fn nothing_recorded(device: &str) -> Note {
    Note {
        outcome: Outcome::NotProven,
        name: "nothing-recorded",
        path: ["devices", device].map(str::to_owned).to_vec(),
        headline: format!("{device}: no as-left settings are recorded"),
        hint: Some("add `as-left`; `asleft sheet` says what to set and what to read".to_owned()),
        lines: None,
    }
}

/// What the program that read the device could not tell: a selected region does not stand for that.
pub(super) fn left_open<'h>(device: &'h str, left: &'h Holding<'_>) -> impl Iterator<Item = Note> + 'h {
    let open = left.captured.iter().flat_map(|captured| &captured.left_open);
    open.enumerate().map(move |(n, says)| Note {
        outcome: Outcome::NotProven,
        name: "reading-left-open",
        path: ["devices", device, "as-left", "captured", "left-open"].map(str::to_owned).into_iter().chain([n.to_string()]).collect(),
        headline: format!("{device}: left open by the reading: {says}"),
        hint: Some("clear it up on the device and read it again; a value typed in beside does not close it".to_owned()),
        lines: None,
    })
}

pub(super) fn nobody_can_comply(device: &str, lines: (Rc<Book>, Vec<WhyId>)) -> Note {
    Note {
        outcome: Outcome::Unusable,
        name: "nobody-can-comply",
        path: vec!["requirements".to_owned()],
        headline: format!("{device}: the layers of this site contradict each other; no setting can satisfy all of these lines"),
        hint: Some("ask the network operator which line gives way; do not set anything on the strength of either".to_owned()),
        lines: Some(lines),
    }
}

/// A request that the library cannot meet, as a message with its place in the site's file.
pub(super) fn unknown(part: Part, device: Option<&str>, says: String, hint: Option<String>) -> Note {
    let of_device = ["devices", device.unwrap_or_default(), "stands-under"];
    let (name, path): (_, &[&str]) = match part {
        Part::InPlace => ("standard", &of_device),
        Part::Network => ("network", &["network"]),
        Part::Overlay => ("overlay-range", &["requirements", "overlay"]),
        Part::Standard => ("standard", &["requirements", "standard"]),
        Part::Installation => ("standard", &["requirements", "installation"]),
        Part::Region => ("region", &["requirements", "region"]),
    };
    let path = path.iter().map(|step| (*step).to_owned()).collect();
    Note { outcome: Outcome::Unusable, name, path, headline: says, hint, lines: None }
}

/// The dates leave open which version governs.
pub(super) fn hangs(facts: &[FactId], versions: &[String]) -> Note {
    let titles: Vec<&str> = facts.iter().map(|fact| fact.row().title).collect();
    let places: Vec<&str> = facts.iter().map(|fact| fact.row().stated_as).collect();
    Note {
        outcome: Outcome::NotProven,
        name: "governing-version",
        path: vec!["dates".to_owned()],
        headline: format!("which version governs ({}) hangs on the {}, not stated", versions.join(" or "), titles.join(" and the ")),
        hint: Some(format!("state {}", places.join(", "))),
        lines: None,
    }
}

/// Two stages are right, and named the other way round.
pub(super) fn stages_exchanged(device: &str, (one, other): Exchanged) -> Note {
    let titles = [one, other].map(|stage| stage.function().title.to_lowercase());
    Note {
        outcome: Outcome::Remark,
        name: "stages-exchanged",
        path: ["devices", device, "as-left", "settings", one.function().key].map(str::to_owned).to_vec(),
        headline: format!("{device}: {} and {} are named the other way round; judged by their thresholds", titles[0], titles[1]),
        hint: Some("name them as the requirement does, so that an auditor finds them".to_owned()),
        lines: None,
    }
}
