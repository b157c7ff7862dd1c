//! The settings sheet of each device: required, found, left, how that is known, and what it came to.

use super::Again;
use super::evidence::{identity, name};
use crate::render::origins::Origins;
use paper::{Block, Column, Part, Row, Table, Text, plain};
use record::{Device, Record, RecordedValue, SettingHeld, SettingState};
use rules::sheet::BY_THE_REGION;
use settings_model::catalogue::Equipment;
use settings_model::claim::Evidence;

/// A part for each device, and one for the installation where anything is asked of it.
pub fn parts(record: &Record, again: &mut Again) -> Vec<Part> {
    record.devices.iter().filter(|device| !device.settings.is_empty()).map(|device| part(device, again)).collect()
}

fn part(device: &Device, again: &mut Again) -> Part {
    let mut origins = Origins::default();
    let is_whole = device.kind == Equipment::Installation;
    let rows = rows(device, is_whole, &mut origins);
    let mut blocks = Vec::new();
    let identity = identity(device, again);
    if !identity.is_empty() {
        blocks.push(Block::Facts(identity));
    }
    let table = Table { caption: format!("Settings of {}", device.name), columns: columns(is_whole), rows };
    blocks.push(Block::Table(table));
    blocks.extend(told(&origins));
    Part { title: format!("Settings sheet: {}", name(device)), starts_page: !is_whole, blocks }
}

/// The list of origins below a table.
pub fn told(origins: &Origins) -> Vec<Block> {
    let facts: Vec<(String, Text)> = origins.all().enumerate().map(|(n, origin)| (format!("[{}]", n + 1), plain(origin))).collect();
    if facts.is_empty() { Vec::new() } else { vec![Block::Heading("Who asks, and how sure the figure is".to_owned()), Block::Facts(facts)] }
}

/// The columns: an installation is found as it is, by adding up and working out.
fn columns(is_whole: bool) -> Vec<Column> {
    let columns: &[(&str, u16)] = match is_whole {
        true => &[("Setting", 38), ("Has to be", 28), ("Is", 25), ("Came to", 21), ("From", 7)],
        false => &[("Setting", 24), ("Has to be", 24), ("As found", 17), ("As left", 19), ("Known", 13), ("Came to", 17), ("From", 7)],
    };
    columns.iter().map(|(title, share)| Column { title: (*title).to_owned(), share: *share }).collect()
}

/// The rows, function by function.
fn rows(device: &Device, is_whole: bool, origins: &mut Origins) -> Vec<Row> {
    let (mut rows, mut group) = (Vec::new(), "");
    for held in &device.settings {
        // `Undervoltage, stage 1: trip delay`
        let (function, parameter) = held.title.split_once(": ").unwrap_or(("", &held.title));
        if function != group {
            rows.push(Row::Group(function.to_owned()));
            group = function;
        }
        let found = [plain(value(held.as_found.as_ref()))].into_iter().filter(|_| !is_whole);
        let known = [plain(known(held))].into_iter().filter(|_| !is_whole);
        let cells = [plain(parameter), required(held)].into_iter().chain(found).chain([plain(value(held.as_left.as_ref()))]).chain(known);
        let cells = cells.chain([
            plain(words(held.state)),
            plain(held.from.as_ref().map_or_else(|| "-".to_owned(), |origin| origins.mark(&origin_of(held, origin)))),
        ]);
        let cells = cells.collect();
        rows.push(match held.state {
            SettingState::DoesNotComply | SettingState::NotProven => Row::Marked(cells),
            _ => Row::Cells(cells),
        });
    }
    rows
}

/// What has to be set, and what else complies.
fn required(held: &SettingHeld) -> Text {
    let says = held.required.as_ref().map(|required| asked(required, held.complies_within.as_deref().unwrap_or_default()));
    says.map_or_else(|| plain("-"), plain)
}

/// What is asked, in words: the value to set, and what else complies where that does not say it already.
pub fn asked(required: &str, within: &str) -> String {
    match within {
        "" => required.to_owned(),
        // `5 kW` and `at most 5 kW`; `by the region` and `1 s to under 2 s`
        within if within.contains(required) || required == BY_THE_REGION => within.to_owned(),
        within => format!("{required}; complies: {within}"),
    }
}

fn value(held: Option<&RecordedValue>) -> &str {
    held.map_or("-", |held| &held.value)
}

/// How the value that counts is known: as left, or where nothing was left, as found.
fn known(held: &SettingHeld) -> String {
    let Some(held) = held.as_left.as_ref().or(held.as_found.as_ref()) else { return "-".to_owned() };
    let by = held.known_by.map_or("-", Evidence::word);
    let beside = held.photo.as_ref().or(held.read_from.as_ref());
    beside.map_or_else(|| by.to_owned(), |beside| format!("{by} {beside}"))
}

/// What a setting came to, in print; what is not as it should be stands out by its letters too.
pub fn words(state: SettingState) -> &'static str {
    match state {
        SettingState::Complies => "as required",
        SettingState::CoveredByRegion => "by the region",
        SettingState::ByTypeTest => "by type test",
        SettingState::NotChecked => "not checked",
        SettingState::NotProven => "NOT PROVEN",
        SettingState::DoesNotComply => "DOES NOT COMPLY",
        SettingState::NotRequired => "not asked for",
    }
}

/// `AS/NZS 4777.2:2020 Amd 2, Australia A (from memory, unverified)` says already how sure it is; what does not is
/// told.
fn origin_of(held: &SettingHeld, origin: &str) -> String {
    match held.basis {
        Some(basis) if !origin.ends_with(')') => format!("{origin} ({})", basis.column()),
        _ => origin.to_owned(),
    }
}
