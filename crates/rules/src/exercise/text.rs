//! A site's tree as a person would write its file.
//!
//! What a fault touched must not show in the order of things: keys of a site and of a device come in one order,
//! settings in that of the catalogue.

use serde_json::{Map, Value as Json};
use settings_model::catalogue::SettingId;
use std::fmt::Write as _;

/// The width that a group on one line must keep to.
const WIDTH: usize = 100;

const SITE_KEYS: [&str; 11] =
    ["kind", "site", "training", "network", "requirements", "dates", "work", "supply", "export", "answerable", "installation"];

const DEVICE_KEYS: [&str; 16] = [
    "kind",
    "certified",
    "stands-under",
    "source",
    "nameplate",
    "rated-power",
    "limited-to",
    "phases",
    "on-phase",
    "installed",
    "model",
    "serial",
    "firmware",
    "labels",
    "as-found",
    "as-left",
];

const HOLDING_KEYS: [&str; 5] = ["date", "role", "known-by", "region-selected", "region-photo"];

/// The file of a site.
#[must_use]
pub fn of_site(site: &Json) -> String {
    let mut text = String::new();
    for (key, value) in in_order(site, &SITE_KEYS) {
        match (key, value) {
            ("devices", Json::Object(devices)) => {
                text.push_str("devices:\n");
                devices.iter().for_each(|(name, device)| write_device(&mut text, name, device));
            }
            _ => write_entry(&mut text, 0, key, value),
        }
    }
    text
}

fn write_device(text: &mut String, name: &str, device: &Json) {
    let _ = writeln!(text, "  {}:", scalar(name));
    for (key, value) in in_order(device, &DEVICE_KEYS) {
        if !matches!(key, "as-found" | "as-left") {
            write_entry(text, 4, key, value);
            continue;
        }
        let _ = writeln!(text, "    {key}:");
        for (key, value) in in_order(value, &HOLDING_KEYS) {
            match (key, value) {
                ("settings", Json::Object(settings)) if !settings.is_empty() => {
                    text.push_str("      settings:\n");
                    by_catalogue(settings).iter().for_each(|(function, stated)| write_entry(text, 8, function, stated));
                }
                _ => write_entry(text, 6, key, value),
            }
        }
    }
}

/// The entries of a group, those of the list first and in its order.
fn in_order<'j>(group: &'j Json, keys: &[&str]) -> Vec<(&'j str, &'j Json)> {
    let mut entries: Vec<_> = group.as_object().into_iter().flatten().map(|(key, value)| (key.as_str(), value)).collect();
    entries.sort_by_key(|(key, _)| keys.iter().position(|known| known == key).unwrap_or(keys.len()));
    entries
}

/// Functions and their settings in the order of the catalogue.
fn by_catalogue(settings: &Map<String, Json>) -> Vec<(&str, Json)> {
    let first_of = |function: &str| SettingId::of_function(function).map_or(usize::MAX, SettingId::index);
    let mut functions: Vec<(&str, Json)> = settings
        .iter()
        .map(|(function, stated)| {
            let place = |key: &str| SettingId::find(function, key).map_or(usize::MAX, SettingId::index);
            let mut stated: Vec<(String, Json)> = stated.as_object().cloned().unwrap_or_default().into_iter().collect();
            stated.sort_by_key(|(key, _)| place(key));
            (function.as_str(), Json::Object(stated.into_iter().collect()))
        })
        .collect();
    functions.sort_by_key(|(function, _)| first_of(function));
    functions
}

fn write_entry(text: &mut String, indent: usize, key: &str, value: &Json) {
    let on_one_line = flow(value);
    let fits = indent + key.len() + 2 + on_one_line.chars().count() <= WIDTH;
    let _ = match value {
        Json::Array(items) if !fits || items.iter().any(Json::is_object) => {
            let _ = writeln!(text, "{:indent$}{}:", "", scalar(key));
            return items.iter().for_each(|item| write_item(text, indent + 2, item));
        }
        Json::Object(group) if !fits => {
            let _ = writeln!(text, "{:indent$}{}:", "", scalar(key));
            return group.iter().for_each(|(key, value)| write_entry(text, indent + 2, key, value));
        }
        _ => writeln!(text, "{:indent$}{}: {on_one_line}", "", scalar(key)),
    };
}

