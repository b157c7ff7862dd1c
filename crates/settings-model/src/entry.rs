//! Layering: how a standard, overlays and site-specific approvals become one entry per setting.
//!
//! Laying is a fold from the standard upwards and is not commutative. Silence inherits; `require`
//! and `comply` replace what complies; `also` adds to it; `adjustable` replaces the range that the
//! entitled may move the value in; `evidence` replaces how the value has to be known. Stating a parameter never switches
//! a function on, but for a limit on power of which no layer says whether it acts: who asks for it asks that it does.

use crate::catalogue::{ENABLED, SettingId};
use crate::cells::{Condition, all_hold};
use crate::claim::{Claim, Limit, ProvenanceId, Term};
use crate::facts::Facts;
use crate::quantity::Amount;
use crate::source::Place;
use crate::value::Value;

/// Who may move a value within its adjustable range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Who {
    /// Nobody: it is fixed by the standard.
    #[default]
    Nobody,
    /// The network operator, or somebody on its written word.
    NetworkOperator,
    /// The licensed installer.
    Installer,
}

impl Who {
    /// Everybody, least entitled first.
    pub const ALL: [Self; 3] = [Self::Nobody, Self::NetworkOperator, Self::Installer];

    /// The words in files and in print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Nobody => "nobody",
            Self::NetworkOperator => "network operator",
            Self::Installer => "installer",
        }
    }
}

/// What one layer says of one setting, for the sites it says it of.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The setting.
    pub setting: SettingId,
    /// Disjoint cases, tried in order; the first that holds speaks.
    pub cases: Vec<Case>,
    /// What is said where no case holds; `None` leaves it as the layer below.
    pub otherwise: Option<Verbs>,
    /// The line that asks by several cases and has no word for the other sites; `None` where there is one.
    pub no_case: Option<ProvenanceId>,
    /// Where the layer speaks of the setting.
    pub place: Place,
}

/// What a layer says of one setting at one site.
#[derive(Clone, Copy, Debug)]
pub enum LayerStatement<'s> {
    /// This.
    Verbs(&'s Verbs),
    /// Nothing, and the layer below speaks.
    Nothing,
    /// It asks by cases, and none is for such a site.
    NoCase(ProvenanceId),
}

impl Stated {
    /// What is said of a site. A condition on an unknown fact is taken as not holding.
    #[must_use]
    pub fn of(&self, facts: &Facts) -> LayerStatement<'_> {
        let speaking = self.cases.iter().find(|case| all_hold(&case.when, facts) == Some(true)).map(|case| &case.verbs);
        match (speaking.or(self.otherwise.as_ref()), self.no_case) {
            (Some(verbs), _) => LayerStatement::Verbs(verbs),
            (None, Some(line)) if self.is_uncovered(facts) => LayerStatement::NoCase(line),
            (None, _) => LayerStatement::Nothing,
        }
    }

    /// Whether no case can hold for a site, whatever else is known of it.
    #[must_use]
    pub fn is_uncovered(&self, facts: &Facts) -> bool {
        self.cases.iter().all(|case| all_hold(&case.when, facts) == Some(false))
    }
}

/// One case: what is said of the sites for which every condition holds.
#[derive(Clone, Debug)]
pub struct Case {
    /// All must hold; none at all means every site.
    pub when: Vec<Condition>,
    /// What is said.
    pub verbs: Verbs,
}

/// What a layer says, by verb. Absent verbs leave the layer below as it is.
#[derive(Clone, Debug, Default)]
pub struct Verbs {
    /// The value required; complies: just that value, unless `comply` says more.
    pub require: Option<(Value, ProvenanceId)>,
    /// Replaces what complies.
    pub comply: Option<Vec<Claim>>,
    /// Adds to what must hold.
    pub also: Vec<Claim>,
    /// Replaces how the value has to be known.
    pub evidence: Option<Vec<Claim>>,
    /// Replaces the range in which the entitled may move the value.
    pub adjustable: Option<Vec<Claim>>,
    /// Why the range reaches outside the one below.
    pub outside_because: Option<Place>,
    /// The steps in which that range can be set.
    pub step: Option<Amount>,
    /// Who may move it.
    pub moved_by: Option<Who>,
    /// There is a demand here that the tool has not seen.
    pub gap: Option<ProvenanceId>,
    /// The line all this stands on.
    pub why: Option<ProvenanceId>,
}

/// What holds for one setting after all layers.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The setting.
    pub setting: SettingId,
    /// The value to set, if a layer names one.
    pub require: Option<Value>,
    /// What complies: every claim must hold.
    pub comply: Vec<Claim>,
    /// The range in which the entitled may move the value.
    pub adjustable: Vec<Claim>,
    /// The steps in which that range can be set, counted from its lower end.
    pub step: Option<Amount>,
    /// Who may.
    pub moved_by: Who,
    /// Every line that had a say, lowest layer first.
    pub trace: Vec<ProvenanceId>,
}

