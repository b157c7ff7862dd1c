//! A site's file with what was read from one of its devices.
//!
//! What the file says beside stays: facts, other devices, values that no register says, comments where the
//! form of the file lets them stay. Every value that was read names its registers.

use super::Read;
use super::site::{AtSite, nominal};
use crate::args::Readout;
use rules::exercise::{text as written_text, written};
use serde_json::{Map, Value as Json, json};
use settings_model::catalogue::Shape;
use settings_model::document::{Node, parse};
use settings_model::facts::Facts;
use settings_model::source::SourceId;
use std::collections::HashSet;
use sunspec::mapping::Reading;
use sunspec::{Captured, Trouble, TroubleKind};

/// What a file begins with where nobody named a site.
const ALONE: &str =
    "# Read from a device. Write in the site's own facts, and the standard or network with its region: nothing is judged before.
# Only licensed persons may change settings; the network operator's own document and the approval decide.
";

/// The file.
pub(super) fn text(read: &Read, captured: &Captured, site: Option<&AtSite>, args: &Readout) -> String {
    let moment = AtSite::moment(args);
    match site {
        Some(site) => with_moment(read, captured, site, moment, false),
        None => alone(read, captured, moment),
    }
}

/// The site as if what was found had been left so, to be judged.
pub(super) fn as_if_left(read: &Read, captured: &Captured, site: &AtSite) -> String {
    with_moment(read, captured, site, "as-left", true)
}

fn alone(read: &Read, captured: &Captured, moment: &str) -> String {
    let mut device = Map::new();
    let identity = &captured.identity;
    for (key, number, unit) in
        [("nameplate", identity.nameplate, "VA"), ("rated-power", identity.rated_power, "W"), ("limited-to", identity.limited_to, "VA")]
    {
        device.extend(number.map(|number| (key.to_owned(), json!(format!("{number} {unit}")))));
    }
    device.extend(named(captured, None));
    device.insert(moment.to_owned(), holding(read, captured, None, moment, false));
    let mut site = json!({ "kind": "site", "site": "name-or-number", "requirements": { "region": "name-it" } });
    if let Some(volts) = captured.nominal {
        site["supply"] = json!({ "nominal": nominal(volts) });
    }
    site["devices"] = json!({ "inverter-1": device });
    format!("{ALONE}{}", written_text::of_site(&site))
}

fn with_moment(read: &Read, captured: &Captured, site: &AtSite, moment: &str, from_found: bool) -> String {
    let settled = site.root.to_json();
    let said = &settled["devices"][&site.device];
    let made = holding(read, captured, Some(said), moment, from_found);
    let named = named(captured, Some(said));
    let mut whole = site.raw.to_json();
    let device = &mut whole["devices"][&site.device];
    if let Some(device) = device.as_object_mut() {
        device.extend(named.clone());
        device.insert(moment.to_owned(), made.clone());
    }
    spliced(site, &named, moment, &made).filter(|text| reads_as(text, &whole)).unwrap_or_else(|| written_text::of_site(&whole))
}

fn reads_as(text: &str, whole: &Json) -> bool {
    let mut findings = Vec::new();
    let read = parse(SourceId(0), text, &mut findings).map(|root| root.to_json());
    findings.is_empty() && read.as_ref() == Some(whole)
}

/// What the device says of itself, where the file does not.
fn named(captured: &Captured, said: Option<&Json>) -> Map<String, Json> {
    let identity = &captured.identity;
    let of = [("model", &identity.model), ("serial", &identity.serial), ("firmware", &identity.firmware)];
    let lacks = |key: &str| said.is_none_or(|said| said.get(key).is_none());
    of.into_iter().filter(|(key, _)| lacks(key)).filter_map(|(key, text)| Some((key.to_owned(), json!(text.as_ref()?)))).collect()
}

/// What a device held at a moment: what was read, and what the file says beside.
fn holding(read: &Read, captured: &Captured, said: Option<&Json>, moment: &str, from_found: bool) -> Json {
    let said_of = said.map(|said| &said[if from_found { "as-found" } else { moment }]).filter(|said| said.is_object());
    let mut holding = Map::new();
    let day = read.from.as_ref().and_then(|from| from.at.get(..10)).map(|day| json!(day));
    let keep = |key: &str| said_of.and_then(|said| said.get(key)).cloned();
    holding.extend(day.or_else(|| keep("date")).map(|day| ("date".to_owned(), day)));
    holding.extend(keep("role").map(|role| ("role".to_owned(), role)));
    holding.insert("known-by".to_owned(), json!("read"));
    holding.extend(["region-selected", "region-photo"].into_iter().filter_map(|key| Some((key.to_owned(), keep(key)?))));
    let mut note = json!({ "peer": read.from.as_ref().map_or(&read.name, |from| &from.peer), "base": read.walk.base });
    if let Some(from) = &read.from {
        note["unit"] = json!(from.unit);
        note["at"] = json!(from.at);
    }
    for (key, said) in beside(captured) {
        if !said.is_empty() {
            note[key] = json!(said);
        }
    }
    holding.insert("captured".to_owned(), note);
    holding.insert("settings".to_owned(), settings(captured, said_of));
    Json::Object(holding)
}

