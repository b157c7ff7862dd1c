//! What a new version does to sites: each is judged by what governed it before and by what governs it
//! with the new version at hand, and the work that follows is listed.
//!
//! Which version governs is a matter of the site's dates. A range of versions that a site's file
//! names is passed over: it says what the site was judged against, not what it stands under now.

use crate::assess::{Assessment, Assessor, DeviceResult};
use crate::judge::{MissingEvidence, UnmetKind};
use crate::phrase::{complies_within, dimension_of, least_digits, missing_evidence_phrase, origin, to_set};
use crate::provenance::{Judgement, Standing, Verdict, of_line};
use settings_model::catalogue::{Equipment, HeldBy, SettingId};
use settings_model::claim::Citation;
use settings_model::entry::Who;
use settings_model::exact::Exact;
use settings_model::files::SiteFile;
use std::collections::BTreeSet;

/// What a new version does to a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effect {
    /// It complied, and no longer does.
    Stranded,
    /// It complied, and that can no longer be shown.
    NoLongerProven,
    /// It was at fault, or not proven, and more is wrong now.
    WorkAdded,
    /// It was at fault, or not proven, and complies now.
    NewlyFine,
    /// The new version governs it and changes nothing.
    Unchanged,
    /// The new version governs it, and an older one is still accepted for it.
    MayStay,
    /// The new version does not govern it.
    NotGoverned,
    /// What it stands under cannot be told, before or after.
    CouldNotTell,
}

impl Effect {
    /// Every effect, gravest first.
    pub const ALL: [Self; 8] = [
        Self::Stranded,
        Self::NoLongerProven,
        Self::WorkAdded,
        Self::NewlyFine,
        Self::Unchanged,
        Self::MayStay,
        Self::NotGoverned,
        Self::CouldNotTell,
    ];

    /// The word in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Stranded => "stranded",
            Self::NoLongerProven => "no-longer-proven",
            Self::WorkAdded => "work-added",
            Self::NewlyFine => "newly-fine",
            Self::Unchanged => "unchanged",
            Self::MayStay => "may-stay",
            Self::NotGoverned => "not-governed",
            Self::CouldNotTell => "could-not-tell",
        }
    }

    /// For people, of one site or of several.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Stranded => "complied, and no longer does",
            Self::NoLongerProven => "complied; no longer proven",
            Self::WorkAdded => "at fault before, with more to do now",
            Self::NewlyFine => "at fault before, complies now",
            Self::Unchanged => "no change",
            Self::MayStay => "may stay under the older version",
            Self::NotGoverned => "not governed by it",
            Self::CouldNotTell => "could not be told",
        }
    }

    /// Whether somebody has to go there.
    #[must_use]
    pub fn is_work(self) -> bool {
        matches!(self, Self::Stranded | Self::NoLongerProven | Self::WorkAdded)
    }
}

/// What a new version does to one site.
#[derive(Clone, Debug)]
pub struct Affected {
    /// What it does.
    pub effect: Effect,
    /// What the site came to before, and by which figures.
    pub before: Judgement,
    /// What it comes to now.
    pub after: Judgement,
    /// Why that could not be told, where it could not.
    pub reason: Option<String>,
    /// What it stood under.
    pub was_under: String,
    /// What it stands under now.
    pub is_under: String,
    /// What has to be done there that did not have to be done before.
    pub work: Vec<Work>,
}

/// One thing to do at a site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// The device, or `installation`; empty for what concerns the site.
    pub device: String,
    /// The setting, where it is about one.
    pub setting: Option<SettingId>,
    /// What the device holds.
    pub holds: String,
    /// What is required.
    pub required: String,
    /// How far off it is, or what is missing.
    pub off_by: String,
    /// Who may change it.
    pub moved_by: Who,
    /// Who asks for it.
    pub by: String,
    /// In which document and clause.
    pub clause: String,
    /// How the figure is known that asks for it; `None` where no figure does.
    pub basis: Option<Standing>,
}

/// The versions of one network between which is compared.
#[derive(Clone, Copy, Debug)]
pub struct Versions<'v> {
    /// The network.
    pub network: &'v str,
    /// The new version.
    pub new: &'v semver::Version,
}

/// Judges a site by both: `before` has no version later than the old one, `after` none later than the
/// new one. Both pass over the range that the site names.
pub fn affected(site: &SiteFile<'_>, versions: Versions<'_>, before: &mut Assessor, after: &mut Assessor) -> Affected {
    let (was, is) = (before.assess(site), after.assess(site));
    let governed = is.book.as_ref().is_some_and(|book| {
        book.rulebook.layers.iter().any(|layer| layer.key == versions.network && layer.version == versions.new.to_string())
    });
    let may_stay =
        governed && after.library.accepts_older(versions.network, versions.new, &is.facts, &mut after.sources).is_ok_and(|yes| yes);
    let work = if governed { work(&was, &is) } else { Vec::new() };
    let effect = effect(&was, &is, governed, may_stay, !work.is_empty());
    Affected {
        effect,
        before: was.judgement(),
        after: is.judgement(),
        reason: reason(&is).filter(|_| effect == Effect::CouldNotTell),
        was_under: was.under(),
        is_under: is.under(),
        work,
    }
}

/// What keeps the question from being put, gravest first; `None` where it could be put.
fn reason(assessment: &Assessment<'_>) -> Option<String> {
    if assessment.book.is_some() && assessment.verdict != Verdict::CouldNotTell {
        return None;
    }
    let of_profiles = assessment.profile_findings.first().map(|finding| &finding.headline);
    let of_site = assessment.notes.iter().min_by_key(|note| note.outcome).map(|note| &note.headline);
    of_profiles.or(of_site).cloned()
}

