//! All that is asked of one kind of equipment in a cell.

use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Bound, Claim, Limit, Term, WhyId};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::quantity::Amount;
use settings_model::requirement::Rulebook;
use settings_model::ties::space;

/// What is asked of one kind of equipment in a cell, and what holds of every site.
pub(crate) fn asked_in(rulebook: &Rulebook, kind: Equipment, facts: &Facts) -> Vec<Claim> {
    let requirement = rulebook.resolve(facts);
    let mut claims: Vec<Claim> = requirement.claims().chain(space(kind, WhyId::SITE_APPROVAL)).collect();
    if kind == Equipment::Installation {
        claims.extend(sums());
    }
    claims
}

/// The figures of an installation that are sums are those of its facts, and a site of one inverter on
/// every phase has no difference between phases.
fn sums() -> Vec<Claim> {
    let equal = |setting: SettingId, value: Amount| {
        let claim = |limit| Claim { on: Term::Var(setting.into()), limit, why: WhyId::SITE_APPROVAL };
        [claim(Limit::AtLeast(Bound::closed(value))), claim(Limit::AtMost(Bound::closed(value)))]
    };
    let of_fact = |setting, fact| equal(setting, Amount::times(Exact::ONE, fact));
    [
        of_fact(SettingId::of("site-rating", "nameplate-total"), FactId::NameplateTotal),
        of_fact(SettingId::of("site-rating", "limited-total"), FactId::LimitedTotal),
        equal(SettingId::of("site-rating", "phase-difference"), Amount::plain(Exact::ZERO)),
    ]
    .concat()
}
