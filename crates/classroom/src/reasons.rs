//! Whose figure a function holds, and how sure anybody is of it.

use replay::held::DeviceAtMoment;
use rules::phrase::{Origin, origin_of};
use rules::provenance::{Standing, of_line, standing};
use settings_model::catalogue::SettingId;
use settings_model::claim::Evidence;
use settings_model::entry::Entry;
use settings_model::requirement::Rulebook;
use std::collections::BTreeMap;

/// Whose figure each function holds, by the function's key.
pub struct Reasons {
    held: BTreeMap<&'static str, Reason>,
    asked: BTreeMap<&'static str, Reason>,
}

/// Whose figure it is.
enum Reason {
    /// The device's own, and how that is known.
    Own(&'static str),
    /// That of who is named: asked of the device, or brought by the region selected on it.
    Of {
        /// `as asked`.
        how: &'static str,
        by: Origin,
        /// Whether others beside the one that decides are unverified, and that one is not.
        is_beside_unverified: bool,
    },
}

/// The setting that speaks for a function: the first of these that anybody states.
const SPEAKING: [&str; 9] = ["points", "threshold", "start", "deadband", "power-factor", "amount", "site-total", "per-phase", "soft"];

impl Reasons {
    /// Those of a device.
    pub fn of(held: &DeviceAtMoment<'_>) -> Self {
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

fn said<'r>(reason: Option<&'r Reason>, named: &mut Vec<&'r str>) -> String {
    match reason {
        None => String::new(),
        Some(Reason::Own(known)) => format!(", as the device is set ({known})"),
        Some(Reason::Of { how, by, is_beside_unverified }) => {
            let beside = if *is_beside_unverified { ", beside figures that are unverified" } else { "" };
            if named.contains(&by.who.as_str()) {
                let known = by.known.as_ref().map_or(String::new(), |known| format!(" ({known})"));
                return format!(", {how} by the same{known}{beside}");
            }
            named.push(&by.who);
            format!(", {how} by {by}{beside}")
        }
    }
}

fn by_function(of: impl Fn(SettingId) -> Option<Reason>) -> BTreeMap<&'static str, Reason> {
    let mut reasons: BTreeMap<&'static str, (usize, Reason)> = BTreeMap::new();
    for setting in SettingId::all() {
        let (function, key) = (setting.function().key, setting.parameter().key);
        let rank = SPEAKING.iter().position(|speaking| *speaking == key).or((key == "first").then_some(SPEAKING.len()));
        let Some(rank) = rank.filter(|rank| reasons.get(function).is_none_or(|(first, _)| rank < first)) else { continue };
        if let Some(reason) = of(setting) {
            reasons.insert(function, (rank, reason));
        }
    }
    reasons.into_iter().map(|(function, (_, reason))| (function, reason)).collect()
}

fn whose(held: &DeviceAtMoment<'_>, setting: SettingId) -> Option<Reason> {
    let own = held.holding.and_then(|holding| Some((holding, holding.settings.get(setting)?)));
    if let Some((holding, known)) = own {
        let known = known.evidence.or(holding.known_by).unwrap_or(Evidence::Statement);
        return Some(Reason::Own(known.phrase()));
    }
    let (book, counted) = held.asked.as_ref()?;
    let resolved = counted.requirement.get(setting)?;
    if held.region_stands && resolved.covered_by_region {
        return by("as the region selected on it brings it,", &resolved.base, &book.rulebook);
    }
    if held.holding.is_none() { asked(held, setting) } else { None }
}

fn asked(held: &DeviceAtMoment<'_>, setting: SettingId) -> Option<Reason> {
    let (book, counted) = held.asked.as_ref()?;
    by("as asked", &counted.requirement.get(setting)?.entry, &book.rulebook)
}

fn by(how: &'static str, entry: &Entry, rulebook: &Rulebook) -> Option<Reason> {
    let decided_by = entry.decided_by()?;
    let own = of_line(decided_by, rulebook);
    let is_unverified = |standing: Option<Standing>| standing.is_some_and(Standing::is_unverified);
    let is_beside_unverified = is_unverified(standing(entry, rulebook)) && !is_unverified(own);
    Some(Reason::Of { how, by: origin_of(decided_by, rulebook, &[], entry.setting), is_beside_unverified })
}
