//! Whose figure a function holds, and how sure anybody is of it.

use crate::commands::held::Held;
use rules::phrase::origin;
use rules::standing::standing;
use settings_model::catalogue::SettingId;
use settings_model::claim::Evidence;
use settings_model::entry::Entry;
use settings_model::requirement::Rulebook;
use std::collections::BTreeMap;

/// Whose figure each function holds, by the function's key.
pub struct Reasons {
    held: BTreeMap<&'static str, String>,
    asked: BTreeMap<&'static str, String>,
}

/// Stands before who says so.
const BY: &str = " by ";

/// The setting that speaks for a function: the first of these that anybody states.
const SPEAKING: [&str; 9] = ["points", "threshold", "start", "deadband", "power-factor", "amount", "site-total", "per-phase", "soft"];

impl Reasons {
    /// Those of a device.
    pub fn of(held: &Held<'_>) -> Self {
        Self { held: by_function(|setting| whose(held, setting)), asked: by_function(|setting| asked(held, setting)) }
    }

    /// The same as [`Self::behind`], of what is asked whatever the device holds.
    pub fn behind_asked<'r>(&'r self, function: &str, named: &mut Vec<&'r str>) -> String {
        said(self.asked.get(function), named)
    }

    /// `, as asked by AS/NZS … (from memory, unverified)`, or nothing where nobody says. Who was named before
    /// is not named in full again.
    pub fn behind<'r>(&'r self, function: &str, named: &mut Vec<&'r str>) -> String {
        said(self.held.get(function), named)
    }
}

fn said<'r>(words: Option<&'r String>, named: &mut Vec<&'r str>) -> String {
    let Some(words) = words else { return String::new() };
    let Some((who, known)) = words.split_once(BY).and_then(|(_, origin)| origin.rsplit_once(" (")) else { return format!(", {words}") };
    if named.contains(&who) {
        return format!(", {}", words.replace(&format!("{BY}{who} ({known}"), &format!("{BY}the same ({known}")));
    }
    named.push(who);
    format!(", {words}")
}

fn by_function(of: impl Fn(SettingId) -> Option<String>) -> BTreeMap<&'static str, String> {
    let mut reasons = BTreeMap::new();
    for setting in SettingId::all() {
        let (function, key) = (setting.function().key, setting.parameter().key);
        let rank = SPEAKING.iter().position(|speaking| *speaking == key).or((key == "first").then_some(SPEAKING.len()));
        let Some((rank, words)) = rank.and_then(|rank| Some((rank, of(setting)?))) else { continue };
        let first = reasons.entry(function).or_insert((rank, words.clone()));
        if rank < first.0 {
            *first = (rank, words);
        }
    }
    reasons.into_iter().map(|(function, (_, words))| (function, words)).collect()
}

fn whose(held: &Held<'_>, setting: SettingId) -> Option<String> {
    let own = held.holding.and_then(|holding| Some((holding, holding.settings.get(setting)?)));
    if let Some((holding, known)) = own {
        let known = known.evidence.or(holding.known_by).unwrap_or(Evidence::Statement);
        return Some(format!("as the device is set ({})", known.phrase()));
    }
    let (book, counted) = held.asked.as_ref()?;
    let resolved = counted.requirement.get(setting)?;
    if held.region_stands && resolved.covered_by_region {
        return by(&resolved.base, &book.rulebook).map(|by| format!("as the region selected on it brings it,{BY}{by}"));
    }
    if held.holding.is_none() { asked(held, setting) } else { None }
}

fn asked(held: &Held<'_>, setting: SettingId) -> Option<String> {
    let (book, counted) = held.asked.as_ref()?;
    by(&counted.requirement.get(setting)?.entry, &book.rulebook).map(|by| format!("as asked{BY}{by}"))
}

fn by(entry: &Entry, rulebook: &Rulebook) -> Option<String> {
    let origin = origin(entry.decided_by()?, rulebook, &[], entry.setting);
    let beside = standing(entry, rulebook).is_some_and(|standing| standing.is_unverified()) && !is_marked(&origin);
    Some(if beside { format!("{origin}, beside figures that are unverified") } else { origin })
}

fn is_marked(origin: &str) -> bool {
    origin.contains("unverified") || origin.contains("DISPUTED")
}
