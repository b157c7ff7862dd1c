//! The settings sheet of each device: required, found, left, how that is known, and what it came to.

use super::evidence::{basis, identity, name};
use paper::{Block, Column, Part, Row, Run, Table, Text, plain};
use record::{Device, Held, Record, SettingHeld, SettingState};

/// A part for each device, and one for the installation where anything is asked of it.
pub fn parts(record: &Record) -> Vec<Part> {
    record.devices.iter().filter(|device| !device.settings.is_empty()).map(part).collect()
}

fn part(device: &Device) -> Part {
    let mut from = Vec::new();
    let rows = rows(device, &mut from);
    let mut blocks = Vec::new();
    let identity = identity(device);
    if !identity.is_empty() {
        blocks.push(Block::Facts(identity));
    }
    let table = Table { caption: format!("Settings of {}", device.name), columns: columns(device), rows };
    blocks.push(Block::Table(table));
    if !from.is_empty() {
        blocks.push(Block::Heading("Who asks, and how sure the figure is".to_owned()));
        blocks.push(Block::Facts(from.iter().enumerate().map(|(n, from)| (format!("[{}]", n + 1), plain(from))).collect()));
    }
    Part { title: format!("Settings sheet: {}", name(device)), starts_page: device.kind != "installation", blocks }
}

fn columns(device: &Device) -> Vec<Column> {
    let last = if device.kind == "installation" { "Is" } else { "As left" };
    let columns = [("Setting", 24), ("Has to be", 24), ("As found", 17), (last, 19), ("Known", 13), ("Came to", 16), ("From", 7)];
    columns.map(|(title, share)| Column { title: title.to_owned(), share }).to_vec()
}

/// The rows, function by function.
fn rows(device: &Device, from: &mut Vec<String>) -> Vec<Row> {
    let (mut rows, mut group) = (Vec::new(), "");
    for held in &device.settings {
        // `Undervoltage, stage 1: trip delay`
        let (function, parameter) = held.title.split_once(": ").unwrap_or(("", &held.title));
        if function != group {
            rows.push(Row::Group(function.to_owned()));
            group = function;
        }
        let cells = vec![
            plain(parameter),
            required(held),
            plain(value(held.as_found.as_ref())),
            plain(value(held.as_left.as_ref())),
            plain(known(held)),
            plain(words(held.state)),
            plain(held.from.as_ref().map_or_else(String::new, |origin| number(from, &origin_of(held, origin)))),
        ];
        rows.push(match held.state {
            SettingState::DoesNotComply | SettingState::NotProven => Row::Marked(cells),
            _ => Row::Cells(cells),
        });
    }
    rows
}

/// What has to be set, and what else complies.
fn required(held: &SettingHeld) -> Text {
    let (Some(required), within) = (&held.required, held.complies_within.as_deref().unwrap_or_default()) else { return Text::new() };
    match within {
        "" => plain(required),
        within if within == required => plain(required),
        within if required.is_empty() || required == "by the region" => plain(within),
        within => vec![Run::Plain(format!("{required}; {within}"))],
    }
}

fn value(held: Option<&Held>) -> &str {
    held.map_or("-", |held| &held.value)
}

/// How the value that counts is known: as left, or where nothing was left, as found.
fn known(held: &SettingHeld) -> String {
    let Some(held) = held.as_left.as_ref().or(held.as_found.as_ref()) else { return "-".to_owned() };
    let by = held.known_by.as_deref().unwrap_or("-");
    held.photo.as_ref().map_or_else(|| by.to_owned(), |photo| format!("{by} {photo}"))
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
    match held.basis.as_deref() {
        Some(word) if !origin.ends_with(')') => format!("{origin} ({})", basis(word)),
        _ => origin.to_owned(),
    }
}

/// The number of an origin in the list below the table.
fn number(all: &mut Vec<String>, origin: &str) -> String {
    let known = all.iter().position(|known| known == origin);
    let at = known.unwrap_or_else(|| {
        all.push(origin.to_owned());
        all.len() - 1
    });
    format!("[{}]", at + 1)
}
