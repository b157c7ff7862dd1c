//! What the display of a device calls the settings of its sheet.

use super::{Labels, OnDisplay, Row};
use crate::assess::Assessor;
use crate::book::Book;
use settings_model::catalogue::SettingId;
use settings_model::claim::Limit;
use settings_model::files::Device;
use settings_model::labels::{self, LabelMap, Site};
use settings_model::library::{NotUsed, Refusal};
use settings_model::requirement::Requirement;
use settings_model::value::Value;

/// The label map of a device, or why the one that is there is not used.
pub(super) fn labels(assessor: &mut Assessor, device: &Device<'_>, book: &Book) -> Result<Labels, Refusal> {
    match assessor.library.labels_of(device, &mut assessor.sources) {
        Ok(None) => Ok(Labels::None),
        Ok(Some(map)) => {
            let region = map.region(&book.rulebook.region).map(|(label, word)| OnDisplay {
                part: None,
                words: label.words.clone(),
                menu: label.menu.clone(),
                shows: word.map(str::to_owned),
                note: label.note.clone(),
            });
            Ok(Labels::Used { map, region })
        }
        Err(NotUsed::Faulty(findings)) => Err(findings.into()),
        Err(NotUsed::Because { says, hint, .. }) => Ok(Labels::NotUsed(says, hint)),
    }
}

/// Where a row is found on the display, and what it has to show there.
pub(super) fn of_row(map: &LabelMap, row: &Row, requirement: &Requirement, site: Site<'_>) -> Vec<OnDisplay> {
    let asked = |setting: SettingId, word: u8| asks_for(requirement, setting, word);
    map.on_display(row.setting, row.set.as_ref(), site, &asked).into_iter().map(|on| of_part(on, row.set.is_some())).collect()
}

fn of_part(on: labels::OnDisplay<'_>, is_set: bool) -> OnDisplay {
    let nearest = on.enter.as_ref().filter(|enter| !enter.is_exact).map(|_| "the nearest that it can show".to_owned());
    let other = on.other_time.map(|time| match on.enter {
        None => format!("this is the {}, not the time that is asked for; what lies between the two is not known", time.parameter().title),
        Some(_) => format!("this is the {}", time.parameter().title),
    });
    let unknown = (is_set && on.enter.is_none() && other.is_none()).then(|| "no word or number for it".to_owned());
    let notes: Vec<String> = nearest.into_iter().chain(other).chain(unknown).chain(on.label.note.clone()).collect();
    OnDisplay {
        part: on.part,
        words: on.label.words.clone(),
        menu: on.label.menu.clone(),
        shows: on.enter.map(|enter| enter.text),
        note: (!notes.is_empty()).then(|| notes.join("; ")),
    }
}

/// Whether a word of a setting is what has to be set, or nothing is asked of it: a mode of a display
/// brings words with it that have to suit as well.
pub(crate) fn asks_for(requirement: &Requirement, setting: SettingId, word: u8) -> bool {
    let Some(resolved) = requirement.get(setting) else { return true };
    match &resolved.entry.require {
        Some(Value::Word(wanted)) => *wanted == word,
        _ => resolved.entry.comply.iter().all(|claim| !matches!(&claim.limit, Limit::OneOf(words) if !words.has(word))),
    }
}
