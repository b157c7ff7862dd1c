//! What was said, with places that mean the same on every machine: texts by the names that the record
//! gives them, profiles by their keys.

use super::Texts;
use crate::parts::{Because, Finding, Place};
use rules::assess::Assessor;
use settings_model::finding::Finding as Found;
use settings_model::source::Sources;
use std::collections::BTreeMap;

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
    let because = finding.because.iter().map(|line| Because {
        text: line.text.clone().unwrap_or_else(|| line.label.clone()),
        basis: line.basis,
        place: names.place(line.place, sources),
    });
    Finding {
        name: finding.name.to_owned(),
        outcome: finding.outcome,
        setting: finding.setting.clone(),
        headline: finding.headline.clone(),
        place: names.place(finding.place, sources),
        because: because.collect(),
        basis: finding.basis,
        folded: finding.folded.clone(),
        notes: finding.notes.clone(),
        hint: finding.hint.clone(),
    }
}
