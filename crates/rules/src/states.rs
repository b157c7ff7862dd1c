//! Which claims bind: a claim on a function's parameter does so only while the function is enabled.

use settings_model::catalogue::{ENABLED, STATES, SettingId, Shape};
use settings_model::claim::{Claim, Evidence, Limit, Term, Var, Words};
use std::collections::BTreeMap;

/// Positions in [`STATES`].
const ABSENT: u8 = 0;
const OFF: u8 = 1;

/// The state of every function that a list of claims touches, by its state setting.
#[derive(Clone, Debug)]
pub(crate) struct States {
    /// `None` where the claims leave no state at all.
    chosen: BTreeMap<SettingId, Option<u8>>,
}

impl States {
    /// Among the states that the claims leave: enabled where `enable` says so and it is left, else
    /// off, absent, enabled in this order, so that as few claims as possible bind.
    pub(crate) fn choose(claims: &[Claim], enable: impl Fn(SettingId) -> bool) -> Self {
        let mut left: BTreeMap<SettingId, Words> = BTreeMap::new();
        for claim in claims {
            for state in claim.on.vars().filter_map(|var| var.setting.state()) {
                left.entry(state).or_insert(Words::first(STATES.len()));
            }
            if let (Term::Var(var), Limit::OneOf(words)) = (claim.on, &claim.limit) {
                left.entry(var.setting).and_modify(|now| *now = now.and(*words));
            }
        }
        let pick = |(state, left): (SettingId, Words)| {
            let order = if enable(state) { [ENABLED, OFF, ABSENT] } else { [OFF, ABSENT, ENABLED] };
            (state, order.into_iter().find(|word| left.has(*word)))
        };
        Self { chosen: left.into_iter().map(pick).collect() }
    }

    /// Whether the claims leave some function no state.
    pub(crate) fn contradict(&self) -> bool {
        self.chosen.values().any(Option::is_none)
    }

    /// Whether the function of this state setting is enabled.
    pub(crate) fn enabled(&self, state: SettingId) -> bool {
        self.chosen.get(&state) == Some(&Some(ENABLED))
    }

    /// Whether the claim binds.
    pub(crate) fn bind(&self, claim: &Claim) -> bool {
        functions(claim.on).all(|state| self.enabled(state))
    }

    /// The state chosen for each function.
    pub(crate) fn words(&self) -> impl Iterator<Item = (SettingId, u8)> {
        self.chosen.iter().filter_map(|(state, word)| word.map(|word| (*state, word)))
    }
}

/// The state settings that must be enabled for a claim on this term to bind.
pub(crate) fn functions(on: Term) -> impl Iterator<Item = SettingId> {
    on.vars().filter(|var| !var.setting.is_state()).filter_map(|var| var.setting.state())
}

/// Every word that a variable can have.
pub(crate) fn vocabulary(var: Var) -> Words {
    match var.setting.parameter().shape {
        Shape::Choice(words) => Words::first(words.len()),
        Shape::Quantity(_) | Shape::Curve { .. } => Words::default(),
    }
}

/// Every kind of evidence.
pub(crate) fn all_evidence() -> Words {
    Words::first(Evidence::ALL.len())
}
