//! One quantity in other words, and values moved a little.

use super::chance::Chance;
use serde_json::{Value as Json, json};

/// Units that are exact multiples of one another, smallest first, with how many of the one before each is.
pub const FAMILIES: [&[(&str, i64)]; 8] = [
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
pub fn digits(number: &str) -> Option<(i128, usize)> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let all: i128 = format!("{whole}{part}").parse().ok()?;
    Some((all, part.len()))
}

pub fn decimal(mut digits: i128, mut behind: usize) -> String {
    while behind > 0 && digits % 10 == 0 {
        (digits, behind) = (digits / 10, behind - 1);
    }
    let (sign, size) = if digits < 0 { ("-", -digits) } else { ("", digits) };
    let ten = 10_i128.pow(behind as u32);
    if behind == 0 { format!("{sign}{size}") } else { format!("{sign}{}.{:0behind$}", size / ten, size % ten) }
}

/// `number / by` where that has an end.
pub fn divided((digits, behind): (i128, usize), by: i128) -> Option<(i128, usize)> {
    (0..9).find_map(|more| {
        let scaled = digits * 10_i128.pow(more);
        (scaled % by == 0).then(|| (scaled / by, behind + more as usize))
    })
}

pub fn is_short(number: &str) -> bool {
    let count = number.bytes().filter(u8::is_ascii_digit).count();
    let behind = number.split_once('.').map_or(0, |(_, part)| part.len());
    count <= 9 && behind <= 9
}

/// The same quantity in other words: another unit, per unit of the nominal voltage, other zeros, signs and spaces.
pub fn respelt(text: &str, nominal: Option<i128>, chance: &mut Chance) -> String {
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
pub fn respell(site: &Json, chance: &mut Chance) -> Json {
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

pub fn respell_value(value: &mut Json, nominal: Option<i128>, chance: &mut Chance) {
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

/// Moves a value or two, so that verdicts of every kind are drawn.
pub fn moved(site: &Json, chance: &mut Chance) -> Json {
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

pub fn nudged(text: &str, chance: &mut Chance) -> String {
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
