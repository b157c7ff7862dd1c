//! An example of a site, and whether it keeps a claim.

use settings_model::catalogue::{ENABLED, SettingId};
use settings_model::claim::{Bound, Claim, Evidence, Limit, Part, Term, Var, Words};
use settings_model::curve::{at_site, rises_above};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::notation::MAX_POINTS;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// What one device holds, how it is known, and the facts of its site: as far as a question needs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Witness {
    /// Numbers in base units, and words, for every variable of the question that binds.
    pub settings: BTreeMap<Var, WitnessValue>,
    /// How a value is known, where a claim demands evidence.
    pub evidence: BTreeMap<Var, Evidence>,
    /// The facts that were given, and a value for each one that the question needed besides.
    pub facts: Facts,
}

/// The value of one part of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WitnessValue {
    /// In base units.
    Number(Exact),
    /// An index into the catalogue's list.
    Word(u8),
}

impl Witness {
    /// The number of a variable, if it has one.
    #[must_use]
    pub fn number(&self, var: Var) -> Option<Exact> {
        match self.settings.get(&var) {
            Some(WitnessValue::Number(number)) => Some(*number),
            _ => None,
        }
    }

    /// The word of a variable, if it has one.
    #[must_use]
    pub fn word(&self, var: Var) -> Option<u8> {
        match self.settings.get(&var) {
            Some(WitnessValue::Word(word)) => Some(*word),
            _ => None,
        }
    }

    /// The curve of a setting in base units, if the example has all of its points.
    #[must_use]
    pub fn curve(&self, setting: SettingId) -> Option<Vec<(Exact, Exact)>> {
        let part = |part| self.number(Var { setting, part });
        let count = part(Part::PointCount)?;
        let points = (0..MAX_POINTS as u8).take_while(|n| Exact::from(i64::from(*n)) < count);
        points.map(|n| Some((part(Part::X(n))?, part(Part::Y(n))?))).collect()
    }

    /// Whether the function of a variable is off or absent, so that nothing is demanded of it.
    fn is_idle(&self, var: Var) -> bool {
        let state = var.setting.state().filter(|_| !var.setting.is_state());
        state.and_then(|state| self.word(state.into())).is_some_and(|word| word != ENABLED)
    }
}

/// Whether the example keeps the claim: yes too where the claim does not bind, because a function
/// is off or absent. `None` when the example does not say, or the demand has not been seen.
///
/// It reads the claim directly and shares nothing with the search that finds examples.
#[must_use]
pub fn keeps(claim: &Claim, witness: &Witness) -> Option<bool> {
    if claim.on.vars().any(|var| witness.is_idle(var)) {
        return Some(true);
    }
    let reading = || match claim.on {
        Term::Var(x) => witness.number(x),
        Term::Gap(x, y) => Some(witness.number(x)? - witness.number(y)?),
    };
    let against = |bound: Bound| Some((reading()?.cmp(&bound.value.at(&witness.facts)?), bound.open));
    let known_by = |kinds: Words| {
        let mut all = Some(true);
        for var in claim.on.vars() {
            match witness.evidence.get(&var) {
                Some(kind) if kinds.has(*kind as u8) => {}
                Some(_) => return Some(false),
                None => all = None,
            }
        }
        all
    };
    match (&claim.limit, claim.on) {
        (Limit::AtLeast(bound), _) => {
            against(*bound).map(|(order, open)| order == Ordering::Greater || (!open && order == Ordering::Equal))
        }
        (Limit::AtMost(bound), _) => against(*bound).map(|(order, open)| order == Ordering::Less || (!open && order == Ordering::Equal)),
        (Limit::OneOf(words), Term::Var(var)) => witness.word(var).map(|word| words.has(word)),
        (Limit::Above(line), Term::Var(var)) => Some(rises_above(&at_site(line, &witness.facts)?, &witness.curve(var.setting)?).is_none()),
        (Limit::Below(line), Term::Var(var)) => Some(rises_above(&witness.curve(var.setting)?, &at_site(line, &witness.facts)?).is_none()),
        (Limit::Stated(kinds), _) => known_by(*kinds),
        (Limit::OneOf(_) | Limit::Above(_) | Limit::Below(_), Term::Gap(..)) | (Limit::NotSeen | Limit::NoCase, _) => None,
    }
}
