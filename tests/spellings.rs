//! One site, one verdict: however a site is spelt and in whatever form it is written, and no value outside the set
//! passes, by whatever way it comes in.
//!
//! Sites are drawn from the shipped ones with values moved at random. `ASLEFT_DRAWN=20000` draws as many as a
//! release is held against; `ASLEFT_SEED` draws others.

use jiff::civil::date;
use rules::assess::Assessor;
use rules::filled_sheet::FilledSheet;
use rules::provenance::Verdict;
use rules::wording;
use serde::Deserialize;
use serde_json::{Map, Value as Json, json};
use settings_model::catalogue::{ENABLED, SettingId, Shape};
use settings_model::claim::{Claim, Evidence, Limit, Part, Term};
use settings_model::curve;
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::files::{Kind, SiteFile};
use settings_model::library::{Library, Profile};
use settings_model::places::JsonLine;
use settings_model::quantity::Dimension;
use settings_model::reader;
use settings_model::value::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn files_below(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files_below(&path, found) } else { found.push(path) }
    }
    found.sort();
}

fn assessor() -> Assessor {
    let (mut library, mut found) = (Library::default(), Vec::new());
    files_below(&root().join("profiles"), &mut found);
    for file in found.iter().filter(|f| f.extension().is_some_and(|e| e == "yaml")) {
        let path = file.strip_prefix(root().join("profiles")).unwrap().to_string_lossy().replace('\\', "/");
        library.add(Profile { name: path.clone(), path, text: std::fs::read_to_string(file).unwrap().into(), shipped: true });
    }
    Assessor::new(library, date(2026, 11, 25))
}

/// Every shipped site as JSON. What displays show is turned into settings with their steps; `displayed` says whether.
fn sites(assessor: &mut Assessor) -> Vec<(Json, bool)> {
    let mut found = Vec::new();
    files_below(&root().join("tests/sites"), &mut found);
    let yaml = found.iter().filter(|file| file.extension().is_some_and(|e| e == "yaml"));
    let read = |file: &PathBuf| {
        let text = std::fs::read_to_string(file).unwrap();
        let source = assessor.sources.add("site", text.as_str());
        let site = settings_model::document::parse(source, &text, &mut Vec::new()).unwrap().to_json();
        let displayed = site.to_string().contains("\"displayed\"");
        (site, displayed)
    };
    yaml.map(read).collect()
}

/// SplitMix64 (S. Vigna's public-domain generator): the same draws everywhere.
struct Chance(u64);

impl Chance {
    fn of(seed: u64) -> Self {
        Self(std::env::var("ASLEFT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(seed))
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }
    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
    fn of_these<'t, T>(&mut self, these: &'t [T]) -> &'t T {
        &these[self.below(these.len())]
    }
    fn shuffled<T>(&mut self, mut these: Vec<T>) -> Vec<T> {
        (1..these.len()).rev().for_each(|n| these.swap(n, self.below(n + 1)));
        these
    }
}

fn drawn(usual: usize) -> usize {
    std::env::var("ASLEFT_DRAWN").map_or(usual, |count| count.parse().expect("ASLEFT_DRAWN is a number"))
}

// ---- spellings of one value

/// Units that are exact multiples of one another, smallest first, with how many of the one before each is.
const FAMILIES: [&[(&str, i64)]; 8] = [
    &[("mV", 1), ("V", 1000), ("kV", 1000)],
    &[("mHz", 1), ("Hz", 1000)],
    &[("ms", 1), ("s", 1000), ("min", 60), ("h", 60)],
    &[("W", 1), ("kW", 1000), ("MW", 1000)],
    &[("VA", 1), ("kVA", 1000), ("MVA", 1000)],
    &[("mA", 1), ("A", 1000), ("kA", 1000)],
    &[("mHz/s", 1), ("Hz/s", 1000)],
    &[("%/min", 1), ("%/s", 60)],
];

/// A number as tenths, hundredths… : digits and how many of them stand behind the point.
fn digits(number: &str) -> Option<(i128, usize)> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let all: i128 = format!("{whole}{part}").parse().ok()?;
    Some((all, part.len()))
}

fn decimal(mut digits: i128, mut behind: usize) -> String {
    while behind > 0 && digits % 10 == 0 {
        (digits, behind) = (digits / 10, behind - 1);
    }
    let (sign, size) = if digits < 0 { ("-", -digits) } else { ("", digits) };
    let ten = 10_i128.pow(behind as u32);
    if behind == 0 { format!("{sign}{size}") } else { format!("{sign}{}.{:0behind$}", size / ten, size % ten) }
}

