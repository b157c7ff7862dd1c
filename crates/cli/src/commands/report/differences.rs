//! Where this site is asked for something else than the base standard's region alone: by the network operator, or
//! by an approval for the site.

use super::Again;
use super::evidence::name;
use super::settings::told;
use crate::render::origins::Origins;
use paper::{Block, Column, Part, Row, Table, Weight, plain};
use record::{Device, Record};
use rules::assess::Assessor;
use rules::sheet::{DeviceSheet, Row as SheetRow, sheets};
use settings_model::catalogue::SettingId;
use settings_model::document::Node;
use settings_model::files::{SiteFile, Text};
use settings_model::library::Refusal;
use settings_model::reader;
use std::borrow::Cow;

/// The part; `None` where the site stands under a standard alone.
pub fn part(record: &Record, again: &mut Again) -> Option<Part> {
    if record.site.network.is_none() && record.approvals.is_empty() {
        return None;
    }
    let blocks = match again.at_hand() {
        None => vec![again.why_not()],
        Some((root, assessor)) => compared(record, root, assessor).unwrap_or_else(|_| vec![cannot_be_told()]),
    };
    Some(super::part("Where this differs from the base standard", blocks))
}

fn cannot_be_told() -> Block {
    let says = "What the base standard alone would ask of this site cannot be told.";
    Block::Notice(Weight::Mind, "No comparison".to_owned(), vec![plain(says)])
}

fn compared(record: &Record, root: &Node, assessor: &mut Assessor) -> Result<Vec<Block>, Refusal> {
    let (here, base) = both(record, root, assessor)?;
    let (mut blocks, mut origins) = (Vec::new(), Origins::default());
    for sheet in &here {
        let alone = base.iter().find(|other| other.name == sheet.name && other.kind == sheet.kind);
        let rows: Vec<Row> = SettingId::all().filter_map(|id| row(id, sheet, alone, &mut origins)).collect();
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
    blocks.extend(told(&origins));
    Ok(blocks)
}

fn columns() -> Vec<Column> {
    let columns = [("Setting", 38), ("The base standard", 34), ("Here", 34), ("From", 7)];
    columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec()
}

/// What is asked of the site, and what the base standards would ask of the same site by themselves.
fn both(record: &Record, root: &Node, assessor: &mut Assessor) -> Result<(Vec<DeviceSheet>, Vec<DeviceSheet>), Refusal> {
    let mut site: SiteFile<'_> = reader::typed(root).map_err(Refusal::Unusable)?;
    let facts = assessor.assess(&site).facts;
    let here = sheets(assessor, &site, &facts)?;
    let is_below = |key: &str, sheet: &DeviceSheet| key.split_once('/').is_some_and(|(standard, _)| standard == sheet.standard);
    let of_devices = |key: &&str| here.iter().any(|sheet| is_below(key, sheet));
    let keys: Vec<&str> = record.requirement.profiles.iter().filter_map(|pin| pin.profile.strip_prefix("standards/")).collect();
    let owned = |key: &str| Text(Cow::Owned(key.to_owned()));
    let standard = keys.iter().copied().find(of_devices).map(owned);
    let installation = keys.iter().copied().find(|key| !of_devices(key)).map(owned);
    (site.requirements.standard, site.requirements.installation) = (standard, installation);
    (site.network, site.requirements.overlay) = (None, None);
    site.site_specific_approvals.clear();
    let base = sheets(assessor, &site, &facts)?;
    Ok((here, base))
}

/// A setting of which something else is asked.
fn row(id: SettingId, here: &DeviceSheet, base: Option<&DeviceSheet>, origins: &mut Origins) -> Option<Row> {
    let of = |sheet: &DeviceSheet| sheet.rows.iter().find(|row| row.setting == id).cloned();
    let (here, base) = (of(here), base.and_then(of));
    let (one, other) = (here.as_ref().map(words), base.as_ref().map(words));
    if one == other {
        return None;
    }
    let says = |asked: Option<String>| plain(asked.unwrap_or_else(|| "not asked for".to_owned()));
    let origin = here.or(base).map(|row| row.origin).unwrap_or_default();
    Some(Row::Cells(vec![plain(id.title()), says(other), says(one), plain(origins.mark(&origin))]))
}

/// What is asked of a setting, in words.
fn words(row: &SheetRow) -> String {
    super::settings::asked(&row.required, &row.complies_within)
}
