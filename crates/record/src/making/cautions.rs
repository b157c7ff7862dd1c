//! What to mind, at the record and before anything is tested.

use crate::parts::Record;
use rules::assess::Assessment;
use rules::percentages::percentages;
use settings_model::files::{Device, DeviceKind, FactWord, Kind, SiteFile};
use settings_model::reader;
use settings_model::source::SourceId;

const GENERAL: [&str; 3] = [
    "Wrong settings can hurt people. Only licensed persons may change them, under local rules.",
    "The network operator's own document and the connection approval decide; this record does not replace them.",
    "Figures marked from memory or single source must be compared with a licensed copy before anybody relies on them.",
];

/// Who may do tests on site.
pub const WHO_MAY_TEST: &str = "Only persons who are licensed for the work under local rules, and a grid protection relay only with the network operator's leave; local rules and the device's manual decide, not this sheet.";

/// What to mind at a record.
pub(super) fn of_record(assessment: &Assessment<'_>, site: &SiteFile<'_>) -> Vec<String> {
    let book = assessment.book.iter();
    let more = book.flat_map(|book| {
        let percent = percentages(&book.rulebook).map(|says| format!("{}{}.", says[..1].to_uppercase(), &says[1..]));
        percent.into_iter().chain(book.rulebook.layers.iter().flat_map(|layer| layer.notes.iter().cloned()))
    });
    GENERAL.map(str::to_owned).into_iter().chain(storage(site)).chain(more).collect()
}

/// What to mind before anything is tested.
#[must_use]
pub fn of_tests(site: &SiteFile<'_>) -> Vec<String> {
    let mut cautions = vec![WHO_MAY_TEST.to_owned()];
    cautions.push(format!("Sources of supply here: {}. Prove dead before touching: an open switch is no proof.", sources(site)));
    cautions.extend(storage(site));
    cautions
        .push("Tell everybody on site before the supply is opened: medical equipment, lifts, alarms and computers lose it too.".to_owned());
    cautions.push(
        "Figures marked from memory or single source must be compared with a licensed copy before anybody relies on them.".to_owned(),
    );
    cautions.push("Change no setting to make a test pass. Report what fails: it may be changed only by authorised persons.".to_owned());
    cautions
}

/// With storage, opening the supply makes nothing dead.
fn storage(site: &SiteFile<'_>) -> Option<String> {
    let with: Vec<&str> = site.devices.iter().filter(|(_, device)| has_storage(device)).map(|(name, _)| name).collect();
    let first = with.first()?;
    let names = with[1..].iter().fold((*first).to_owned(), |names, name| format!("{names}, {name}"));
    Some(format!(
        "Storage ({names}): opening the supply can leave backup circuits live, and the battery is live always. Test for ceasing at the grid terminals."
    ))
}

/// Whether some device of a record's site has storage; a site that cannot be read is taken to have it.
#[must_use]
pub fn is_with_storage(record: &Record) -> bool {
    let read = reader::read(SourceId(0), &record.given.site.text, Kind::Site);
    let site = read.as_ref().ok().and_then(|root| reader::typed::<SiteFile<'_>>(root).ok());
    site.is_none_or(|site| site.devices.iter().any(|(_, device)| has_storage(device)))
}

fn has_storage(device: &Device<'_>) -> bool {
    device.facts(settings_model::facts::Facts::default()).has_storage()
}

/// Everything that can make a conductor live, by name.
fn sources(site: &SiteFile<'_>) -> String {
    let inverters = site.devices.iter().filter(|(_, device)| device.kind == DeviceKind::Inverter);
    let fed = inverters.map(|(name, device)| match device.source.map(FactWord::word) {
        Some("solar") => format!("{name}, fed by a solar array that is live in daylight"),
        Some("storage") => format!("{name}, fed by a battery"),
        Some("solar-and-storage") => format!("{name}, fed by a solar array that is live in daylight and by a battery"),
        Some(_) => format!("{name}, fed by another source"),
        None => format!("{name}, fed by what the site's file does not say"),
    });
    let all: Vec<String> = std::iter::once("the network".to_owned()).chain(fed).chain(["any generator that is there".to_owned()]).collect();
    all.join("; ")
}