/// `number / by` where that has an end.
fn divided((digits, behind): (i128, usize), by: i128) -> Option<(i128, usize)> {
    (0..9).find_map(|more| {
        let scaled = digits * 10_i128.pow(more);
        (scaled % by == 0).then(|| (scaled / by, behind + more as usize))
    })
}

fn is_short(number: &str) -> bool {
    let count = number.bytes().filter(u8::is_ascii_digit).count();
    let behind = number.split_once('.').map_or(0, |(_, part)| part.len());
    count <= 9 && behind <= 9
}

/// The same quantity in other words: another unit, per unit of the nominal voltage, other zeros, signs and spaces.
fn respelt(text: &str, nominal: Option<i128>, chance: &mut Chance) -> String {
    let Some((number, unit)) = text.split_once(' ').filter(|(number, _)| digits(number).is_some()) else { return text.to_owned() };
    let (mut number, mut unit) = (number.to_owned(), unit.to_owned());
    if let Some(family) = FAMILIES.iter().find(|family| family.iter().any(|(symbol, _)| *symbol == unit)) {
        let at = |symbol: &str| family.iter().position(|(own, _)| *own == symbol).unwrap();
        let (from, to) = (at(&unit), chance.below(family.len()));
        let mut value = digits(&number);
        for (_, size) in &family[to.min(from) + 1..=to.max(from)] {
            value = value
                .and_then(|value| if to < from { Some((value.0 * i128::from(*size), value.1)) } else { divided(value, i128::from(*size)) });
        }
        if let Some(other) = value.map(|(digits, behind)| decimal(digits, behind)).filter(|other| is_short(other)) {
            (number, unit) = (other, family[to].0.to_owned());
        }
    }
    if let (Some(nominal), "V", true) = (nominal, unit.as_str(), chance.one_in(2))
        && let Some(other) =
            divided(digits(&number).unwrap(), nominal).map(|(digits, behind)| decimal(digits, behind)).filter(|n| is_short(n))
    {
        (number, unit) = (other, "pu".to_owned());
    } else if let (Some(nominal), "pu", true) = (nominal, unit.as_str(), chance.one_in(2)) {
        let (of, behind) = digits(&number).unwrap();
        (number, unit) = (decimal(of * nominal, behind), "V".to_owned());
    }
    if chance.one_in(4) && is_short(&format!("{number}00")) {
        number = if number.contains('.') { format!("{number}0") } else { format!("{number}.0") };
    }
    if chance.one_in(6) && !number.starts_with('-') {
        number = format!("0{number}");
    } else if chance.one_in(6) && !number.starts_with('-') {
        number = format!("+{number}");
    }
    let space = *chance.of_these(&[" ", " ", ""]);
    format!("{number}{space}{unit}")
}

/// Every value of every holding in other words.
fn respell(site: &Json, chance: &mut Chance) -> Json {
    let nominal = site["supply"]["nominal"].as_str().and_then(|text| text.split(' ').next()?.parse::<i128>().ok());
    let mut site = site.clone();
    let devices = site["devices"].as_object_mut().into_iter().flatten();
    for (_, device) in devices {
        for key in ["nameplate", "limited-to", "rated-power"] {
            if let Some(text) = device.get(key).and_then(Json::as_str) {
                device[key] = json!(respelt(text, None, chance));
            }
        }
        for moment in ["as-found", "as-left"] {
            let known_by = device[moment]["known-by"].as_str().map(str::to_owned);
            let functions = device.pointer_mut(&format!("/{moment}/settings")).and_then(Json::as_object_mut).into_iter().flatten();
            for (_, settings) in functions {
                for (_, stated) in settings.as_object_mut().into_iter().flatten() {
                    let is_bare = !stated.is_object();
                    respell_value(if is_bare { stated } else { &mut stated["value"] }, nominal, chance);
                    if is_bare && chance.one_in(5) {
                        let bare = stated.take();
                        *stated = json!({ "value": bare });
                        if let Some(known_by) = known_by.as_ref().filter(|_| chance.one_in(2)) {
                            stated["known-by"] = json!(known_by);
                        }
                    }
                }
            }
        }
    }
    site
}

