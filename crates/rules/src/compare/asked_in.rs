//! All that is asked of one kind of equipment in a cell.

use crate::practice::has_to_act;
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::claim::{Bound, Claim, Limit, ProvenanceId, Term, Words};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::requirement::Rulebook;
use settings_model::ties::space;

/// What is asked of one kind of equipment in a cell, and what holds of every site.
pub(crate) fn asked_in(rulebook: &Rulebook, kind: Equipment, facts: &Facts) -> Vec<Claim> {
    let requirement = rulebook.resolve(facts);
    let mut claims: Vec<Claim> = requirement.claims().chain(space(kind, ProvenanceId::SITE_APPROVAL)).collect();
    match kind {
        Equipment::Installation => claims.extend(sums()),
        // what no claim says, and a rule does
        Equipment::Inverter => claims.extend(has_to_act(&requirement).map(enabled)),
        Equipment::GridProtectionRelay => {}
    }
    claims
}

fn enabled(state: SettingId) -> Claim {
    Claim { on: Term::Var(state.into()), limit: Limit::OneOf(Words::one(ENABLED)), why: ProvenanceId::SITE_APPROVAL }
}

/// The figures of an installation that are sums are those of its facts, and a site of one inverter on
/// every phase has no difference between phases.
fn sums() -> Vec<Claim> {
    let equal = |setting: SettingId, value: Amount| {
        let claim = |limit| Claim { on: Term::Var(setting.into()), limit, why: ProvenanceId::SITE_APPROVAL };
        [claim(Limit::AtLeast(Bound::closed(value))), claim(Limit::AtMost(Bound::closed(value)))]
    };
    let of_facts = SUMS.into_iter().flat_map(|(setting, fact)| equal(setting, Amount::times(Exact::ONE, fact)));
    of_facts.chain(equal(SettingId::of("site-rating", "phase-difference"), Amount::plain(Exact::ZERO))).collect()
}

/// The figures of an installation that are facts of its site.
const SUMS: [(SettingId, FactId); 2] = [
    (SettingId::of("site-rating", "nameplate-total"), FactId::NameplateTotal),
    (SettingId::of("site-rating", "limited-total"), FactId::LimitedTotal),
];

/// The fact of a site that a figure of its installation is.
pub(crate) fn sum_of_fact(setting: SettingId) -> Option<FactId> {
    SUMS.into_iter().find(|(sum, _)| *sum == setting).map(|(_, fact)| fact)
}
