//! What two devices hold, setting by setting: or one device, as found and as left.

use crate::judge::{DeviceSettings, UnmetKind, judge};
use crate::provenance::Verdict;
use settings_model::catalogue::SettingId;
use settings_model::curve::{at_site, largest_deviation};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Amount;
use settings_model::settings::{Known, Settings};
use settings_model::value::Value;
use std::collections::BTreeMap;

/// What one side holds, and the facts that its multiples count in.
#[derive(Clone, Copy, Debug)]
pub struct Side<'s> {
    /// The values.
    pub settings: &'s Settings,
    /// The facts of the site and the device.
    pub facts: &'s Facts,
}

/// A setting that the two sides do not hold alike.
#[derive(Clone, Debug)]
pub struct Difference<'s> {
    /// The setting.
    pub setting: SettingId,
    /// What the first side holds; `None` where it is not stated.
    pub old: Option<&'s Known>,
    /// What the second side holds; `None` where it is not stated.
    pub new: Option<&'s Known>,
    /// In what they differ.
    pub by: By,
}

/// In what two values differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Only one side states it.
    OneSideOnly,
    /// The second less the first, in base units.
    Amount(Exact),
    /// Other words, or a time against "never".
    Kind,
    /// The second response less the first, where they lie farthest apart.
    Response {
        /// How far apart, in base units of the following axis.
        by: Exact,
        /// Where on the measured axis, in base units.
        at: Exact,
    },
    /// The response is equal, the entries differ.
    EntriesOnly,
    /// It depends on a fact that is not stated.
    Unknown,
}

/// Every setting that is not held alike, in catalogue order.
#[must_use]
pub fn differences<'s>(old: Side<'s>, new: Side<'s>) -> Vec<Difference<'s>> {
    let of_setting = |setting| {
        let (one, other) = (old.settings.get(setting), new.settings.get(setting));
        let by = match (one, other) {
            (None, None) => return None,
            (Some(one), Some(other)) => between((&one.value, old.facts), (&other.value, new.facts))?,
            _ => By::OneSideOnly,
        };
        Some(Difference { setting, old: one, new: other, by })
    };
    SettingId::all().filter_map(of_setting).collect()
}

/// `None` where both are the same value, however it is written.
pub(super) fn between((old, old_facts): (&Value, &Facts), (new, new_facts): (&Value, &Facts)) -> Option<By> {
    match (old, new) {
        (Value::Quantity(one), Value::Quantity(other)) => {
            let (Some(one), Some(other)) = (one.at(old_facts), other.at(new_facts)) else { return unless_alike(*one, *other) };
            (one != other).then(|| By::Amount(other - one))
        }
        (Value::Curve(one), Value::Curve(other)) => {
            let (Some(one), Some(other)) = (at_site(one, old_facts), at_site(other, new_facts)) else {
                return (one != other).then_some(By::Unknown);
            };
            if one == other {
                return None;
            }
            // two curves without a deviation are one response, written with other points
            Some(largest_deviation(&one, &other).map_or(By::EntriesOnly, |deviation| By::Response { by: deviation.by, at: deviation.at }))
        }
        _ => (old != new).then_some(By::Kind),
    }
}

fn unless_alike(one: Amount, other: Amount) -> Option<By> {
    match one.of == other.of {
        true => (one.number != other.number).then_some(By::Unknown),
        false => Some(By::Unknown),
    }
}

/// What the requirement comes to for each setting that it asks for and the device states.
#[must_use]
pub fn standings(held: DeviceSettings<'_>, facts: &Facts) -> BTreeMap<SettingId, Verdict> {
    let asked = held.asked.entries.iter().filter(|r| !r.entry.demands_nothing() && !r.entry.is_gap());
    let stated = asked.map(|r| r.entry.setting).filter(|setting| held.settings.get(*setting).is_some());
    let mut standings: BTreeMap<SettingId, Verdict> = stated.map(|setting| (setting, Verdict::Complies)).collect();
    let mut faults = Vec::new();
    judge(held, facts, &mut faults);
    for fault in faults {
        let verdict = match fault.kind {
            UnmetKind::Fails => Verdict::DoesNotComply,
            UnmetKind::NotProven(_) => Verdict::NotProven,
            UnmetKind::SameResponse => Verdict::Complies,
        };
        if held.settings.get(fault.setting).is_some() {
            standings.entry(fault.setting).and_modify(|now| *now = verdict.max(*now)).or_insert(verdict);
        }
    }
    standings
}