fn respell_value(value: &mut Json, nominal: Option<i128>, chance: &mut Chance) {
    match value {
        Json::String(text) => *text = respelt(text, nominal, chance),
        Json::Array(points) => points.iter_mut().flat_map(|point| point.as_array_mut().into_iter().flatten()).for_each(|axis| {
            if let Json::String(text) = axis {
                *text = respelt(text, nominal, chance);
            }
        }),
        _ => {}
    }
}

// ---- forms of one site

#[derive(Clone, Copy, Debug, PartialEq)]
enum Form {
    Yaml,
    Json,
    Line,
    Sheet,
}

const FORMS: [Form; 4] = [Form::Yaml, Form::Json, Form::Line, Form::Sheet];

/// Verdict, and the names and settings of all findings.
type CameTo = (Verdict, Vec<String>);

fn said(verdict: Verdict, findings: &[settings_model::finding::Finding]) -> CameTo {
    let name = |finding: &settings_model::finding::Finding| format!("{} {}", finding.name, finding.setting.as_deref().unwrap_or_default());
    let mut names: Vec<String> = findings.iter().map(name).collect();
    names.sort();
    // a fault in a file is told where it is first seen: points out of order in one unit when it is read, in two at the site
    if verdict == Verdict::CouldNotTell {
        names.clear();
    }
    (verdict, names)
}

