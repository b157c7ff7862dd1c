//! One site in many forms: block and flow of YAML, JSON, a line of JSON, a filled sheet.

use super::chance::Chance;
use super::quantities::digits;
use rules::assess::Assessor;
use rules::filled_sheet::FilledSheet;
use rules::provenance::Verdict;
use rules::wording;
use serde_json::{Map, Value as Json, json};
use settings_model::files::SiteFile;
use settings_model::places::JsonLine;
use settings_model::reader;

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    Yaml,
    Json,
    Line,
    Sheet,
}

pub const FORMS: [Form; 4] = [Form::Yaml, Form::Json, Form::Line, Form::Sheet];

/// Verdict, and the names and settings of all findings.
pub type CameTo = (Verdict, Vec<String>);

pub fn said(verdict: Verdict, findings: &[settings_model::finding::Finding]) -> CameTo {
    let name = |finding: &settings_model::finding::Finding| format!("{} {}", finding.name, finding.setting.as_deref().unwrap_or_default());
    let mut names: Vec<String> = findings.iter().map(name).collect();
    names.sort();
    // a fault in a file is told where it is first seen: points out of order in one unit when it is read, in two at the site
    if verdict == Verdict::CouldNotTell {
        names.clear();
    }
    (verdict, names)
}

pub fn judged(text: &str, sheet: Option<&FilledSheet>, assessor: &mut Assessor) -> CameTo {
    let source = assessor.sources.add("site", text);
    let came_to = match assessor.read_site_with(source, text, sheet) {
        Err(findings) => said(Verdict::CouldNotTell, &findings),
        Ok(root) => match reader::typed::<SiteFile<'_>>(&root) {
            Err(findings) => said(Verdict::CouldNotTell, &findings),
            Ok(site) => {
                let assessment = assessor.assess(&site);
                said(assessment.verdict, &wording::findings(&assessment, &root))
            }
        },
    };
    forget(source, assessor);
    came_to
}

/// Texts are given back, but for profiles that were read after them.
pub fn forget(source: settings_model::source::SourceId, assessor: &mut Assessor) {
    if (source.0 as usize) + 1 == assessor.sources.len() {
        assessor.sources.forget_after(source.0 as usize);
    }
}

/// As a line among many, read straight into its type where that is enough.
pub fn judged_line(text: &str, assessor: &mut Assessor) -> CameTo {
    match SiteFile::of_line(text) {
        None => judged(text, None, assessor),
        Some(site) => {
            let assessment = assessor.assess(&site);
            let source = assessor.sources.add("line", text);
            let came_to = said(assessment.verdict, &wording::findings(&assessment, &JsonLine { source, text }));
            forget(source, assessor);
            came_to
        }
    }
}

pub fn in_form(site: &Json, form: Form, chance: &mut Chance, assessor: &mut Assessor) -> Option<CameTo> {
    Some(match form {
        Form::Yaml => judged(&yaml(site, chance), None, assessor),
        Form::Json => judged(&written(site, chance, true), None, assessor),
        Form::Line => judged_line(&written(site, chance, false), assessor),
        Form::Sheet => {
            let (site, text) = sheet(site, chance)?;
            let sheet = FilledSheet::new(("sheet.csv", text.as_str()), None, &mut assessor.sources).unwrap();
            judged(&yaml(&site, chance), Some(&sheet), assessor)
        }
    })
}

/// The entries of a map in another order. What is told of a device by its place stays: devices, and points.
pub fn entries<'j>(map: &'j Map<String, Json>, chance: &mut Chance) -> Vec<(&'j String, &'j Json)> {
    let in_order = map.iter().collect();
    let is_device = |value: &Json| ["as-left", "as-found", "certified", "nameplate", "source"].iter().any(|key| value.get(key).is_some());
    let is_of_names = map.values().all(is_device);
    if is_of_names { in_order } else { chance.shuffled(in_order) }
}

pub fn written(json: &Json, chance: &mut Chance, spaced: bool) -> String {
    let space = |chance: &mut Chance| if spaced { *chance.of_these(&["", " ", "\n  "]) } else { "" };
    match json {
        Json::Object(map) => {
            let parts: Vec<String> = entries(map, chance)
                .into_iter()
                .map(|(key, value)| format!("{}{}:{}{}", space(chance), json!(key), space(chance), written(value, chance, spaced)))
                .collect();
            format!("{{{}{}}}", parts.join(","), space(chance))
        }
        Json::Array(items) => {
            let parts: Vec<String> = items.iter().map(|item| format!("{}{}", space(chance), written(item, chance, spaced))).collect();
            format!("[{}]", parts.join(","))
        }
        plain => plain.to_string(),
    }
}

pub fn yaml(site: &Json, chance: &mut Chance) -> String {
    let mut out = String::new();
    block(site, 0, chance, &mut out);
    out
}

pub fn block(json: &Json, depth: usize, chance: &mut Chance, out: &mut String) {
    let Json::Object(map) = json else { unreachable!("only maps stand in blocks") };
    for (key, value) in entries(map, chance) {
        out.push_str(&" ".repeat(depth * 2));
        out.push_str(&scalar(key, chance));
        out.push(':');
        match value {
            Json::Object(inner) if !inner.is_empty() && (depth < 4 || chance.one_in(2)) => {
                out.push_str(if chance.one_in(4) { " # a remark\n" } else { "\n" });
                block(value, depth + 1, chance, out);
            }
            _ => {
                out.push(' ');
                flow(value, chance, out);
                out.push('\n');
            }
        }
    }
}