impl Entry {
    /// An entry of which no layer has spoken yet.
    #[must_use]
    pub fn unstated(setting: SettingId) -> Self {
        Self { setting, require: None, comply: Vec::new(), adjustable: Vec::new(), step: None, moved_by: Who::Nobody, trace: Vec::new() }
    }

    /// The state of a function of which `limit` is asked, a limit on power, where no layer says whether it acts: a
    /// limit that is off is no limit.
    #[must_use]
    pub fn enabled_for(state: SettingId, limit: &Self) -> Self {
        let asked = limit.comply.iter().find(|claim| !claim.is_about_evidence()).filter(|_| !limit.is_gap());
        let Some(asked) = asked else { return Self::unstated(state) };
        let enabled = Value::Word(ENABLED);
        Self { comply: enabled.exactly(state, asked.why), require: Some(enabled), trace: vec![asked.why], ..Self::unstated(state) }
    }

    /// Whether any layer demands anything.
    #[must_use]
    pub fn demands_nothing(&self) -> bool {
        self.comply.is_empty()
    }

    /// Of a state: whether the function may not be enabled.
    #[must_use]
    pub fn keeps_off(&self) -> bool {
        self.comply.iter().any(|claim| matches!(claim.limit, Limit::OneOf(words) if !words.has(ENABLED)))
    }

    /// Whether the demand exists but was not seen.
    #[must_use]
    pub fn is_gap(&self) -> bool {
        self.comply.iter().any(|claim| matches!(claim.limit, Limit::NotSeen))
    }

    /// Whether nothing was seen of what is asked, so that no value can be held against it.
    #[must_use]
    pub fn is_all_gap(&self) -> bool {
        !self.comply.is_empty() && self.comply.iter().all(|claim| matches!(claim.limit, Limit::NotSeen))
    }

    /// The demand of a layer that asks by cases and has none for such a site.
    #[must_use]
    pub fn no_case(&self) -> Option<&Claim> {
        self.comply.iter().find(|claim| matches!(claim.limit, Limit::NoCase))
    }

    /// Whether all that is asked is a range in which the network operator says the value, and no layer
    /// says one: a value outside is wrong, and of one inside nobody can tell.
    #[must_use]
    pub fn is_left_open(&self) -> bool {
        let mut asked = self.comply.iter().filter(|claim| !claim.is_about_evidence()).peekable();
        let is_open = self.require.is_none() && self.moved_by == Who::NetworkOperator && asked.peek().is_some();
        is_open && asked.all(|claim| self.adjustable.contains(claim))
    }

    /// The line that had the last word.
    #[must_use]
    pub fn decided_by(&self) -> Option<ProvenanceId> {
        self.trace.last().copied()
    }
}

/// Lays what one layer says of a site over the entry below.
#[must_use]
pub fn lay_said(below: Entry, said: LayerStatement<'_>) -> Entry {
    match said {
        LayerStatement::Verbs(verbs) => lay(below, verbs),
        LayerStatement::Nothing => below,
        LayerStatement::NoCase(line) => without_case(below, line),
    }
}

/// What the layers below ask is asked all the same, and beside it something that nobody can tell: no value is known
/// to be right.
fn without_case(mut below: Entry, line: ProvenanceId) -> Entry {
    below.trace.push(line);
    below.require = None;
    below.comply.push(Claim { on: Term::Var(below.setting.into()), limit: Limit::NoCase, why: line });
    below
}

/// Lays what one layer says over the entry below.
#[must_use]
pub fn lay(mut below: Entry, verbs: &Verbs) -> Entry {
    below.trace.extend(verbs.why);
    if let Some(why) = verbs.gap {
        below.require = None;
        below.comply = vec![Claim { on: Term::Var(below.setting.into()), limit: Limit::NotSeen, why }];
        return below;
    }
    // a value that is restated still has to be known as the layers below ask, until one says otherwise
    let asked: Vec<Claim> = below.comply.iter().filter(|claim| claim.is_about_evidence()).cloned().collect();
    below.comply.retain(|claim| !claim.is_about_evidence());
    if let Some((value, why)) = &verbs.require {
        below.comply = value.exactly(below.setting, *why);
        below.require = Some(value.clone());
    }
    if let Some(claims) = &verbs.comply {
        below.comply.clone_from(claims);
        if verbs.require.is_none() {
            below.require = None;
        }
    }
    if let Some(range) = &verbs.adjustable {
        below.adjustable.clone_from(range);
        if below.comply.is_empty() {
            below.comply.clone_from(range);
        }
    }
    below.comply.extend_from_slice(&verbs.also);
    below.comply.extend_from_slice(verbs.evidence.as_ref().unwrap_or(&asked));
    below.step = verbs.step.or(below.step);
    below.moved_by = verbs.moved_by.unwrap_or(below.moved_by);
    below
}
