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
pub struct Reasons(BTreeMap<&'static str, String>);

/// The setting that speaks for a function: the first of these that anybody states.
const SPEAKING: [&str; 9] = ["points", "threshold", "start", "deadband", "power-factor", "amount", "site-total", "per-phase", "soft"];

impl Reasons {
    /// Those of a device.
    pub fn of(held: &Held<'_>) -> Self {
        let mut reasons = BTreeMap::new();
        for setting in SettingId::all() {
            let (function, key) = (setting.function().key, setting.parameter().key);
            let rank = SPEAKING.iter().position(|speaking| *speaking == key).or((key == "first").then_some(SPEAKING.len()));
            let Some((rank, words)) = rank.and_then(|rank| Some((rank, whose(held, setting)?))) else { continue };
            let first = reasons.entry(function).or_insert((rank, words.clone()));
            if rank < first.0 {
                *first = (rank, words);
            }
        }
        Self(reasons.into_iter().map(|(function, (_, words))| (function, words)).collect())
    }

    /// ` (by AS/NZS …; from memory, unverified)`, or nothing where nobody says.
    pub fn behind(&self, function: &str) -> String {
        self.0.get(function).map_or_else(String::new, |words| format!(" ({words})"))
    }
}

fn whose(held: &Held<'_>, setting: SettingId) -> Option<String> {
    let own = held.holding.and_then(|holding| Some((holding, holding.settings.get(setting)?)));
    if let Some((holding, known)) = own {
        let known = known.evidence.or(holding.known_by).unwrap_or(Evidence::Statement);
        return Some(format!("the device's own setting, {}", known.phrase()));
    }
    let (book, counted) = held.asked.as_ref()?;
    let resolved = counted.requirement.get(setting)?;
    if held.region_stands && resolved.covered_by_region {
        return by(&resolved.base, &book.rulebook).map(|by| format!("brought by the region selected on it, {by}"));
    }
    if held.holding.is_none() { by(&resolved.entry, &book.rulebook) } else { None }
}

fn by(entry: &Entry, rulebook: &Rulebook) -> Option<String> {
    let origin = origin(entry.decided_by()?, rulebook, &[], entry.setting);
    let beside = standing(entry, rulebook).is_some_and(|standing| standing.is_unverified()) && !is_marked(&origin);
    Some(format!("by {origin}{}", if beside { ", beside figures that are unverified" } else { "" }))
}

fn is_marked(origin: &str) -> bool {
    origin.contains("unverified") || origin.contains("DISPUTED")
}