/// What a reading has to say beside its values, by the keys of `captured`.
fn beside(captured: &Captured) -> [(&'static str, Vec<String>); 4] {
    let says = |is: &dyn Fn(TroubleKind) -> bool, of: &dyn Fn(&Trouble) -> String| -> Vec<String> {
        captured.troubles.iter().filter(|trouble| is(trouble.kind)).map(of).collect()
    };
    let not_implemented = captured.not_read.iter().filter(|not| not.not_implemented).map(|not| not.setting.to_string());
    [
        ("left-open", says(&TroubleKind::leaves_open, &|trouble| format!("{}: {}", trouble.kind.name(), trouble.says))),
        ("limited", says(&|kind| kind == TroubleKind::PowerLimited, &|trouble| trouble.says.clone())),
        ("acts-beside", says(&TroubleKind::acts_beside, &|trouble| trouble.says.clone())),
        ("not-implemented", not_implemented.collect()),
    ]
}

/// Settings by their functions: those read, and those that the file states and no register says, each with how
/// it is known.
fn settings(captured: &Captured, said: Option<&Json>) -> Json {
    let mut functions = Map::new();
    for reading in &captured.readings {
        let function = functions.entry(reading.setting.function().key).or_insert_with(|| json!({}));
        function[reading.setting.parameter().key] = value(reading);
    }
    let read: HashSet<(&str, &str)> =
        captured.readings.iter().map(|reading| (reading.setting.function().key, reading.setting.parameter().key)).collect();
    let default = said.and_then(|said| said.get("known-by")).cloned().unwrap_or_else(|| json!("statement"));
    let stated = said.and_then(|said| said.get("settings")).and_then(Json::as_object);
    for (function, parameters) in stated.into_iter().flatten() {
        for (key, value) in
            parameters.as_object().into_iter().flatten().filter(|(key, _)| !read.contains(&(function.as_str(), key.as_str())))
        {
            let mut kept = if value.is_object() { value.clone() } else { json!({ "value": value }) };
            if kept.get("known-by").is_none() {
                kept["known-by"] = default.clone();
            }
            functions.entry(function.clone()).or_insert_with(|| json!({}))[key] = kept;
        }
    }
    Json::Object(functions)
}

/// A value with the device's resolution and the registers that say it.
fn value(reading: &Reading) -> Json {
    let setting = reading.setting;
    let mut stated = json!({ "value": written(&reading.known.value, setting, &Facts::default()).unwrap_or(Json::Null) });
    if let Some(step) = reading.known.step.as_deref() {
        let shown = match setting.parameter().shape {
            Shape::Quantity(dimension) => Some(json!(dimension.show(step.size))),
            Shape::Curve { x, y } => step.level.map(|level| json!([x.show(step.size), y.show(level)])),
            Shape::Choice(_) => None,
        };
        if let Some(shown) = shown {
            stated["step"] = shown;
            if step.exact {
                stated["exact"] = json!(true);
            }
        }
    }
    stated["read-from"] = json!(origin(reading));
    stated
}

/// `707/40433 = 880`
fn origin(reading: &Reading) -> String {
    let raw: Vec<String> = reading.from.raw.iter().map(u16::to_string).collect();
    format!("{}/{} = {}", reading.from.model, reading.from.register, raw.join(" "))
}

/// The text with what a moment held in place of what it said; all else stays as it is. `None` where the form of
/// the file does not take it.
fn spliced(site: &AtSite, named: &Map<String, Json>, moment: &str, holding: &Json) -> Option<String> {
    let device = site.raw.get("devices")?.get(&site.device)?;
    let (first, _) = device.entries().first()?;
    let text = &site.text;
    let line = |at: usize| text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let begins = |node: &Node| node.place.start as usize;
    let indent = begins(first) - line(begins(first));
    let is_plain = |node: &Node| text[line(begins(node))..begins(node)].chars().all(|c| c == ' ');
    if !is_plain(first) {
        return None;
    }
    let block = block(&site.device, named, moment, holding, indent);
    let past = |at: usize| text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1);
    let (from, until) = match device.entry(moment) {
        Some((key, value)) if is_plain(key) => (line(begins(key)), past(value.place.end as usize)),
        Some(_) => return None,
        None => {
            let (_, last) = device.entries().last()?;
            let end = past(last.place.end as usize);
            (end, end)
        }
    };
    let gap = if from > 0 && !text[..from].ends_with('\n') { "\n" } else { "" };
    Some(format!("{}{gap}{block}{}", &text[..from], &text[until..]))
}

/// The lines of a moment, set in as the others of the device are.
fn block(name: &str, named: &Map<String, Json>, moment: &str, holding: &Json, indent: usize) -> String {
    const WRITTEN: usize = 4;
    let mut device = named.clone();
    device.insert(moment.to_owned(), holding.clone());
    let text = written_text::of_site(&json!({ "devices": { name: device } }));
    let lines = text.lines().skip(2).map(|line| match indent.checked_sub(WRITTEN) {
        Some(more) => format!("{:more$}{line}\n", ""),
        None => format!("{}\n", &line[(WRITTEN - indent).min(line.len())..]),
    });
    lines.collect()
}
