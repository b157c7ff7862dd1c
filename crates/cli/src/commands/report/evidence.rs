//! Which devices, photos and instruments; approvals; what has to be told to whom.

use super::Again;
use crate::commands::close_out::people::found;
use crate::render::capitalised;
use paper::{Block, Column, Part, Row, Table, Text, plain};
use record::{Device, Found, Record};
use settings_model::catalogue::Equipment;

/// The parts, as far as there is anything to say.
pub fn parts(record: &Record) -> Vec<Part> {
    let all = [
        ("Approvals for this site", approvals(record)),
        ("Photos", photos(record)),
        ("Instruments", instruments(record)),
        ("To be told to others", registrations(record)),
        ("The site", site(record)),
    ];
    all.into_iter().filter_map(|(title, blocks)| (!blocks.is_empty()).then(|| super::part(title, blocks))).collect()
}

/// `inverter-1 (inverter)`.
pub fn name(device: &Device) -> String {
    if device.kind == Equipment::Installation { device.name.clone() } else { format!("{} ({})", device.name, kind(device).to_lowercase()) }
}

/// What kind of device it is, in print.
pub fn kind(device: &Device) -> &'static str {
    match device.kind {
        Equipment::Inverter => "Inverter",
        Equipment::GridProtectionRelay => "Grid protection relay",
        Equipment::Installation => "Installation",
    }
}

/// What identifies a device, and when it was looked at.
pub fn identity(device: &Device, again: &mut Again) -> Vec<(String, Text)> {
    let mut facts = Vec::new();
    let mut add = |name: &str, says: Option<String>| facts.extend(says.map(|says| (name.to_owned(), plain(says))));
    add("Model", device.model.clone());
    add("Serial number", device.serial.clone());
    add("Firmware", device.firmware.clone());
    add("Rated apparent power", device.nameplate.clone());
    if let Some(certified) = &device.certified {
        add("Certified to", certified.to.as_deref().map(|standard| again.title_of(standard)));
        let until = certified.expires.as_ref().map_or_else(String::new, |day| format!(", until {day}"));
        add("Certificate", certified.certificate.as_ref().map(|number| format!("{number}{until}")));
    }
    if device.kind != Equipment::Installation {
        add("Stands under", Some(device.under.clone()));
    }
    for (when, moment) in [("As found", &device.as_found), ("As left", &device.as_left)] {
        let Some(moment) = moment else { continue };
        let region = moment.region_selected.as_ref().map(|region| format!("region selected: {region}"));
        let photo = moment.region_photo.as_ref().map(|photo| format!("photo {photo}"));
        let says: Vec<String> = [moment.date.clone(), moment.role.clone(), region, photo].into_iter().flatten().collect();
        add(when, (!says.is_empty()).then(|| says.join(", ")));
    }
    facts
}

fn approvals(record: &Record) -> Vec<Block> {
    let each = record.approvals.iter().map(|approval| {
        let until = approval.until.as_ref().map_or_else(|| "without an end".to_owned(), |day| format!("until {day}"));
        let says = format!("{}: {}, by the {}, granted {}, {until}", approval.setting, approval.asks, approval.role, approval.granted);
        (approval.reference.clone(), plain(says))
    });
    let facts: Vec<_> = each.collect();
    if facts.is_empty() { Vec::new() } else { vec![Block::Facts(facts)] }
}

fn photos(record: &Record) -> Vec<Block> {
    if record.photos.is_empty() {
        return Vec::new();
    }
    let columns = [("Photo", 10), ("File", 22), ("Is", 14), ("Is to show", 40), ("SHA-256 of the file", 38)];
    let rows = record.photos.iter().map(|photo| {
        let cells = vec![
            plain(&photo.name),
            plain(photo.file.as_deref().unwrap_or("-")),
            plain(found(photo.found)),
            plain(if photo.proves.is_empty() { "-".to_owned() } else { photo.proves.join("; ") }),
            photo.sha256.as_ref().map_or_else(|| plain("-"), |hash| vec![paper::Run::Code(hash.clone())]),
        ];
        if photo.found == Found::There { Row::Cells(cells) } else { Row::Marked(cells) }
    });
    let columns = columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec();
    vec![Block::Table(Table { caption: "Photos, and what each must show".to_owned(), columns, rows: rows.collect() })]
}

