//! Where this site is asked for something else than the base standard's region alone: by the network operator, or
//! by an approval for the site.

use super::Again;
use super::evidence::name;
use paper::{Block, Column, Part, Row, Table, plain};
use record::{Device, Record};
use rules::sheet::{DeviceSheet, Row as Asked, sheets};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::files::{SiteFile, Text};
use settings_model::library::Refusal;
use settings_model::reader;
use std::borrow::Cow;

/// The part; `None` where the site stands under a standard alone.
pub fn part(record: &Record, again: &mut Again) -> Option<Part> {
    if record.site.network.is_none() && record.approvals.is_empty() {
        return None;
    }
    let blocks = match again.why_not() {
        Some(notice) => vec![notice],
        None => told(record, again)?,
    };
    Some(super::part("Where more is asked than by the base standard", blocks))
}

fn told(record: &Record, again: &mut Again) -> Option<Vec<Block>> {
    let (here, base) = both(again).ok()?;
    let mut blocks = Vec::new();
    for sheet in &here {
        let alone = base.iter().find(|other| other.name == sheet.name && other.kind == sheet.kind);
        let rows: Vec<Row> = SettingId::all().filter_map(|id| row(id, sheet, alone)).collect();
        if rows.is_empty() {
            continue;
        }
        let device = record.devices.iter().find(|device| device.name == sheet.name);
        blocks.push(Block::Heading(device.map_or_else(|| sheet.name.clone(), |device: &Device| name(device))));
        let caption = format!("{}: what the base standard asks, and what is asked here", sheet.name);
        blocks.push(Block::Table(Table { caption, columns: columns(), rows }));
    }
    if blocks.is_empty() {
        blocks.push(Block::Words(plain("Nothing: what is asked here is what the base standard's region asks.")));
    }
    Some(blocks)
}

fn columns() -> Vec<Column> {
    let columns = [("Setting", 26), ("The base standard", 26), ("Here", 26), ("Who asks for it here", 36)];
    columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec()
}

/// What is asked of the site, and what the base standards would ask of the same site by themselves.
fn both(again: &mut Again) -> Result<(Vec<DeviceSheet>, Vec<DeviceSheet>), Refusal> {
    let mut site: SiteFile<'_> = reader::typed(&again.root).map_err(Refusal::Unusable)?;
    let facts = again.assessor.assess(&site).facts;
    let here = sheets(&mut again.assessor, &site, &facts)?;
    let standard = |is_whole: bool| {
        let of = |sheet: &&DeviceSheet| (sheet.kind == Equipment::Installation) == is_whole;
        here.iter().find(of).map(|sheet| Text(Cow::Owned(sheet.standard.clone())))
    };
    (site.requirements.standard, site.requirements.installation) = (standard(false), standard(true));
    (site.network, site.requirements.overlay) = (None, None);
    site.site_specific_approvals.clear();
    let base = sheets(&mut again.assessor, &site, &facts)?;
    Ok((here, base))
}

/// A setting of which something else is asked.
fn row(id: SettingId, here: &DeviceSheet, base: Option<&DeviceSheet>) -> Option<Row> {
    let of = |sheet: &DeviceSheet| sheet.rows.iter().find(|row| row.setting == id).cloned();
    let (here, base) = (of(here), base.and_then(of));
    let (one, other) = (here.as_ref().map(asked), base.as_ref().map(asked));
    if one == other {
        return None;
    }
    let says = |asked: Option<String>| plain(asked.unwrap_or_else(|| "not asked for".to_owned()));
    let origin = here.or(base).map(|row| row.origin).unwrap_or_default();
    Some(Row::Cells(vec![plain(id.title()), says(other), says(one), plain(origin)]))
}

/// What is asked of a setting, in words.
fn asked(row: &Asked) -> String {
    match (row.required.as_str(), row.complies_within.as_str()) {
        (required, within) if required == within || within.is_empty() => required.to_owned(),
        (_, within) if row.set.is_none() => within.to_owned(),
        (required, within) => format!("{required}; complies within {within}"),
    }
}
