//! Requirements that hang on facts a site does not state: every compatible cell is tried, and only
//! if all agree is there an answer.

use crate::judge::{Fault, FaultKind, Held, Lack, judge_entry};
use settings_model::catalogue::SettingId;
use settings_model::facts::{FactId, Facts};
use settings_model::requirement::Rulebook;

/// Replaces the verdict on each hanging setting by what all its alternatives agree on.
pub fn judge_hanging(rulebook: &Rulebook, hanging: &[(SettingId, Vec<FactId>)], held: Held<'_>, facts: &Facts, faults: &mut Vec<Fault>) {
    for (setting, unknown) in hanging {
        let tie = |fault: &Fault| rulebook.is_tie(fault.claim.why);
        faults.retain(|fault| fault.setting != *setting || tie(fault));
        let answers: Vec<Vec<Fault>> = rulebook
            .alternatives(*setting, facts)
            .iter()
            .map(|alternative| {
                let mut own = Vec::new();
                judge_entry(alternative, held, facts, &mut own);
                own
            })
            .collect();
        let all_fail = answers.iter().all(|own| own.iter().any(|fault| fault.kind == FaultKind::Fails));
        let all_hold = answers.iter().all(|own| own.iter().all(|fault| fault.kind == FaultKind::SameResponse));
        if all_fail {
            faults.extend(answers.into_iter().next().unwrap_or_default());
        } else if let (false, Some(fault)) = (all_hold, answers.iter().flatten().next()) {
            faults.push(Fault { kind: FaultKind::NotProven(Lack::Hangs(unknown[0])), slack: None, ..fault.clone() });
        }
    }
    faults.sort_by_key(|fault| fault.setting);
}