fn instruments(record: &Record) -> Vec<Block> {
    let each = record.instruments.iter().map(|one| {
        let serial = one.serial.as_ref().map(|serial| format!("serial {serial}"));
        let calibrated = one.calibrated.as_ref().map(|day| format!("calibrated {day}"));
        let ends = one.calibration_ends.as_ref().map(|day| format!("until {day}"));
        let says: Vec<String> = [Some(one.what.clone()), serial, calibrated, ends].into_iter().flatten().collect();
        (one.name.clone(), plain(says.join(", ")))
    });
    let facts: Vec<_> = each.collect();
    if facts.is_empty() { Vec::new() } else { vec![Block::Facts(facts)] }
}

fn registrations(record: &Record) -> Vec<Block> {
    let each = record.registrations.iter().map(|entry| {
        let reference = entry.reference.as_ref().map_or_else(String::new, |reference| format!(", reference {reference}"));
        plain(format!("{}, to {}: {}{reference}", capitalised(&entry.what), entry.to, entry.stands(&record.made.as_of)))
    });
    let points: Vec<Text> = each.collect();
    if points.is_empty() { Vec::new() } else { vec![Block::List(points)] }
}

fn site(record: &Record) -> Vec<Block> {
    let (site, mut facts) = (&record.site, Vec::new());
    let mut add = |name: &str, says: Option<String>| facts.extend(says.map(|says| (name.to_owned(), plain(says))));
    add("Site", Some(site.name.clone()));
    add("Connection point", site.supply.connection_point.clone());
    let phases = site.supply.phases.map(|phases| if phases == 1 { "1 phase".to_owned() } else { format!("{phases} phases") });
    let supply: Vec<String> = [phases, site.supply.nominal.clone()].into_iter().flatten().collect();
    add("Supply", (!supply.is_empty()).then(|| supply.join(", ")));
    let dates = &site.dates;
    let dates = [
        ("applied", &dates.applied),
        ("approved", &dates.approved),
        ("approval holds until", &dates.approved_until),
        ("installed", &dates.installed),
        ("altered", &dates.altered),
    ];
    let dates: Vec<String> = dates.iter().filter_map(|(what, day)| Some(format!("{what} {}", day.as_ref()?))).collect();
    add("Dates", (!dates.is_empty()).then(|| dates.join(", ")));
    add("Kind of work", site.work.clone());
    add("Exempted", site.exemption.as_ref().map(|exemption| format!("{}, reference {}", exemption.reason, exemption.reference)));
    if let Some(export) = &site.export {
        let approved = export.approved.as_ref().map(|power| format!("approved {power}"));
        let reference = export.reference.as_ref().map(|reference| format!("reference {reference}"));
        add("Export", Some([Some(export.kind.clone()), approved, reference].into_iter().flatten().collect::<Vec<_>>().join(", ")));
    }
    let answers = &site.answerable;
    let answers: Vec<String> = [&answers.company, &answers.branch, &answers.crew].into_iter().flatten().cloned().collect();
    add("Who answers for it", (!answers.is_empty()).then(|| answers.join(", ")));
    if let Some(work) = &record.work {
        let numbers = [("licence", &work.licence), ("accreditation", &work.accreditation), ("certificate", &work.certificate)];
        let numbers = numbers.iter().filter_map(|(what, number)| Some(format!(", {what} {}", number.as_ref()?)));
        add("Work", Some(format!("{}, ended {}{}", work.role, work.date, numbers.collect::<String>())));
    }
    vec![Block::Facts(facts)]
}
