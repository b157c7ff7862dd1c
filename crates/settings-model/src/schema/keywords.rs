//! The keywords that call the tool's own parsers, so that a wrong unit is found with everything else.

use crate::catalogue::SettingId;
use crate::exact::Exact;
use crate::facts::FactId;
use crate::files::{FirmwareRange, Nominal, Version, VersionRange};
use crate::finding::nearest;
use crate::labels;
use crate::notation;
use crate::quantity::{Amount, Dimension};
use crate::slip::Slip;
use schema_check::{Complaint, Keyword};
use serde_json::Value as Json;

/// Every keyword of the tool's own.
pub const KEYWORDS: &[Keyword] = &[
    Keyword { name: "x-quantity", check: |of, value| quantity(of, value, Dimension::parse) },
    Keyword { name: "x-held", check: |of, value| quantity(of, value, Dimension::parse_held) },
    Keyword { name: "x-set", check: |of, value| quantity(of, value, Dimension::parse_set) },
    Keyword { name: "x-plain-quantity", check: |of, value| quantity(of, value, Dimension::parse_plain_quantity) },
    Keyword { name: "x-rating", check: |of, value| text(value, |text| rating(of, text)) },
    Keyword { name: "x-one-line", check: |_, value| text(value, notation::one_line) },
    Keyword { name: "x-level", check: |of, value| text(value, |text| notation::level(dimension(of), text)) },
    Keyword { name: "x-step", check: |of, value| text(value, |text| step(dimension(of), text)) },
    Keyword { name: "x-time-or-never", check: |_, value| text(value, time_or_never) },
    Keyword { name: "x-interval", check: |of, value| text(value, |text| notation::interval(dimension(of), text)) },
    Keyword { name: "x-point-interval", check: |of, value| text(value, |text| notation::point_edges(dimension(of), text)) },
    Keyword { name: "x-words", check: words },
    Keyword { name: "x-evidence", check: |_, value| text(value, notation::evidence) },
    Keyword { name: "x-fact", check: fact },
    Keyword { name: "x-date", check: |_, value| text(value, notation::date) },
    Keyword { name: "x-nominal", check: |_, value| text(value, Nominal::parse) },
    Keyword { name: "x-version-range", check: |_, value| text(value, VersionRange::parse) },
    Keyword { name: "x-version", check: |_, value| text(value, Version::parse) },
    Keyword { name: "x-firmware", check: |_, value| text(value, FirmwareRange::parse) },
    Keyword { name: "x-labelled", check: |_, value| text(value, labels::labelled) },
    Keyword { name: "x-sha256", check: |_, value| text(value, sha256) },
    Keyword { name: "x-registers", check: |_, value| text(value, registers) },
    Keyword { name: "x-ascending", check: ascending },
    Keyword { name: "x-approval", check: approval },
];

/// What the keywords of a schema say of a text; nothing where it has none. For a value that YAML
/// takes for a number where the schema wants text, such as `265` where `265 V` is meant.
#[must_use]
pub fn complaints_of_text(schema: &Json, text: &str) -> Vec<Complaint> {
    let value = Json::String(text.to_owned());
    let own = KEYWORDS.iter().filter_map(|keyword| Some((keyword, schema.get(keyword.name)?)));
    own.flat_map(|(keyword, of)| (keyword.check)(of, &value)).collect()
}

fn complaint(steps: &[&str], slip: Slip) -> Complaint {
    Complaint { steps: steps.iter().map(|step| (*step).to_owned()).collect(), says: slip.says, help: slip.help }
}

/// What is wrong with a text; nothing to say of a value that is not text, which `type` reports.
fn text<T>(value: &Json, read: impl Fn(&str) -> Result<T, Slip>) -> Vec<Complaint> {
    let slip = value.as_str().and_then(|text| read(text).err());
    slip.map(|slip| complaint(&[], slip)).into_iter().collect()
}

/// A plain number is text to a dimension without units; of any other, `type` says what is wrong.
fn quantity(of: &Json, value: &Json, read: impl Fn(Dimension, &str) -> Result<Amount, Slip>) -> Vec<Complaint> {
    let dimension = dimension(of);
    match value {
        Json::Number(n) if dimension.is_unitless() => text(&Json::String(n.to_string()), |text| read(dimension, text)),
        _ => text(value, |text| read(dimension, text)),
    }
}

fn rating(key: &Json, text: &str) -> Result<Exact, Slip> {
    let fact = key.as_str().and_then(FactId::named).expect("the schemas of this tool name its own facts");
    fact.read(text)
}

fn dimension(keyword: &Json) -> Dimension {
    keyword.as_str().and_then(Dimension::named).expect("the schemas of this tool name its own dimensions")
}

fn step(dimension: Dimension, text: &str) -> Result<Amount, Slip> {
    let help = || format!("write the difference between two values that it can hold, such as `{}`", dimension.show(Exact::ONE));
    let no_step = || Slip::new(format!("`{text}` is no step of a device"), help());
    if text == notation::NEVER {
        return Err(no_step());
    }
    let amount = dimension.parse_held(text)?;
    match amount.of {
        Some(_) => Err(per_unit_step(dimension, text, amount)),
        None if amount.number <= Exact::ZERO => Err(no_step()),
        None => Ok(amount),
    }
}

