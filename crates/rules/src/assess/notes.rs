//! What concerns a site as a whole, in words.

use super::{Assessment, Certificate, Note, verdict};
use crate::book::Book;
use crate::departure::Departure;
use crate::installation::Figures;
use crate::order::{self, Descent};
use crate::pairing::Exchanged;
use crate::provenance::Verdict;
use settings_model::catalogue::SettingId;
use settings_model::claim::ProvenanceId;
use settings_model::facts::{FactId, Facts};
use settings_model::files::Holding;
use settings_model::finding::Outcome;
use settings_model::library::{Part, Refusal};
use settings_model::requirement::Rulebook;
use settings_model::settings::Settings;
use settings_model::value::Value;
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
    Assessment {
        verdict,
        book: None,
        facts,
        devices: Vec::new(),
        broken: Vec::new(),
        notes,
        not_judged: Vec::new(),
        profile_findings: Vec::new(),
    }
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

pub(super) fn wrong_region(device: &str, left: &Holding<'_>, rulebook: &Rulebook, certificate: &Certificate) -> Note {
    let selected = left.region_selected.as_deref().unwrap_or_default();
    Note {
        outcome: Outcome::DoesNotComply,
        name: "wrong-region",
        path: ["devices", device, "as-left", "region-selected"].map(str::to_owned).to_vec(),
        headline: format!("{device}: region `{selected}` is selected, `{}` ({}) is required", rulebook.region, rulebook.region_title),
        hint: Some(certificate.region_remedy(&rulebook.region_title)),
        lines: None,
    }
}

pub(super) fn nothing_recorded(device: &str) -> Note {
    Note {
        outcome: Outcome::NotProven,
        name: "nothing-recorded",
        path: ["devices", device].map(str::to_owned).to_vec(),
        headline: format!("{device}: no as-left settings are recorded"),
        hint: Some(
            "print a sheet with `asleft sheet SITE --format csv > sheet.csv`, fill in what was left, and judge it with `asleft check SITE \
             --filled sheet.csv`; or write it into the file, under `as-left`"
                .to_owned(),
        ),
        lines: None,
    }
}

/// The name of a note on points that do not ascend.
pub const OUT_OF_ORDER: &str = "points-out-of-order";

/// Curves whose points do not ascend once they are in one unit; within one unit, the reader of the file says so.
#[must_use]
pub fn descending(device: &str, moment: &str, settings: &Settings, facts: &Facts) -> Vec<Note> {
    let descends = |setting: SettingId| {
        let Value::Curve(points) = &settings.get(setting)?.value else { return None };
        let descent = Descent::of_points(setting, points, ProvenanceId::SITE_APPROVAL, facts)?;
        let (function, title) = (setting.function().key, setting.function().title.to_lowercase());
        Some(Note {
            outcome: Outcome::Unusable,
            name: OUT_OF_ORDER,
            path: ["devices", device, moment, "settings", function, setting.parameter().key].map(str::to_owned).to_vec(),
            headline: format!("{device}: {title}: its points do not ascend: {}", descent.told(AT_THIS_SITE)),
            hint: Some(order::MEND.to_owned()),
            lines: None,
        })
    };
    SettingId::curves().filter_map(descends).collect()
}

/// Behind a place that is stated per unit.
const AT_THIS_SITE: &str = "at this site";

/// What is required, by a layer or by an approval, is no curve at this site: nobody can set it.
pub(super) fn required_points_descend(device: &str, book: &Rc<Book>, descent: Descent, departures: &[Departure]) -> Note {
    let approval = departures.iter().find(|departure| departure.setting == descent.setting && descent.why == ProvenanceId::SITE_APPROVAL);
    let title = descent.setting.function().title.to_lowercase();
    Note {
        outcome: Outcome::Unusable,
        name: OUT_OF_ORDER,
        path: match approval {
            Some(approval) => vec!["site-specific-approvals".to_owned(), approval.position.to_string()],
            None => vec!["requirements".to_owned()],
        },
        headline: format!("{device}: {title}: the required points do not ascend: {}", descent.told(AT_THIS_SITE)),
        hint: Some(format!("set nothing on the strength of them; ask the network operator what is meant, and {}", order::MEND)),
        lines: approval.is_none().then(|| (book.clone(), vec![descent.why])),
    }
}

pub(super) fn nobody_can_comply(device: &str, lines: (Rc<Book>, Vec<ProvenanceId>)) -> Note {
    Note {
        outcome: Outcome::Unusable,
        name: "nobody-can-comply",
        path: vec!["requirements".to_owned()],
        headline: format!("{device}: the layers of this site contradict each other; no setting can satisfy all of these lines"),
        hint: Some("set nothing by any of these lines; ask the network operator which of them holds".to_owned()),
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
        Part::Pinned => ("pinned-does-not-fit", &["pinned"]),
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
        headline: format!("which version governs ({}) depends on the {}, not stated", versions.join(" or "), titles.join(" and the ")),
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

/// What a site's own cables say of its voltage rise, and its file otherwise.
pub(super) fn of_rise(figures: &Figures) -> Vec<Note> {
    let note = |outcome, name, key: &str, headline: String, hint: &str| Note {
        outcome,
        name,
        path: ["installation", "voltage-rise", key].map(str::to_owned).to_vec(),
        headline,
        hint: Some(hint.to_owned()),
        lines: None,
    };
    let contradicted = figures.contradicted.iter().map(|(setting, typed, reckoned)| {
        let title = setting.title().to_lowercase();
        let headline = format!("{title}: the file states {typed} %, and its own cables give {reckoned} %");
        let hint = "compare the cables with what was laid; `asleft rise SITE` shows how the figure is worked out, cable by cable";
        note(Outcome::Remark, "rise-contradicts-cables", setting.parameter().key, headline, hint)
    });
    let begins = figures.begins_nowhere.then(|| {
        let headline = "no requirement says where the voltage rise is counted from, and the service line makes a difference".to_owned();
        let hint = "ask the network operator whether its service line counts; an overlay says so by `voltage-rise/begins-at`";
        note(Outcome::Remark, "rise-begins-nowhere", "total", headline, hint)
    });
    contradicted.chain(begins).collect()
}

/// How a rise of the site's own cables was reckoned, where it does not keep its limit.
pub(super) fn by_whole_impedance() -> Note {
    Note {
        outcome: Outcome::Remark,
        name: "rise-by-whole-impedance",
        path: vec!["cables".to_owned()],
        headline: "the voltage rise is that of the site's cables at rated current, by their whole impedance, |Z|, as a table of the \
                   greatest drop has it"
            .to_owned(),
        hint: Some(
            "before a cable is changed, see `asleft rise SITE`: by R cos φ + X sin φ it may comply; ask which the network operator counts"
                .to_owned(),
        ),
        lines: None,
    }
}