/// An item of a list: a group over several lines, anything else on one.
fn write_item(text: &mut String, indent: usize, item: &Json) {
    let Json::Object(group) = item else {
        let _ = writeln!(text, "{:indent$}- {}", "", flow(item));
        return;
    };
    let mut lines = String::new();
    group.iter().for_each(|(key, value)| write_entry(&mut lines, indent + 2, key, value));
    lines.replace_range(indent..indent + 1, "-");
    text.push_str(&lines);
}

/// A value on one line.
fn flow(value: &Json) -> String {
    match value {
        Json::String(text) => scalar(text),
        Json::Array(items) => format!("[{}]", items.iter().map(flow).collect::<Vec<_>>().join(", ")),
        Json::Object(group) if group.is_empty() => "{}".to_owned(),
        Json::Object(group) => {
            let entries: Vec<String> = group.iter().map(|(key, value)| format!("{}: {}", scalar(key), flow(value))).collect();
            format!("{{ {} }}", entries.join(", "))
        }
        Json::Null | Json::Bool(_) | Json::Number(_) => value.to_string(),
    }
}

/// Text without quotes where it reads as itself, and in the quotes of JSON, which are those of YAML, where not.
#[must_use]
pub fn scalar(text: &str) -> String {
    let begins_plainly = text.starts_with(|c: char| c.is_ascii_alphanumeric())
        || text.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    let plain = |c: char| c.is_alphanumeric() || " .-/%+_()^=<>~".contains(c);
    let means_something_else =
        matches!(text, "true" | "false" | "null" | "True" | "False" | "Null" | "TRUE" | "FALSE" | "NULL") || is_number(text);
    if begins_plainly && text.chars().all(plain) && !text.ends_with(' ') && !means_something_else {
        return text.to_owned();
    }
    Json::String(text.to_owned()).to_string()
}

/// Whether a reader of YAML may take it for a number.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text).replace('_', "");
    let is_of_base = |mark: &str| digits.to_lowercase().starts_with(mark);
    digits.starts_with(|c: char| c.is_ascii_digit()) && (digits.parse::<f64>().is_ok() || is_of_base("0x") || is_of_base("0o"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::document::parse;
    use settings_model::source::SourceId;

    #[test]
    fn what_is_written_reads_back_as_it_was() {
        let words = [
            "265 V",
            "-60 %",
            "x: y",
            "a #b",
            "true",
            "12",
            "1e5",
            "0012",
            "E-70592",
            "3.5.11",
            "1_000",
            "1:30",
            "-5",
            "-0x1",
            "5.",
            "~",
            "y",
            "nan",
            "2026-02-03",
            "=2.0.0",
            "^2",
            "L1",
            "off",
            "quo\"te",
            "-",
            "- a",
            "näh",
            "{",
            "a, b",
            "tab\there",
            "two\nlines",
            " led",
            "trailing ",
            "0x1F",
            "*a",
            "&a",
            "!t",
            "%d",
            "@",
            "`",
        ];
        let site = serde_json::json!({
            "site": words[0],
            "list": words.to_vec(),
            "training": { "exercise": "a" },
            "devices": { "shed": { "as-left": { "settings": { "volt-var": { "points": [["1 V", "2 %"]] } } }, "model": words[2] } },
            "kind": words.iter().map(|word| serde_json::json!({ *word: *word, "n": 3 })).collect::<Vec<_>>(),
        });
        let text = of_site(&site);
        let mut findings = Vec::new();
        let read = parse(SourceId(0), &text, &mut findings).map(|root| root.to_json());
        assert_eq!((read.as_ref(), findings.len()), (Some(&site), 0), "{text}\n{findings:?}");
    }
}