/// A step of one size at every site is no part of a voltage that differs from site to site.
fn per_unit_step(dimension: Dimension, text: &str, amount: Amount) -> Slip {
    let of_230 = dimension.show(amount.number * Exact::from(230));
    let help = format!("multiply it by the nominal voltage: of 230 V it is `{of_230}`");
    Slip::new(format!("`{text}` is per unit, and a step is a plain {}", dimension.name()), help)
}

fn time_or_never(text: &str) -> Result<(), Slip> {
    if text == notation::NEVER { Ok(()) } else { Dimension::Time.parse_held(text).map(drop) }
}

fn sha256(text: &str) -> Result<(), Slip> {
    let is_hexadecimal = text.bytes().all(|byte| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte));
    let says = match (text.len(), is_hexadecimal) {
        (64, true) => return Ok(()),
        (64, false) => format!("`{text}` is no SHA-256: it has more than digits and the letters a to f"),
        (long, _) => format!("`{text}` is no SHA-256: it has {long} characters, not 64"),
    };
    Err(Slip::new(says, "write it as `sha256sum` prints it, in small letters"))
}

/// `707/40433 = 880`: a model, its first register, raw values.
fn registers(text: &str) -> Result<(), Slip> {
    let word = |text: &str| text.parse::<u16>().is_ok();
    let is_one = |text: &str| {
        let (place, raw) = text.split_once(" = ")?;
        let (model, register) = place.split_once('/')?;
        Some(word(model) && word(register) && raw.split(' ').all(word))
    };
    match is_one(text) {
        Some(true) => Ok(()),
        _ => Err(Slip::new(format!("`{text}` names no registers"), "write model, first register and raw values, as `707/40433 = 880`")),
    }
}

fn words(known: &Json, value: &Json) -> Vec<Complaint> {
    let known: Vec<&str> = known.as_array().into_iter().flatten().filter_map(Json::as_str).collect();
    text(value, |text| notation::words(&known, text))
}

fn fact(key: &Json, value: &Json) -> Vec<Complaint> {
    let fact = key.as_str().and_then(FactId::named).expect("the schemas of this tool name its own facts");
    match value {
        Json::Number(n) => text(&Json::String(n.to_string()), |text| notation::fact_test(fact, text)),
        _ => text(value, |text| notation::fact_test(fact, text)),
    }
}

/// Points ascend; what is not a quantity is reported by the point itself.
fn ascending(of: &Json, points: &Json) -> Vec<Complaint> {
    let dimension = dimension(of);
    let x = |point: &Json| point.get(0).and_then(Json::as_str).and_then(|text| dimension.parse(text).ok());
    let points = points.as_array().map(Vec::as_slice).unwrap_or_default();
    for (n, pair) in points.windows(2).enumerate() {
        if let (Some(before), Some(after)) = (x(&pair[0]), x(&pair[1]))
            && before.of == after.of
            && before.number > after.number
        {
            let slip = notation::descending(dimension, before, after);
            return vec![complaint(&[&(n + 1).to_string(), "0"], slip)];
        }
    }
    Vec::new()
}

/// An approval names a setting, says something of it, and does not end before it begins. What it
/// says is checked by the schema that its setting calls for.
fn approval(_: &Json, approval: &Json) -> Vec<Complaint> {
    let mut complaints = Vec::new();
    if let Some(path) = approval.get("setting").and_then(Json::as_str).filter(|path| setting_of_path(path).is_none()) {
        complaints.push(complaint(&["setting"], no_setting(path)));
    }
    if approval.is_object() && approval.get("require").is_none() && approval.get("comply").is_none() {
        let slip = Slip::new("the approval does not say what it allows", "add `require: …`, or `comply: …` for an interval");
        complaints.push(complaint(&[], slip));
    }
    let date = |key: &str| notation::date(approval.get("approval")?.get(key)?.as_str()?).ok();
    if let (Some(granted), Some(until)) = (date("granted"), date("until"))
        && until < granted
    {
        let slip = Slip::new(format!("ends on {until}, before it was granted on {granted}"), "compare both with the approval itself");
        complaints.push(complaint(&["approval", "until"], slip));
    }
    complaints
}

fn no_setting(path: &str) -> Slip {
    let says = format!("`{path}` is not a setting");
    let known: Vec<String> = SettingId::all().map(|setting| setting.to_string()).collect();
    let (device, setting) = match path.split_once('/') {
        Some((device, setting)) if setting.contains('/') => (format!("{device}/"), setting),
        _ => (String::new(), path),
    };
    match nearest(setting, known.iter().map(String::as_str)) {
        Some(meant) => Slip::new(says, format!("did you mean `{device}{meant}`?")),
        None => Slip::new(says, "write it as `overvoltage-1/threshold`, or `inverter-1/overvoltage-1/threshold` for one device"),
    }
}

/// The setting at the end of `inverter-1/overvoltage-1/threshold` or `overvoltage-1/threshold`.
#[must_use]
pub fn setting_of_path(path: &str) -> Option<SettingId> {
    SettingId::named(path).or_else(|| SettingId::named(path.split_once('/')?.1))
}
