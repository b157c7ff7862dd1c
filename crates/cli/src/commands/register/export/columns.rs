//! What an operator's columns say of a record.

use record::register::Entry;
use record::seal::Sealed;
use record::{Device, Record, canonical};
use settings_model::catalogue::Equipment;
use settings_model::files::{ExportColumn, ExportField, ExportMapFile, RowsOf};

/// The rows of a record.
pub fn rows(map: &ExportMapFile, entry: &Entry, record: &Record) -> Vec<Vec<String>> {
    let row = |device: Option<&Device>| map.columns.iter().map(|column| cell(column, entry, record, device)).collect();
    match map.rows {
        RowsOf::Site => vec![row(None)],
        // what devices add up to is none
        RowsOf::Device => {
            record.devices.iter().filter(|device| device.kind != Equipment::Installation).map(|device| row(Some(device))).collect()
        }
    }
}

fn cell(column: &ExportColumn, entry: &Entry, record: &Record, device: Option<&Device>) -> String {
    let value = match (&column.is, &column.setting, &column.always) {
        (Some(field), ..) => of_field(*field, entry, record, device),
        (None, Some(setting), _) => device.and_then(|device| left_with(device, setting)),
        (None, None, always) => always.clone(),
    };
    let value = value.unwrap_or_default();
    let value = column.words.get(&value).cloned().unwrap_or(value);
    match column.without_unit {
        true => value.split_once(' ').map_or(value.clone(), |(number, _)| number.to_owned()),
        false => value,
    }
}

fn left_with(device: &Device, setting: &str) -> Option<String> {
    device.settings.iter().find(|held| held.setting == setting)?.as_left.as_ref().map(|held| held.value.clone())
}

fn of_field(field: ExportField, entry: &Entry, record: &Record, device: Option<&Device>) -> Option<String> {
    let (site, work) = (&record.site, record.work.as_ref());
    match field {
        ExportField::Site => Some(site.name.clone()),
        ExportField::Network => site.network.clone(),
        ExportField::ConnectionPoint => site.supply.connection_point.clone(),
        ExportField::Company => site.answerable.company.clone(),
        ExportField::Branch => site.answerable.branch.clone(),
        ExportField::Crew => site.answerable.crew.clone(),
        ExportField::AsOf => Some(record.made.as_of.clone()),
        ExportField::Verdict => Some(record.verdict.outcome.phrase().replace(' ', "-")),
        ExportField::Headline => Some(record.verdict.headline.clone()),
        ExportField::Region => Some(record.requirement.region.clone()),
        ExportField::Under => Some(record.requirement.under.clone()),
        ExportField::Applied => site.dates.applied.clone(),
        ExportField::Approved => site.dates.approved.clone(),
        ExportField::Installed => site.dates.installed.clone(),
        ExportField::Altered => site.dates.altered.clone(),
        ExportField::Phases => site.supply.phases.map(|phases| phases.to_string()),
        ExportField::ExportKind => site.export.as_ref().map(|export| export.kind.clone()),
        ExportField::ExportApproved => site.export.as_ref()?.approved.clone(),
        ExportField::ExportReference => site.export.as_ref()?.reference.clone(),
        ExportField::Licence => work?.licence.clone(),
        ExportField::WorkCertificate => work?.certificate.clone(),
        ExportField::WorkDate => work.map(|work| work.date.clone()),
        ExportField::Entry => Some(entry.number.to_string()),
        ExportField::Record => Some(canonical::hex(&entry.record_sha256)),
        ExportField::SealedBy => Some(sealed_by(entry)),
        ExportField::Device => device.map(|device| device.name.clone()),
        ExportField::DeviceKind => device.map(|device| device.kind.word().to_owned()),
        ExportField::Model => device?.model.clone(),
        ExportField::Serial => device?.serial.clone(),
        ExportField::Firmware => device?.firmware.clone(),
        ExportField::Nameplate => device?.nameplate.clone(),
        ExportField::CertifiedTo => device?.certified.as_ref()?.to.clone(),
        ExportField::Certificate => device?.certified.as_ref()?.certificate.clone(),
        ExportField::CertificateExpires => device?.certified.as_ref()?.expires.clone(),
        ExportField::RegionSelected => device?.as_left.as_ref()?.region_selected.clone(),
    }
}

fn sealed_by(entry: &Entry) -> String {
    let keys = entry.signatures.iter().filter_map(|one| one.holds(Sealed::Record, &entry.record_sha256).ok());
    keys.map(|key| key.fingerprint()).collect::<Vec<_>>().join(" ")
}