fn effect(was: &Assessment<'_>, is: &Assessment<'_>, governed: bool, may_stay: bool, has_work: bool) -> Effect {
    use Verdict::{Complies, CouldNotTell, DoesNotComply, NotProven};
    match (was.verdict, is.verdict) {
        _ if is.book.is_none() || is.verdict == CouldNotTell => Effect::CouldNotTell,
        _ if !governed => Effect::NotGoverned,
        (_, DoesNotComply | NotProven) if may_stay && has_work => Effect::MayStay,
        (Complies, DoesNotComply) => Effect::Stranded,
        (Complies, NotProven) => Effect::NoLongerProven,
        (Complies, _) => Effect::Unchanged,
        (_, Complies) => Effect::NewlyFine,
        _ if has_work => Effect::WorkAdded,
        _ => Effect::Unchanged,
    }
}

/// What is at fault now and was not before.
fn work(was: &Assessment<'_>, is: &Assessment<'_>) -> Vec<Work> {
    let faulty = |assessment: &Assessment<'_>| -> BTreeSet<(String, SettingId)> {
        let of_device = |device: &DeviceResult<'_>| -> Vec<(String, SettingId)> {
            device
                .faults
                .iter()
                .filter(|fault| fault.kind != UnmetKind::SameResponse)
                .map(|fault| (device.name.to_owned(), fault.setting))
                .collect()
        };
        assessment.devices.iter().flat_map(of_device).collect()
    };
    let before = faulty(was);
    let mut listed = BTreeSet::new();
    let mut work = Vec::new();
    for device in &is.devices {
        for fault in device.faults.iter().filter(|fault| fault.kind != UnmetKind::SameResponse) {
            let key = (device.name.to_owned(), fault.setting);
            if !before.contains(&key) && listed.insert(key) {
                work.push(of_fault(device, fault));
            }
        }
    }
    let broken_before: Vec<(&str, SettingId)> = was.broken.iter().map(|broken| (broken.rule, broken.setting)).collect();
    for broken in is.broken.iter().filter(|broken| !broken_before.contains(&(broken.rule, broken.setting))) {
        let device = &is.devices[broken.device];
        if !listed.contains(&(device.name.to_owned(), broken.setting)) {
            let holds = device.settings.get(broken.setting).map_or_else(|| NOT_STATED.to_owned(), |known| known.value.show(broken.setting));
            let (required, off_by) = (broken.hint.clone(), broken.says.clone());
            let by = format!("rule {}", broken.rule);
            work.push(Work {
                device: device.name.to_owned(),
                setting: Some(broken.setting),
                holds,
                required,
                off_by,
                moved_by: Who::Installer,
                by,
                clause: String::new(),
                basis: broken.basis,
            });
        }
    }
    let noted = |assessment: &Assessment<'_>| -> Vec<&'static str> { assessment.notes.iter().map(|note| note.name).collect() };
    let noted_before = noted(was);
    for note in
        is.notes.iter().filter(|note| note.outcome != settings_model::finding::Outcome::Remark && !noted_before.contains(&note.name))
    {
        work.push(Work {
            device: String::new(),
            setting: None,
            holds: String::new(),
            required: note.hint.clone().unwrap_or_default(),
            off_by: note.headline.clone(),
            moved_by: Who::Nobody,
            by: String::new(),
            clause: String::new(),
            basis: None,
        });
    }
    work
}

const NOT_STATED: &str = "not stated";

fn of_fault(device: &DeviceResult<'_>, fault: &crate::judge::UnmetClaim) -> Work {
    let requirement = &device.counted.requirement;
    let entry = requirement.get(fault.setting).map(|resolved| &resolved.entry);
    let complies = entry.and_then(|entry| complies_within(entry, &device.facts));
    let set = entry.and_then(|entry| to_set(entry, &requirement.ties, &device.facts));
    let required = match (set, complies) {
        (Some(value), Some(complies)) if value.show(fault.setting) != complies => format!("{} ({complies})", value.show(fault.setting)),
        (Some(value), _) => value.show(fault.setting),
        (None, complies) => complies.unwrap_or_default(),
    };
    let line = entry.and_then(|entry| entry.comply.first()).map_or(fault.claim.why, |claim| claim.why);
    Work {
        device: device.name.to_owned(),
        setting: Some(fault.setting),
        holds: device.settings.get(fault.setting).map_or_else(|| NOT_STATED.to_owned(), |known| known.value.show(fault.setting)),
        required,
        off_by: off_by(device.kind, fault),
        moved_by: entry.map_or(Who::Nobody, |entry| entry.moved_by),
        by: origin(line, &device.book.rulebook, &device.departures, fault.setting),
        clause: device.book.rulebook.whys.get(line).and_then(|line| line.citation.as_deref()).map(cited).unwrap_or_default(),
        basis: of_line(fault.claim.why, &device.book.rulebook),
    }
}

/// `Quillbrook connection guide, 5.2`.
fn cited(citation: &Citation) -> String {
    std::iter::once(citation.document.as_str()).chain(citation.clause.as_deref()).collect::<Vec<_>>().join(", ")
}

fn off_by(kind: Equipment, fault: &crate::judge::UnmetClaim) -> String {
    match (fault.kind, fault.slack) {
        (UnmetKind::NotProven(MissingEvidence::NotStated), _)
            if kind != Equipment::Installation && fault.setting.parameter().held_by == HeldBy::TypeTest =>
        {
            "not shown by a certificate".to_owned()
        }
        (UnmetKind::NotProven(lack), _) => missing_evidence_phrase(lack),
        (_, Some(slack)) if slack < Exact::ZERO => dimension_of(fault.setting, fault.claim.on.subject().part)
            .map_or_else(String::new, |dimension| dimension.show(least_digits(-slack))),
        _ => String::new(),
    }
}
