//! Invented names: of sites, of where devices hang, of models. None is meant to be anybody's.

use super::chance::Chance;
use super::draft::Draft;
use serde_json::{Value as Json, json};

const FIRST: [&str; 24] = [
    "alder", "bracken", "cobble", "dapple", "elder", "fennel", "gorse", "hazel", "ivy", "juniper", "kelp", "linden", "mallow", "nettle",
    "otter", "pebble", "quince", "rowan", "sedge", "thistle", "umber", "vetch", "willow", "yarrow",
];
const SECOND: [&str; 16] =
    ["bank", "close", "court", "croft", "end", "field", "gate", "green", "hill", "lane", "mews", "row", "track", "vale", "walk", "yard"];
const WHERE: [&str; 10] = ["barn", "carport", "cellar", "garage", "laundry", "plant-room", "porch", "shed", "switchroom", "workshop"];
const MODELS: [&str; 8] = ["Ottermere", "Brackwell", "Quernstone", "Marrowby", "Thornlea", "Wickenshaw", "Hollinfold", "Pellworth"];

/// Gives a site and its devices names, models and numbers; the work that was done is one of these words.
pub fn furnish(draft: &mut Draft, chance: &mut Chance, work: Option<&str>) {
    let (first, second) = (FIRST[chance.below(FIRST.len())], SECOND[chance.below(SECOND.len())]);
    draft.0["site"] = json!(format!("{first}-{second}-{}", 1 + chance.below(90)));
    if let Some(work) = work {
        draft.0["work"]["kind"] = json!(work);
    }
    if let Some(export) = draft.0.get_mut("export").and_then(Json::as_object_mut) {
        export.insert("reference".to_owned(), json!(format!("E-{:05}", chance.below(100_000))));
    }
    let mut places = WHERE;
    chance.shuffle(&mut places);
    let old = draft.devices();
    let names: Vec<String> = old.iter().enumerate().map(|(n, _)| named(&places, n)).collect();
    rename(draft, &old, &names);
    for name in names {
        let device = &mut draft.0["devices"][&name];
        if device["kind"].as_str().unwrap_or("inverter") != "inverter" || device.get("labels").is_some() {
            continue;
        }
        let model = MODELS[chance.below(MODELS.len())];
        device["model"] = json!(format!("{model} {} (invented)", 2 + chance.below(20)));
        device["serial"] = json!(format!("{}{}-{:06}", &model[..2].to_uppercase(), 1 + chance.below(9), chance.below(1_000_000)));
        device["firmware"] = json!(format!("{}.{}.{}", 1 + chance.below(4), chance.below(10), chance.below(30)));
    }
}

/// The name of a device: where it hangs.
fn named(places: &[&str], n: usize) -> String {
    match places.get(n) {
        Some(place) => format!("{place}-inverter"),
        None => format!("inverter-{}", n + 1),
    }
}

/// Gives devices other names, wherever the site speaks of them. A relay keeps its own.
fn rename(draft: &mut Draft, old: &[String], new: &[String]) {
    let is_inverter = |draft: &Draft, name: &str| draft.0["devices"][name]["kind"].as_str().unwrap_or("inverter") == "inverter";
    let pairs: Vec<(&String, &String)> =
        old.iter().zip(new).map(|(old, new)| (old, if is_inverter(draft, old) { new } else { old })).collect();
    let to = |name: &str| pairs.iter().find(|(old, _)| *old == name).map_or_else(|| name.to_owned(), |(_, new)| (*new).clone());
    if let Some(devices) = draft.0["devices"].as_object_mut() {
        *devices = std::mem::take(devices).into_iter().map(|(name, device)| (to(&name), device)).collect();
    }
    for approval in draft.0.get_mut("site-specific-approvals").and_then(Json::as_array_mut).into_iter().flatten() {
        let Some((device, setting)) = approval["setting"].as_str().and_then(|path| path.split_once('/')) else { continue };
        if pairs.iter().any(|(old, _)| *old == device) {
            approval["setting"] = json!(format!("{}/{setting}", to(device)));
        }
    }
    for (_, cable) in draft.0.get_mut("cables").and_then(Json::as_object_mut).into_iter().flatten() {
        for fed in cable.get_mut("feeds").and_then(Json::as_array_mut).into_iter().flatten() {
            *fed = json!(fed.as_str().map(to).unwrap_or_default());
        }
    }
}
