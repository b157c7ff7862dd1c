//! Requirements that depend on facts a site does not state: every compatible cell is tried, and only
//! if all agree is there an answer.

use crate::judge::{DeviceSettings, MissingEvidence, UnmetClaim, UnmetKind, judge_entry};
use settings_model::catalogue::SettingId;
use settings_model::facts::{FactId, Facts};
use settings_model::requirement::{Resolved, Rulebook};

/// A setting whose entry depends on facts that a site does not state.
#[derive(Clone, Debug)]
pub struct Hanging {
    /// The setting.
    pub setting: SettingId,
    /// The facts.
    pub on: Vec<FactId>,
    /// The different entries that it may have.
    pub alternatives: Vec<Resolved>,
}

impl Hanging {
    /// Everything that hangs, where these facts are known.
    #[must_use]
    pub fn all(rulebook: &Rulebook, facts: &Facts) -> Vec<Self> {
        let hanging = rulebook.hanging(facts).into_iter();
        hanging.map(|(setting, on)| Self { setting, on, alternatives: rulebook.alternatives(setting, facts) }).collect()
    }
}

/// Replaces the verdict on each hanging setting by what all its alternatives agree on.
pub fn judge_hanging(
    hanging: &[Hanging],
    held: DeviceSettings<'_>,
    facts: &Facts,
    is_tie: impl Fn(&UnmetClaim) -> bool,
    faults: &mut Vec<UnmetClaim>,
) {
    for Hanging { setting, on, alternatives } in hanging {
        faults.retain(|fault| fault.setting != *setting || is_tie(fault));
        let (mut all_fail, mut all_hold, mut first) = (true, true, None);
        let state = setting.state().and_then(|state| hanging.iter().find(|other| other.setting == state));
        let is_idle = match state.filter(|state| state.setting != *setting) {
            Some(state) => state.alternatives.iter().all(|alternative| alternative.entry.keeps_off()),
            None => held.asked.keeps_idle(*setting),
        };
        for (n, alternative) in alternatives.iter().enumerate().filter(|_| !is_idle) {
            let mut own = Vec::new();
            judge_entry(alternative, held, facts, &mut own);
            all_fail &= own.iter().any(|fault| fault.kind == UnmetKind::Fails);
            all_hold &= own.iter().all(|fault| fault.kind == UnmetKind::SameResponse);
            if n == 0 || first.as_ref().is_none_or(Vec::is_empty) {
                first = Some(own);
            }
        }
        let first = first.unwrap_or_default();
        if all_fail {
            faults.extend(first);
        } else if let (false, Some(fault)) = (all_hold, first.into_iter().next()) {
            faults.push(UnmetClaim { kind: UnmetKind::NotProven(MissingEvidence::Hangs(on[0])), slack: None, ..fault });
        }
    }
    for state in hanging.iter().filter(|hangs| hangs.setting.is_state()) {
        judge_function(state, hanging, held, facts, &is_tie, faults);
    }
    if !hanging.is_empty() {
        faults.sort_by_key(|fault| fault.setting);
    }
}

/// Replaces the verdict on the settings of a function of which it hangs whether it has to be off, so
/// that they claim nothing.
fn judge_function(
    state: &Hanging,
    hanging: &[Hanging],
    held: DeviceSettings<'_>,
    facts: &Facts,
    is_tie: &impl Fn(&UnmetClaim) -> bool,
    faults: &mut Vec<UnmetClaim>,
) {
    let keeps_off = |alternative: &Resolved| alternative.entry.keeps_off();
    let (all_keep_off, some_keep_off) = (state.alternatives.iter().all(keeps_off), state.alternatives.iter().any(keeps_off));
    let hangs = |setting: SettingId| hanging.iter().any(|other| other.setting == setting);
    let of_function = held.asked.entries.iter().filter(|resolved| resolved.entry.setting.same_function(state.setting));
    for resolved in of_function.filter(|resolved| !hangs(resolved.entry.setting)) {
        faults.retain(|fault| fault.setting != resolved.entry.setting || is_tie(fault));
        let mut own = Vec::new();
        if !all_keep_off {
            judge_entry(resolved, held, facts, &mut own);
        }
        if some_keep_off {
            let hung = |fault| UnmetClaim { kind: UnmetKind::NotProven(MissingEvidence::Hangs(state.on[0])), slack: None, ..fault };
            faults.extend(own.into_iter().filter(|fault| fault.kind != UnmetKind::SameResponse).take(1).map(hung));
        } else {
            faults.extend(own);
        }
    }
}
