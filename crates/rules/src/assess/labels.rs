//! What the label map of a device has to do with judging it: how finely its display shows values, and
//! whether a map that is named is used at all.

use super::{Assessor, Note};
use settings_model::claim::Evidence;
use settings_model::files::{Device, Holding};
use settings_model::finding::{Finding, Outcome};
use settings_model::labels::{LabelMap, Site};
use settings_model::library::NotUsed;
use settings_model::settings::{Known, Settings};
use std::borrow::Cow;
use std::rc::Rc;

impl Assessor {
    /// The label map of a device. One that is named and not used is noted; that of its model is a help
    /// that nobody asked for.
    pub(super) fn labels(&mut self, name: &str, device: &Device<'_>, notes: &mut Vec<Note>) -> Result<Option<Rc<LabelMap>>, Vec<Finding>> {
        if device.labels.is_none() && device.model.is_none() {
            return Ok(None);
        }
        match self.library.labels_of(device, &mut self.sources) {
            Ok(map) => Ok(map),
            Err(NotUsed::Faulty(findings)) => Err(findings),
            Err(NotUsed::Because { part, says, hint, .. }) => {
                if device.labels.is_some() {
                    let outcome = if part == "labels" { Outcome::Unusable } else { Outcome::Remark };
                    let path = ["devices", name, part].map(str::to_owned).to_vec();
                    notes.push(Note {
                        outcome,
                        name: "label-map",
                        path,
                        headline: format!("{name}: {says}"),
                        hint: Some(hint),
                        lines: None,
                    });
                }
                Ok(None)
            }
        }
    }
}

/// What a device was left with, as finely as its display shows it: where the site's file does not say
/// so itself, of what was taken from the display or a photo of it.
pub(super) fn as_shown<'s>(left: &'s Holding<'_>, map: Option<&LabelMap>, site: Site<'_>) -> Cow<'s, Settings> {
    let mut shown = Cow::Borrowed(&left.settings);
    let Some(map) = map else { return shown };
    let is_displayed = |known: &Known| matches!(known.evidence.or(left.known_by), Some(Evidence::Display | Evidence::Photo));
    for (setting, known) in left.settings.iter().filter(|(_, known)| known.step.is_none() && is_displayed(known)) {
        if let Some(step) = map.step_of(setting, &known.value, site) {
            shown.to_mut().set(setting, Known { step: Some(Box::new(step)), ..known.clone() });
        }
    }
    shown
}
