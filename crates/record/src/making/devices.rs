//! Each device with its settings: required, as found, as left, and what each came to.

use super::Work;
use super::photos::beside;
use crate::parts::{Certified, Device, Moment, RecordedValue, SettingHeld, SettingState};
use rules::assess::{Assessment, DeviceResult, RegionStands};
use rules::judge::UnmetKind;
use rules::sheet::{DeviceSheet, Row, Task};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::files::{Device as Stated, Holding, Text};
use settings_model::quantity::Dimension;
use settings_model::settings::{Known, Settings};

pub(super) fn devices(work: &Work<'_>, assessment: &Assessment<'_>) -> Vec<Device> {
    work.sheets
        .iter()
        .map(|sheet| {
            let stated = work.site.devices.get(&sheet.name).filter(|_| sheet.kind != Equipment::Installation);
            let result = assessment.devices.iter().find(|device| device.name == sheet.name && device.kind == sheet.kind);
            device(work, sheet, stated, result)
        })
        .collect()
}

fn device(work: &Work<'_>, sheet: &DeviceSheet, stated: Option<&Stated<'_>>, result: Option<&DeviceResult<'_>>) -> Device {
    let text = |of: fn(&'_ Stated<'_>) -> Option<String>| stated.and_then(of);
    let [found, left] = [stated.and_then(|device| device.as_found.as_ref()), stated.and_then(|device| device.as_left.as_ref())];
    Device {
        name: sheet.name.clone(),
        kind: sheet.kind,
        under: sheet.under.clone(),
        model: text(|device| shown(device.model.as_ref())),
        serial: text(|device| shown(device.serial.as_ref())),
        firmware: text(|device| shown(device.firmware.as_ref())),
        nameplate: text(|device| device.nameplate.map(|rating| Dimension::ApparentPower.show(rating.number))),
        certified: stated.and_then(|device| certified(work, &sheet.name, device)),
        as_found: found.map(moment),
        as_left: left.map(moment),
        settings: settings(work, sheet, [found, left], result),
    }
}

fn shown(text: Option<&Text<'_>>) -> Option<String> {
    text.map(ToString::to_string)
}

fn certified(work: &Work<'_>, name: &str, device: &Stated<'_>) -> Option<Certified> {
    let papers = work.file.and_then(|file| file.papers(name));
    let certified = Certified {
        to: device.certified.as_ref().map(|certified| format!("{}/{}", certified.standard, certified.edition.key())),
        certificate: papers.and_then(|papers| papers.certificate.clone()),
        expires: papers.and_then(|papers| papers.certificate_expires.as_ref()).map(|day| day.value.0.to_string()),
    };
    (certified.to.is_some() || certified.certificate.is_some()).then_some(certified)
}

fn moment(holding: &Holding<'_>) -> Moment {
    Moment {
        date: holding.date.map(|day| day.0.to_string()),
        role: shown(holding.role.as_ref()),
        region_selected: shown(holding.region_selected.as_ref()),
        region_photo: holding.region_photo.as_ref().map(|photo| photo.0.clone()),
    }
}

/// What is required and what is stated, in the order of the catalogue.
fn settings(
    work: &Work<'_>,
    sheet: &DeviceSheet,
    [found, left]: [Option<&Holding<'_>>; 2],
    result: Option<&DeviceResult<'_>>,
) -> Vec<SettingHeld> {
    let of_installation = result.filter(|_| sheet.kind == Equipment::Installation).map(|result| &*result.settings);
    let left_with = left.map(|left| &left.settings).or(of_installation);
    let of = |settings: Option<&Settings>, id| settings.and_then(|settings| settings.get(id)).cloned();
    let mut all = Vec::new();
    for id in SettingId::all() {
        let row = sheet.rows.iter().find(|row| row.setting == id);
        let (as_found, as_left) = (of(found.map(|found| &found.settings), id), of(left_with, id));
        if row.is_none() && as_found.is_none() && as_left.is_none() {
            continue;
        }
        let held = |known: Option<&Known>, holding: Option<&Holding<'_>>, moment: &str| {
            known.map(|known| RecordedValue {
                value: known.value.show(id),
                known_by: known.evidence.or(holding.and_then(|holding| holding.known_by)),
                photo: beside(work.root, [&sheet.name, moment, &id.to_string()], "photo"),
                read_from: beside(work.root, [&sheet.name, moment, &id.to_string()], "read-from"),
            })
        };
        all.push(SettingHeld {
            setting: id.to_string(),
            title: id.title(),
            required: row.map(|row| row.required.clone()),
            complies_within: row.map(|row| row.complies_within.clone()).filter(|within| !within.is_empty()),
            from: row.map(|row| row.origin.clone()).filter(|from| !from.is_empty()),
            basis: row.and_then(|row| row.standing),
            as_found: held(as_found.as_ref(), found, "as-found"),
            as_left: held(as_left.as_ref(), left, "as-left"),
            state: state(id, row, as_left.is_some(), result),
        });
    }
    all
}

fn state(id: SettingId, row: Option<&Row>, is_stated: bool, result: Option<&DeviceResult<'_>>) -> SettingState {
    let Some(result) = result else { return if row.is_some() { SettingState::NotProven } else { SettingState::NotRequired } };
    let of_fault = |kind: UnmetKind| match kind {
        UnmetKind::Fails => SettingState::DoesNotComply,
        UnmetKind::NotProven(_) => SettingState::NotProven,
        UnmetKind::SameResponse => SettingState::Complies,
    };
    let faults = result.faults.iter().filter(|fault| fault.setting == id).map(|fault| of_fault(fault.kind));
    let gravity = |state: &SettingState| {
        [SettingState::Complies, SettingState::NotProven, SettingState::DoesNotComply].iter().position(|s| s == state)
    };
    match (faults.max_by_key(gravity), row.map(|row| row.task)) {
        (Some(state), _) => state,
        (None, None) => SettingState::NotRequired,
        // whatever is stated, nobody saw what is asked
        (None, Some(Task::NotChecked)) => SettingState::NotChecked,
        (None, Some(_)) if is_stated => SettingState::Complies,
        (None, Some(Task::TypeTest)) => SettingState::ByTypeTest,
        (None, Some(_)) if result.region == RegionStands::Yes => SettingState::CoveredByRegion,
        (None, Some(_)) => SettingState::NotProven,
    }
}
