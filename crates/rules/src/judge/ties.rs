//! Ties between two settings of a device, or a setting and a fact of its site.

use super::{
    DeviceSettings, MissingEvidence, Satisfaction, UnmetClaim, UnmetKind, fact_of, is_set_point, is_switched_off, judge_claim, keeps,
    resolution, rounded_off,
};
use settings_model::catalogue::SettingId;
use settings_model::claim::{Claim, Limit, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Amount;

/// Whether a device holds what its requirement asks for to the digit, as near as its display tells.
pub(crate) fn is_as_required(setting: SettingId, held: DeviceSettings<'_>, facts: &Facts) -> bool {
    let (Some(known), Some(resolved)) = (held.settings.get(setting), held.asked.get(setting)) else { return false };
    let entry = &resolved.entry;
    let is_pinned = |claim: &Claim| claim.bound().is_none() || is_set_point(claim, &entry.comply);
    let holds = |claim: &Claim| judge_claim(claim, &entry.comply, known, held, facts).satisfaction == Satisfaction::Holds;
    entry.require.as_ref() == Some(&known.value)
        || (known.rounds() && entry.require.is_some() && entry.comply.iter().all(|claim| is_pinned(claim) && holds(claim)))
}

/// A tie binds where both sides are stated and act. Of values that are shown in steps it is kept where it is by all
/// that they may stand for; two that are as required keep it as what is required does.
pub(super) fn judge_tie(tie: &Claim, held: DeviceSettings<'_>, facts: &Facts, faults: &mut Vec<UnmetClaim>) {
    let stated = |var: Var| held.settings.get(var.setting).filter(|_| !is_switched_off(var.setting, held));
    let read = |var: Var| stated(var)?.value.part(var.part);
    let Some(bound) = tie.bound() else { return };
    let subject = tie.on.subject();
    let Some(x) = read(subject) else { return };
    let y = match tie.on {
        Term::Var(_) => None,
        Term::Gap(_, y) => match read(y) {
            Some(y) => Some(y),
            None => return,
        },
    };
    let off = tie.on.vars().fold(Exact::ZERO, |off, var| off + rounded_off(stated(var), var.part));
    if let Some(y) = y
        && off == Exact::ZERO
        && [x, y, bound.value].iter().all(|amount| amount.of.is_none())
        && bound.value.number == Exact::ZERO
        && keeps(&tie.limit, x.number, y.number, bound.open)
    {
        return; // the common case: one plain value against another
    }
    let unknown = [Some(bound.value), Some(x), y].into_iter().flatten().find(|amount| amount.at(facts).is_none());
    let fault = |kind, slack| UnmetClaim { slack, ..UnmetClaim::bare(subject.setting, tie, kind) };
    if let Some(amount) = unknown {
        faults.push(fault(UnmetKind::NotProven(MissingEvidence::Fact(fact_of(amount))), None));
        return;
    }
    let at = |amount: Amount| amount.at(facts).unwrap_or_default();
    let value = y.map_or(at(x), |y| at(x) - at(y));
    let slack = if matches!(tie.limit, Limit::AtMost(_)) { at(bound.value) - value } else { value - at(bound.value) };
    match resolution::of_limit(slack, bound.open, (off + off, false)) {
        Satisfaction::Holds => {}
        Satisfaction::Fails => faults.push(fault(UnmetKind::Fails, Some(slack))),
        Satisfaction::NotProven(lack) => {
            let are_as_required = || y.is_some() && tie.on.vars().all(|var| is_as_required(var.setting, held, facts));
            if !is_equality(tie, held) && !are_as_required() {
                faults.push(fault(UnmetKind::NotProven(lack), Some(slack)));
            }
        }
    }
}

/// Whether a tie asks that two values are the same: there is one the other way round. What rounds to the same is taken
/// to be so, as of a set point.
fn is_equality(tie: &Claim, held: DeviceSettings<'_>) -> bool {
    let Term::Gap(x, y) = tie.on else { return false };
    held.asked.ties.iter().any(|other| other.on == Term::Gap(y, x) && other.limit == tie.limit)
}
