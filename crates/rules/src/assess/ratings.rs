//! What a device is rated for and cannot be, beside what else is stated of it: more active power than apparent power,
//! a limit above the nameplate, three phases on a supply of one.

use super::Note;
use super::statements::not_proven;
use settings_model::exact::Exact;
use settings_model::files::{Device, SiteFile};
use settings_model::quantity::Dimension;

/// Everything about one device.
pub(super) fn of_device(name: &str, device: &Device<'_>, site: &SiteFile<'_>) -> Vec<Note> {
    let nameplate = device.nameplate.map(|rating| rating.number);
    let rated = device
        .rated_power
        .and_then(|rating| above(name, "rated-power", "rated active power", (rating.number, Dimension::ActivePower), nameplate));
    let limited = device
        .limited_to
        .and_then(|rating| above(name, "limited-to", "limited rating", (rating.number, Dimension::ApparentPower), nameplate));
    let phases = device.phases.zip(site.supply.phases).filter(|phases| *phases == (3, 1)).map(|_| {
        let headline = format!("{name} feeds three phases, and the supply has one");
        not_proven(
            "phases-contradict",
            &["devices", name, "phases"],
            headline,
            "compare `phases` of the device and of the supply with what is there",
        )
    });
    rated.into_iter().chain(limited).chain(phases).collect()
}

fn above(name: &str, key: &str, title: &str, (stated, of): (Exact, Dimension), nameplate: Option<Exact>) -> Option<Note> {
    let nameplate = nameplate.filter(|nameplate| stated > *nameplate)?;
    let headline = format!(
        "{name}: its {title}, {}, is above the apparent power on its nameplate, {}",
        of.show(stated),
        Dimension::ApparentPower.show(nameplate)
    );
    Some(not_proven(
        "ratings-contradict",
        &["devices", name, key],
        headline,
        "read both on the device: percentages of power are taken of them",
    ))
}