pub fn flow(json: &Json, chance: &mut Chance, out: &mut String) {
    match json {
        Json::Object(map) => {
            out.push('{');
            for (n, (key, value)) in entries(map, chance).into_iter().enumerate() {
                out.push_str(if n > 0 { ", " } else { " " });
                out.push_str(&scalar(key, chance));
                out.push_str(": ");
                flow(value, chance, out);
            }
            out.push_str(" }");
        }
        Json::Array(items) => {
            out.push('[');
            for (n, item) in items.iter().enumerate() {
                out.push_str(if n > 0 { ", " } else { "" });
                flow(item, chance, out);
            }
            out.push(']');
        }
        Json::String(text) => out.push_str(&scalar(text, chance)),
        plain => out.push_str(&plain.to_string()),
    }
}

/// Plain where that is safe, else in one of the two kinds of quotation marks.
pub fn scalar(text: &str, chance: &mut Chance) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '/' | '%' | '-' | '^' | '(' | ')');
    let looks_like_text = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && !matches!(text, "yes" | "no" | "on" | "off" | "true" | "false" | "null" | "y" | "n");
    let is_quantity = text.ends_with(|c: char| c.is_ascii_alphabetic() || c == '%') && text.starts_with(|c: char| c.is_ascii_digit());
    if text.chars().all(is_plain) && !text.ends_with(' ') && (looks_like_text || is_quantity) && !chance.one_in(4) {
        return text.to_owned();
    }
    if chance.one_in(2) { json!(text).to_string() } else { format!("'{}'", text.replace('\'', "''")) }
}

/// The site without what its devices hold, and a sheet that says it; `None` where a sheet cannot.
pub fn sheet(site: &Json, chance: &mut Chance) -> Option<(Json, String)> {
    let mut bare = site.clone();
    let mut rows: Vec<[String; 6]> = Vec::new();
    for (name, device) in bare["devices"].as_object_mut()? {
        for (moment, place) in [("as-found", 3), ("as-left", 4)] {
            let Some(holding) = device.as_object_mut()?.remove(moment) else { continue };
            let mut put = |setting: &str, value: String, photo: Option<&Json>| {
                let mut row = [name.clone(), setting.to_owned(), String::new(), String::new(), String::new(), String::new()];
                row[place] = value;
                row[5] = photo.map(|photo| photo.as_str().map_or(photo.to_string(), str::to_owned)).unwrap_or_default();
                rows.push(row);
            };
            for (key, value) in holding.as_object()? {
                match key.as_str() {
                    "region-selected" | "date" | "role" | "known-by" => put(key, value.as_str()?.to_owned(), None),
                    "settings" => {
                        for (function, settings) in value.as_object()? {
                            for (parameter, stated) in settings.as_object()? {
                                let setting = format!("{function}/{parameter}");
                                let Some(group) = stated.as_object() else {
                                    put(&setting, on_paper(stated)?, None);
                                    continue;
                                };
                                let is_photo = group.get("known-by").is_some_and(|known| known == "photo") && group.contains_key("photo");
                                let is_as_the_block = group.contains_key("known-by") && group.get("known-by") == holding.get("known-by");
                                if group.len() != if is_photo { 3 } else { 1 + usize::from(is_as_the_block) } {
                                    return None;
                                }
                                put(&setting, on_paper(&group["value"])?, group.get("photo"));
                            }
                        }
                    }
                    _ => return None,
                }
            }
            if holding.get("settings").and_then(Json::as_object).is_none_or(Map::is_empty) {
                return None; // a row says something of a moment, or nobody does
            }
        }
    }
    // a number alone is meant in the unit of its row
    for row in &mut rows {
        let value = row[3].clone() + &row[4];
        if let Some((number, unit)) = value.split_once(' ').filter(|(number, unit)| digits(number).is_some() && !unit.contains(' '))
            && chance.one_in(3)
        {
            row[2] = unit.to_owned();
            let at = if row[4].is_empty() { 3 } else { 4 };
            row[at] = number.to_owned();
        }
    }
    let separator = *chance.of_these(b",;\t");
    let line_end = if chance.one_in(2) { csv::Terminator::CRLF } else { csv::Terminator::Any(b'\n') };
    let style = if chance.one_in(3) { csv::QuoteStyle::Always } else { csv::QuoteStyle::Necessary };
    let mut table = csv::WriterBuilder::new().delimiter(separator).terminator(line_end).quote_style(style).from_writer(Vec::new());
    table.write_record(["device", "setting", "unit", "as found", "as left", "photo"]).unwrap();
    chance.shuffled(rows).iter().for_each(|row| table.write_record(row).unwrap());
    Some((bare, String::from_utf8(table.into_inner().unwrap()).unwrap()))
}

/// A value as a sheet has it.
pub fn on_paper(value: &Json) -> Option<String> {
    match value {
        Json::String(text) => Some(text.clone()),
        Json::Number(number) => Some(number.to_string()),
        Json::Array(points) => {
            let axis = |axis: &Json| axis.as_str().map_or(axis.to_string(), str::to_owned);
            let points = points.iter().map(|point| format!("{} at {}", axis(&point[1]), axis(&point[0])));
            Some(points.collect::<Vec<_>>().join(", "))
        }
        _ => None,
    }
}
