//! Zero export: what a site that may export nothing asks of its inverters, whatever its layers say of export.
//!
//! Its limit is on and stands at 0 W. A network operator that means something else says so in its overlay, with
//! a case for `export-kind: none` on the limit.

use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Bound, Claim, Limit, ProvenanceId, Term};
use settings_model::entry::Verbs;
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Amount;
use settings_model::requirement::Rulebook;
use settings_model::value::Value;

const STATE: SettingId = SettingId::of("export-limit", "state");
const LIMIT: SettingId = SettingId::of("export-limit", "site-total");

/// Whether a setting is one of those that a site that exports nothing has to hold, whoever asks.
pub(crate) fn is_held_at_zero(setting: SettingId) -> bool {
    [STATE, LIMIT].contains(&setting)
}

/// What is laid over the layers of a site that exports nothing.
pub(super) fn zero(rulebook: &Rulebook, facts: &Facts) -> Vec<(SettingId, Verbs)> {
    let mut laid = Vec::new();
    let why = ProvenanceId::NO_EXPORT;
    if !rulebook.defines_no_export(STATE, facts) && !rulebook.defines_no_export(LIMIT, facts) {
        let is_asked = rulebook.entry(STATE, facts).is_some_and(|state| state.entry.require == Some(Value::Word(ENABLED)));
        if !is_asked {
            laid.push((STATE, Verbs { require: Some((Value::Word(ENABLED), why)), why: Some(why), ..Verbs::default() }));
        }
        let nothing = Limit::AtMost(Bound::closed(Amount::plain(Exact::ZERO)));
        let also = vec![Claim { on: Term::Var(LIMIT.into()), limit: nothing, why }];
        // where no case of a layer is for such a site, this is all that is asked
        let has_no_case = rulebook.entry(LIMIT, facts).is_some_and(|limit| limit.entry.no_case().is_some());
        let verbs = Verbs { why: Some(why), ..Verbs::default() };
        laid.push((LIMIT, if has_no_case { Verbs { comply: Some(also), ..verbs } } else { Verbs { also, ..verbs } }));
    }
    laid
}