fn judged(text: &str, sheet: Option<&FilledSheet>, assessor: &mut Assessor) -> CameTo {
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
fn forget(source: settings_model::source::SourceId, assessor: &mut Assessor) {
    if (source.0 as usize) + 1 == assessor.sources.len() {
        assessor.sources.forget_after(source.0 as usize);
    }
}

/// As a line among many, read straight into its type where that is enough.
fn judged_line(text: &str, assessor: &mut Assessor) -> CameTo {
    let read = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(text));
    match read.ok().filter(|site| site.kind == Kind::Site && site.is_plain()) {
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

fn in_form(site: &Json, form: Form, chance: &mut Chance, assessor: &mut Assessor) -> Option<CameTo> {
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
fn entries<'j>(map: &'j Map<String, Json>, chance: &mut Chance) -> Vec<(&'j String, &'j Json)> {
    let in_order = map.iter().collect();
    let is_device = |value: &Json| ["as-left", "as-found", "certified", "nameplate", "source"].iter().any(|key| value.get(key).is_some());
    let is_of_names = map.values().all(is_device);
    if is_of_names { in_order } else { chance.shuffled(in_order) }
}

fn written(json: &Json, chance: &mut Chance, spaced: bool) -> String {
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

fn yaml(site: &Json, chance: &mut Chance) -> String {
    let mut out = String::new();
    block(site, 0, chance, &mut out);
    out
}

fn block(json: &Json, depth: usize, chance: &mut Chance, out: &mut String) {
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

fn flow(json: &Json, chance: &mut Chance, out: &mut String) {
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
fn scalar(text: &str, chance: &mut Chance) -> String {
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
fn sheet(site: &Json, chance: &mut Chance) -> Option<(Json, String)> {
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
fn on_paper(value: &Json) -> Option<String> {
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

// ---- moving values

/// Moves a value or two, so that verdicts of every kind are drawn.
fn moved(site: &Json, chance: &mut Chance) -> Json {
    let mut site = site.clone();
    for _ in 0..chance.below(3) {
        let Some(devices) = site["devices"].as_object_mut() else { continue };
        let at = chance.below(devices.len());
        let (_, device) = devices.iter_mut().nth(at).unwrap();
        let functions = device.pointer_mut("/as-left/settings").and_then(Json::as_object_mut);
        let Some(functions) = functions.filter(|functions| !functions.is_empty()) else { continue };
        let at = chance.below(functions.len());
        let (_, settings) = functions.iter_mut().nth(at).unwrap();
        let Some(settings) = settings.as_object_mut().filter(|settings| !settings.is_empty()) else { continue };
        let at = chance.below(settings.len());
        let (_, stated) = settings.iter_mut().nth(at).unwrap();
        let value = if stated.is_object() { &mut stated["value"] } else { stated };
        match value {
            Json::String(text) => *text = nudged(text, chance),
            Json::Array(points) if !points.is_empty() => {
                let at = chance.below(points.len());
                let axis = chance.below(2);
                if let Some(Json::String(text)) = points[at].get_mut(axis) {
                    *text = nudged(text, chance);
                }
            }
            _ => {}
        }
    }
    site
}

fn nudged(text: &str, chance: &mut Chance) -> String {
    let Some((number, unit)) = text.split_once(' ').filter(|(number, _)| digits(number).is_some()) else { return text.to_owned() };
    let (of, behind) = digits(number).unwrap();
    let other = match chance.below(4) {
        0 => of + 1,
        1 => of - 1,
        2 => of * 10 + 5,
        _ => of + chance.below(20) as i128 - 10,
    };
    let behind = if other == of * 10 + 5 { behind + 1 } else { behind };
    let other = decimal(other, behind);
    if is_short(&other) && !other.starts_with('-') { format!("{other} {unit}") } else { text.to_owned() }
}

/// A site is spelt in other words and written in other forms, and comes to the same.
#[test]
fn however_a_site_is_written_it_comes_to_the_same() {
    let (mut assessor, mut chance) = (assessor(), Chance::of(1));
    let sites = sites(&mut assessor);
    let (count, mut verdicts, mut forms) = (drawn(400), BTreeMap::<String, usize>::new(), BTreeMap::<String, usize>::new());
    for n in 0..count {
        let (site, displayed) = chance.of_these(&sites).clone();
        let site = if displayed { site } else { moved(&site, &mut chance) };
        let plain = judged(&site.to_string(), None, &mut assessor);
        *verdicts.entry(format!("{:?}", plain.0)).or_default() += 1;
        for _ in 0..2 {
            let form = if displayed { *chance.of_these(&FORMS[..3]) } else { *chance.of_these(&FORMS) };
            let other = respell(&site, &mut chance);
            let Some(came_to) = in_form(&other, form, &mut chance, &mut assessor) else { continue };
            *forms.entry(format!("{form:?}")).or_default() += 1;
            assert_eq!(came_to, plain, "draw {n}, as {form:?}:\n{other:#}\nand plainly:\n{site:#}");
        }
        if displayed {
            // in the words of its display, and as what they mean
            let meant = meant(&site, &mut assessor);
            *forms.entry("displayed".to_owned()).or_default() += 1;
            assert_eq!(judged(&meant.to_string(), None, &mut assessor).0, plain.0, "draw {n}, displayed:\n{site:#}\nmeans:\n{meant:#}");
        }
    }
    println!("{count} sites: {verdicts:?}; forms: {forms:?}");
    assert!(verdicts.len() >= 3 && forms.len() == 5, "{verdicts:?}, {forms:?}");
}

/// What a site says in the words of its displays, as settings.
fn meant(site: &Json, assessor: &mut Assessor) -> Json {
    let text = site.to_string();
    let source = assessor.sources.add("displayed", text.as_str());
    let meant = assessor.read_site(source, &text).unwrap().to_json();
    forget(source, assessor);
    meant
}

// ---- values outside the set

/// A setting of a device, and the claims on it.
struct Asked {
    device: String,
    setting: SettingId,
    claims: Vec<Claim>,
    facts: Facts,
}

/// The settings of a complying site that act, with what is asked of each.
fn asked(site: &Json, assessor: &mut Assessor) -> Vec<Asked> {
    let text = site.to_string();
    let file = SiteFile::deserialize(&mut serde_json::Deserializer::from_str(&text)).unwrap();
    let assessment = assessor.assess(&file);
    let mut asked = Vec::new();
    for device in assessment.devices.iter().filter(|device| device.name != rules::installation::NAME) {
        let requirement = &device.counted.requirement;
        let acts = |setting: SettingId| {
            let Some(state) = setting.state().filter(|state| *state != setting) else { return true };
            match device.settings.get(state) {
                Some(known) => known.value == Value::Word(ENABLED),
                None => requirement.get(state).is_none_or(|resolved| resolved.entry.require == Some(Value::Word(ENABLED))),
            }
        };
        for resolved in &requirement.entries {
            let setting = resolved.entry.setting;
            if acts(setting) && !requirement.keeps_idle(setting) && !resolved.entry.is_gap() {
                asked.push(Asked {
                    device: device.name.to_owned(),
                    setting,
                    claims: resolved.entry.comply.clone(),
                    facts: device.facts.clone(),
                });
            }
        }
    }
    asked
}

/// An edge, and whether it is outside itself.
type Edge = Option<(Exact, bool)>;

/// The edges of a quantity at the site: the highest lower and the lowest upper one.
fn edges(asked: &Asked) -> (Edge, Edge) {
    let (mut low, mut high) = (None::<(Exact, bool)>, None::<(Exact, bool)>);
    for claim in asked.claims.iter().filter(|claim| claim.on == Term::Var(asked.setting.into())) {
        let at = |bound: settings_model::claim::Bound| bound.value.at(&asked.facts).map(|at| (at, bound.open));
        match claim.limit {
            Limit::AtLeast(bound) => low = low.max(at(bound)),
            Limit::AtMost(bound) => high = [high, at(bound)].into_iter().flatten().min_by_key(|(at, open)| (*at, !*open)),
            _ => {}
        }
    }
    (low, high)
}

fn is_outside(value: Exact, (low, high): (Edge, Edge)) -> bool {
    low.is_some_and(|(at, open)| value < at || (open && value == at)) || high.is_some_and(|(at, open)| value > at || (open && value == at))
}

fn with(site: &Json, asked: &Asked, stated: Json) -> Json {
    let mut site = site.clone();
    site["devices"][&asked.device]["as-left"]["settings"][asked.setting.function().key][asked.setting.parameter().key] = stated;
    site
}

/// A number between a hair and very much, of few digits.
fn distance(scale: Exact, chance: &mut Chance) -> Exact {
    let part = Exact::new(1 + chance.below(99) as i64, 2 + chance.below(4) as u32);
    let distance = if scale == Exact::ZERO { part } else { scale.abs() * part };
    distance.nine_digits().0.rounded(5).max(Exact::new(1, 5))
}

/// Base units as a file writes them, of at most nine digits.
fn text(dimension: Dimension, value: Exact) -> Option<String> {
    let shown = value.to_string();
    let symbol = dimension.symbols().next().unwrap_or_default();
    is_short(&shown).then(|| format!("{shown} {symbol}").trim().to_owned())
}

/// No value outside the set of what is asked passes: by edges, by steps, by units, by evidence.
#[test]
fn no_value_outside_the_set_passes() {
    let (mut assessor, mut chance) = (assessor(), Chance::of(2));
    let complying: Vec<Json> = sites(&mut assessor)
        .into_iter()
        .filter(|(site, displayed)| !displayed && judged(&site.to_string(), None, &mut assessor).0 == Verdict::Complies)
        .map(|(site, _)| site)
        .collect();
    assert!(complying.len() >= 10, "{}", complying.len());
    let all: Vec<(usize, Asked)> =
        complying.iter().enumerate().flat_map(|(n, site)| asked(site, &mut assessor).into_iter().map(move |asked| (n, asked))).collect();
    let (count, mut ways, mut verdicts) = (drawn(600), BTreeMap::<&str, usize>::new(), BTreeMap::<String, usize>::new());
    let mut tried = 0;
    while tried < count {
        let (n, asked) = chance.of_these(&all);
        let Some((way, stated)) = outside(asked, &mut chance) else { continue };
        tried += 1;
        let mutant = with(&complying[*n], asked, stated);
        let came_to = judged_line(&mutant.to_string(), &mut assessor);
        *ways.entry(way).or_default() += 1;
        *verdicts.entry(format!("{:?}", came_to.0)).or_default() += 1;
        let stated = &mutant["devices"][&asked.device]["as-left"]["settings"][asked.setting.function().key][asked.setting.parameter().key];
        assert_ne!(came_to.0, Verdict::Complies, "draw {tried}, {way}: {} of {}: {stated}\n{mutant}", asked.setting, asked.device);
    }
    println!("{count} values outside: {ways:?}; {verdicts:?}");
    assert_eq!(ways.len(), 6, "{ways:?}");
}

/// A value outside what is asked of a setting, as a file states it, and by which way.
fn outside(asked: &Asked, chance: &mut Chance) -> Option<(&'static str, Json)> {
    let kinds = asked.claims.iter().find_map(|claim| if let Limit::Stated(kinds) = claim.limit { Some(kinds) } else { None });
    match asked.setting.parameter().shape {
        Shape::Choice(words) => {
            let allowed =
                asked.claims.iter().find_map(|claim| if let Limit::OneOf(allowed) = claim.limit { Some(allowed) } else { None })?;
            let word = chance.below(words.len());
            (!allowed.has(word as u8)).then(|| ("word", json!(words[word])))
        }
        Shape::Curve { x, y } => {
            let pinned: Vec<&Claim> =
                asked.claims.iter().filter(|claim| matches!(claim.limit, Limit::AtLeast(_) | Limit::AtMost(_))).collect();
            let required = |part: Part| {
                let on = |claim: &&&Claim| matches!(claim.on, Term::Var(var) if var.part == part);
                let edge = |claim: &Claim| claim.bound().and_then(|bound| bound.value.at(&asked.facts));
                let edges: Vec<Exact> = pinned.iter().filter(on).filter_map(|claim| edge(claim)).collect();
                // only a point that is asked for to the digit
                (edges.len() == 2 && edges[0] == edges[1]).then(|| edges[0])
            };
            let mut points: Vec<(Exact, Exact)> = (0..20u8).map_while(|n| required(Part::X(n)).zip(required(Part::Y(n)))).collect();
            let at = if points.len() < 2 { return None } else { chance.below(points.len()) };
            let asked_for = points.clone();
            let by = distance(Exact::from(10), chance);
            let by = if chance.one_in(2) { by } else { -by };
            if chance.one_in(2) {
                points[at].0 = points[at].0 + by;
            } else {
                points[at].1 = points[at].1 + by;
            }
            // the same response in other points passes, with a remark
            let ascends = points.windows(2).all(|pair| pair[0].0 < pair[1].0) && !curve::same_response(&asked_for, &points);
            let written: Option<Vec<Json>> =
                points.iter().map(|(px, py)| Some(json!([text(x, *px)?, text(y, *py)?]))).collect::<Option<Vec<_>>>().filter(|_| ascends);
            written.map(|points| ("point", json!(points)))
        }
        Shape::Quantity(dimension) => {
            let edges = edges(asked);
            let (low, high) = edges;
            let edge = if chance.one_in(2) { low.or(high)?.0 } else { high.or(low)?.0 };
            let is_pinned = low.zip(high).is_some_and(|(low, high)| low.0 == high.0);
            let way = if kinds.is_some() && chance.one_in(2) { 3 } else { chance.below(3) };
            match way {
                0 => {
                    let by = distance(edge, chance);
                    let value = edge + if chance.one_in(2) { by } else { -by };
                    is_outside(value, edges).then_some(())?;
                    Some(("edge", json!(text(dimension, value)?)))
                }
                1 => {
                    let (by, step) = (distance(edge, chance), distance(edge, chance) + distance(edge, chance));
                    let value = edge + if chance.one_in(2) { by } else { -by };
                    // a set point may lie off by less than a step, where the step is not out of all proportion
                    let may_pass = is_pinned && (value - edge).abs() < step && (step < edge.abs() || edge == Exact::ZERO);
                    let is_wrong = is_outside(value, edges) && !may_pass;
                    let exact = is_wrong && chance.one_in(2);
                    is_wrong.then_some(())?;
                    Some(("step", json!({ "value": text(dimension, value)?, "step": text(dimension, step)?, "exact": exact })))
                }
                2 => {
                    let shown = text(dimension, edge)?;
                    let (number, own) = shown.split_once(' ')?;
                    let others: Vec<&str> = dimension.symbols().filter(|symbol| *symbol != own).collect();
                    let other = if others.is_empty() { return None } else { *chance.of_these(&others) };
                    let wrong = format!("{number} {other}");
                    let value = dimension.parse(&wrong).ok()?.at(&asked.facts)?;
                    is_outside(value, edges).then(|| ("unit", json!(wrong)))
                }
                _ => {
                    let kinds = kinds?;
                    let kind = *chance.of_these(&Evidence::ALL);
                    let refused = kind != Evidence::Region && !kinds.has(kind as u8);
                    refused.then_some(())?;
                    Some(("evidence", json!({ "value": text(dimension, edge)?, "known-by": kind.word() })))
                }
            }
        }
    }
}

/// What the draws above lean on: the spelling of numbers is exact.
#[test]
fn respelling_keeps_the_number() {
    let mut chance = Chance::of(3);
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, Exact::from(230));
    let mut changed = 0;
    for _ in 0..4000 {
        let (text, dimension) = *chance.of_these(&[
            ("253 V", Dimension::Voltage),
            ("1.5 s", Dimension::Time),
            ("600 s", Dimension::Time),
            ("50.15 Hz", Dimension::Frequency),
            ("5 kW", Dimension::ActivePower),
            ("9.6 %/min", Dimension::RampRate),
            ("-60 %", Dimension::Percent),
            ("0.9 pu", Dimension::Voltage),
        ]);
        let other = respelt(text, Some(230), &mut chance);
        let number = |text: &str| dimension.parse(text).unwrap_or_else(|slip| panic!("{text}: {}", slip.says)).at(&facts).unwrap();
        assert_eq!(number(&other), number(text), "{text} as {other}");
        changed += usize::from(other != text);
    }
    assert!(changed > 2000);
}
