//! Site-specific approvals: departures that hold today, and why others do not.
//!
//! An approval is a claim like any other: within the range that the requirement leaves, by the role that it
//! entitles, against the version that governs. What reaches beyond the range, or was granted against another
//! version, needs an exception with reference and reason, which the headline names.

mod held_to;

pub use held_to::of_device;

pub use crate::departure::{Departure, Exception};
use crate::installation;
use crate::outcome::Note;
use jiff::civil::Date;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{LayerKind, ProvenanceId};
use settings_model::entry::{Verbs, Who};
use settings_model::files::{SiteApproval, SiteFile};
use settings_model::finding::Outcome;
use settings_model::requirement::Rulebook;
use settings_model::schema::setting_of_path;

impl Departure {
    /// A note at one of its keys.
    fn note(&self, outcome: Outcome, key: &[&str], name: &'static str, headline: String, hint: &str) -> Note {
        note(self.position, outcome, key, name, headline, hint)
    }
}

/// Notes on approvals that concern nothing of their site: no device that they mean holds such a setting, or nothing is
/// asked of the installation.
pub(crate) fn of_nothing(all: &[Departure], site: &SiteFile<'_>, is_installation_asked: bool) -> Vec<Note> {
    let heeded = |departure: &&Departure| {
        let mut devices = site.devices.iter().map(|(name, device)| (name, Equipment::from(device.kind)));
        let of_installation = is_installation_asked && departure.applies_to(installation::NAME, Equipment::Installation);
        of_installation || devices.any(|(name, kind)| departure.applies_to(name, kind))
    };
    let note = |departure: &Departure| {
        let who = departure.device.as_deref().unwrap_or("no device of the site");
        let holds = if departure.device.is_some() { "does not hold it" } else { "holds it" };
        let headline =
            format!("site-specific approval {} concerns nothing here: {}: {who} {holds}", departure.reference, departure.setting);
        let hint = "compare setting and device with the paper; a figure of the installation needs its standard under `requirements`";
        departure.note(Outcome::Remark, &["setting"], "approval-of-nothing", headline, hint)
    };
    all.iter().filter(|departure| !heeded(departure)).map(note).collect()
}

fn note(position: usize, outcome: Outcome, key: &[&str], name: &'static str, headline: String, hint: &str) -> Note {
    let start = ["site-specific-approvals".to_owned(), position.to_string()];
    let path = start.into_iter().chain(key.iter().map(|key| (*key).to_owned())).collect();
    Note { outcome, name, path, headline, hint: Some(hint.to_owned()), lines: None }
}

/// The departures of a site that hold on a day; notes on those that do not, or need a look. Whether each may
/// do what it does is another question, which depends on the device: see [`of_device`].
pub fn departures(site: &SiteFile<'_>, rulebook: &Rulebook, today: Date, notes: &mut Vec<Note>) -> Vec<Departure> {
    let approvals = site.site_specific_approvals.iter().enumerate();
    let has_network = site.network.is_some();
    approvals.filter_map(|(position, approval)| departure(position, approval, (rulebook, has_network), today, notes)).collect()
}

fn departure(
    position: usize,
    of: &SiteApproval<'_>,
    (rulebook, has_network): (&Rulebook, bool),
    today: Date,
    notes: &mut Vec<Note>,
) -> Option<Departure> {
    let setting = setting_of_path(&of.setting)?;
    let approval = &of.approval;
    let reference = approval.reference.to_string();
    let remark = |key, name, headline, hint| note(position, Outcome::Remark, key, name, headline, hint);
    if approval.granted.0 > today {
        let headline = format!("site-specific approval {reference} is granted only from {}; it is left out", approval.granted.0);
        notes.push(remark(&["approval", "granted"], "approval-not-yet-granted", headline, "ask again from that day, or with --as-of"));
        return None;
    }
    if let Some(until) = approval.until.filter(|until| until.0 < today) {
        let headline = format!("site-specific approval {reference} ended on {}; it is left out", until.0);
        let hint = "renew it with the network operator, or set what is required without it";
        notes.push(remark(&["approval", "until"], "approval-expired", headline, hint));
        return None;
    }
    let require = of.require.as_ref().and_then(|written| Some((written.value(setting).ok()?, ProvenanceId::SITE_APPROVAL)));
    let comply = of.comply.as_ref().and_then(|written| written.claims(setting, ProvenanceId::SITE_APPROVAL).ok());
    let exception = of.exception.as_ref();
    let mut departure = Departure {
        device: SettingId::named(&of.setting).is_none().then(|| of.setting.split('/').next().unwrap_or_default().to_owned()),
        setting,
        verbs: Verbs { require, comply, why: Some(ProvenanceId::SITE_APPROVAL), ..Verbs::default() },
        reference,
        role: approval.role.to_string(),
        by: approval.by.map(Who::from).or_else(|| held_to::speaks_for(&approval.role)),
        exception: exception.map(|e| Exception { reference: e.reference.to_string(), reason: e.reason.to_string() }),
        is_excepted: false,
        until: approval.until.map(|day| day.0),
        position,
    };
    match &of.against {
        None if has_network => {
            let headline = format!("site-specific approval {} does not say against which version it was granted", departure.reference);
            let hint = "add `against: { network: …, version: … }`, so that it is looked at again when the version moves";
            notes.push(departure.note(Outcome::Remark, &["setting"], "approval-without-version", headline, hint));
        }
        None => {}
        Some(against) => {
            let version = against.version.to_string();
            let layer = rulebook.layers.iter().find(|l| l.kind == LayerKind::Overlay && l.key == *against.network);
            if layer.is_none_or(|layer| layer.version != version) {
                let now = layer.map_or_else(|| format!("no version of {}", &*against.network), |l| format!("{} {}", l.key, l.version));
                notes.push(against_other_version(&mut departure, &format!("{} {version}", &*against.network), &now));
            }
        }
    }
    Some(departure)
}

/// The operator granted it against other lines than those that govern now.
fn against_other_version(departure: &mut Departure, then: &str, now: &str) -> Note {
    let headline = format!("site-specific approval {} was granted against {then}; {now} governs now", departure.reference);
    let (key, name) = (&["against", "version"], "approval-against-other-version");
    let Some(exception) = &departure.exception else {
        let hint =
            "ask the network operator whether it still stands; if so, state the version, or an `exception` with reference and reason";
        return departure.note(Outcome::NotProven, key, name, headline, hint);
    };
    let headline = format!("{headline}; it stands by exception {} ({})", exception.reference, exception.reason);
    departure.is_excepted = true;
    departure.note(Outcome::Remark, key, name, headline, "compare the exception with what the network operator wrote")
}
