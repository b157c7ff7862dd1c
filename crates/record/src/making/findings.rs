//! What was said, with places that mean the same on every machine: texts by the names that the record
//! gives them, profiles by their keys.

use super::Texts;
use crate::parts::{Because, Figures, Finding, Gravity, Place};
use rules::assess::{Assessment, Assessor};
use rules::book::Counted;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Basis, Evidence};
use settings_model::finding::{Finding as Found, Outcome as Judged};
use settings_model::source::Sources;
use std::collections::BTreeMap;
use std::rc::Rc;

/// What a record calls each text.
pub(super) struct Names {
    /// By how messages name them.
    of_files: BTreeMap<String, String>,
    of_profiles: BTreeMap<String, String>,
}

impl Names {
    pub(super) fn of(texts: &Texts, assessor: &Assessor) -> Self {
        let profiles = assessor.library.profiles();
        Self {
            of_files: texts.all().map(|text| (text.path.clone(), text.name.clone())).collect(),
            of_profiles: profiles.map(|profile| (profile.name.clone(), profile.path.trim_end_matches(".yaml").to_owned())).collect(),
        }
    }

    fn place(&self, place: settings_model::source::Place, sources: &Sources) -> Option<Place> {
        let at = sources.locate(place)?;
        let text = self.of_files.get(at.file).or_else(|| self.of_profiles.get(at.file))?.clone();
        Some(Place { text, line: at.line as u32, column: at.column as u32 })
    }
}

/// A finding as a record keeps it.
pub(super) fn told(finding: &Found, names: &Names, sources: &Sources) -> Finding {
    let because = finding
        .because
        .iter()
        .map(|line| Because { text: line.text.clone().unwrap_or_else(|| line.label.clone()), place: names.place(line.place, sources) });
    Finding {
        name: finding.name.to_owned(),
        outcome: gravity(finding.outcome),
        setting: finding.setting.clone(),
        headline: finding.headline.clone(),
        place: names.place(finding.place, sources),
        because: because.collect(),
        folded: finding.folded.clone(),
        notes: finding.notes.clone(),
        hint: finding.hint.clone(),
    }
}

/// What keeps a record from being made is never in one.
fn gravity(outcome: Judged) -> Gravity {
    match outcome {
        Judged::DoesNotComply => Gravity::DoesNotComply,
        Judged::NotProven | Judged::Unusable => Gravity::NotProven,
        Judged::Remark => Gravity::Remark,
    }
}

/// Each requirement that some device of the site was asked, once.
fn distinct<'a>(assessment: &'a Assessment<'_>) -> impl Iterator<Item = &'a Counted> {
    let devices = &assessment.devices;
    let is_first = move |n: &usize| devices[..*n].iter().all(|earlier| !Rc::ptr_eq(&earlier.counted, &devices[*n].counted));
    (0..devices.len()).filter(is_first).map(|n| &*devices[n].counted)
}

/// How many required figures rest on each basis.
pub(super) fn figures(assessment: &Assessment<'_>) -> Figures {
    let mut figures = Figures::default();
    for tally in distinct(assessment).map(|counted| counted.tally) {
        let of = |basis| tally.of(basis) as u32;
        figures.published += of(Basis::Published);
        figures.invented += of(Basis::Invented);
        figures.single_source += of(Basis::SingleSource);
        figures.memory += of(Basis::Memory);
        figures.site_approval += tally.approved as u32;
        figures.attested += tally.attested as u32;
        figures.disputed += tally.disputed as u32;
    }
    figures
}

/// How the required values are known: `12 taken from the display, 40 covered by the selected region`.
pub(super) fn known_by(assessment: &Assessment<'_>) -> String {
    let mut counts = [0; Evidence::ALL.len()];
    for device in assessment.devices.iter().filter(|device| device.kind != Equipment::Installation) {
        counts.iter_mut().zip(device.known()).for_each(|(all, own)| *all += own);
    }
    let each = Evidence::ALL.into_iter().zip(counts).filter(|(_, count)| *count > 0);
    each.map(|(kind, count)| format!("{count} {}", kind.phrase())).collect::<Vec<_>>().join(", ")
}

/// What is asked, but was not seen.
pub(super) fn not_checked(assessment: &Assessment<'_>) -> Vec<String> {
    let mut unseen: Vec<SettingId> = distinct(assessment).flat_map(|counted| &counted.not_checked).copied().collect();
    unseen.sort_unstable();
    unseen.dedup();
    unseen.iter().map(ToString::to_string).collect()
}
