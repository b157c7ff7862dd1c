//! What two versions say of a setting, case by case, and what is said of the difference: at a site, may a
//! value that complied comply no longer, may one comply that did not?
//!
//! The solver reads the cases with their conditions as they are written and does the laying itself; here
//! the changes are those that `diff` prints, each with the sites that it is said to concern.

use super::problem::Count;
use super::written;
use rules::compare::sets::Relation;
use rules::compare::versions::Change;
use rules::exercise::chance::Chance;
use serde_json::{Map, Value as Json, json};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::{Condition, FactTest};
use settings_model::claim::{Claim, LayerId, Limit, ProvenanceId};
use settings_model::entry::{Stated, Verbs};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactShape, FactValue, Facts};
use settings_model::requirement::Rulebook;
use settings_model::ties::space;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// One setting of two versions.
pub struct Between {
    pub setting: SettingId,
    /// As the solver's script reads it.
    pub problem: Json,
    pub sites: Vec<Facts>,
    /// What is said of the difference.
    pub changes: Vec<Change>,
}

/// `None` where neither speaks of the setting, or what either says is not for the solver: what was not seen,
/// lines around a response, a fact that is both multiplied and asked for, the state of a limit on power, which is
/// asked for by the limit as well.
pub fn of_rulebooks(setting: SettingId, books: [&Rulebook; 2], kind: Equipment, changes: &Rc<Vec<Change>>) -> Option<Between> {
    let state = setting.state().filter(|state| *state != setting);
    let own = books.map(|book| book.stated(setting));
    let states = books.map(|book| state.map_or(&[][..], |state| book.stated(state)));
    if own.iter().all(|layers| layers.is_empty()) {
        return None;
    }
    let of_space: Vec<Claim> =
        space(kind, ProvenanceId::SITE_APPROVAL).into_iter().filter(|claim| claim.on.subject().setting == setting).collect();
    let layers = || own.iter().copied().flatten();
    let every_verb = || layers().flat_map(|(_, said)| said.cases.iter().map(|case| &case.verbs).chain(&said.otherwise));
    let claims: Vec<Claim> = every_verb().flat_map(|verbs| claims_of(setting, verbs)).chain(of_space.clone()).collect();
    let multiplied: BTreeSet<FactId> = claims.iter().filter_map(|claim| claim.bound()?.value.of).collect();
    // a stage's other settings may tell sites apart too
    let same_function = SettingId::all().filter(|other| other.same_function(setting));
    let conditions: Vec<Condition> =
        same_function.flat_map(|other| books.map(|book| book.conditions_on(other).copied().collect::<Vec<_>>())).flatten().collect();
    if setting.limits_switched().next().is_some()
        || every_verb().any(|verbs| verbs.gap.is_some())
        || !claims.iter().all(written::is_asked_about)
        || conditions.iter().any(|condition| multiplied.contains(&condition.fact))
    {
        return None;
    }
    let side = |n: usize| json!({ "state": state.map(|_| written_layers(states[n])), "own": written_layers(own[n]) });
    let problem = problem(
        setting,
        written::variables(claims.iter().flat_map(|claim| claim.on.vars())),
        written::facts(claims.iter(), &Facts::default()),
        &of_space,
        [side(0), side(1)],
        &conditions,
    );
    let changes = changes.iter().filter(|change| change.setting == setting).cloned().collect();
    Some(Between { setting, sites: sites(&conditions), problem, changes })
}

/// The whole problem, with the sites that are asked about.
pub fn problem(
    setting: SettingId,
    variables: Json,
    multiplied: Map<String, Json>,
    of_space: &[Claim],
    sides: [Json; 2],
    conditions: &[Condition],
) -> Json {
    let mut facts = multiplied;
    facts.extend(conditions.iter().map(|condition| (condition.fact.row().key.to_owned(), written::possible(condition.fact))));
    json!({
        "setting": setting.to_string(),
        "variables": variables,
        "facts": facts,
        "space": of_space.iter().map(written::claim).collect::<Vec<_>>(),
        "sides": sides,
        "sites": sites(conditions).iter().map(written::site).collect::<Vec<_>>(),
    })
}

fn claims_of(setting: SettingId, verbs: &Verbs) -> Vec<Claim> {
    let required = verbs.require.iter().flat_map(|(value, why)| value.exactly(setting, *why));
    let lists = [&verbs.comply, &verbs.evidence, &verbs.adjustable];
    required.chain(lists.into_iter().flatten().flatten().cloned()).chain(verbs.also.iter().cloned()).collect()
}

fn written_layers(layers: &[(LayerId, Stated)]) -> Json {
    let statement = |said: &Stated| {
        let cases = said.cases.iter().map(
            |case| json!({ "when": case.when.iter().map(condition).collect::<Vec<_>>(), "says": written_verbs(said.setting, &case.verbs) }),
        );
        json!({ "cases": cases.collect::<Vec<_>>(), "otherwise": said.otherwise.as_ref().map(|verbs| written_verbs(said.setting, verbs)) })
    };
    layers.iter().map(|(_, said)| statement(said)).collect()
}

fn written_verbs(setting: SettingId, verbs: &Verbs) -> Json {
    let list = |claims: &[Claim]| {
        claims.iter().filter(|claim| !matches!(claim.limit, Limit::Stated(_) | Limit::NotSeen)).map(written::claim).collect::<Vec<_>>()
    };
    let required = verbs.require.as_ref().map(|(value, why)| value.exactly(setting, *why));
    json!({
        "unseen": verbs.gap.is_some(),
        "comply": verbs.comply.as_ref().or(required.as_ref()).map(|claims| list(claims)),
        "also": list(&verbs.also),
        "adjustable": verbs.adjustable.as_ref().map(|claims| list(claims)),
    })
}

pub fn condition(condition: &Condition) -> Json {
    let bound = |bound: Option<settings_model::claim::Bound>| bound.map(|bound| json!([bound.value.number.to_string(), bound.open]));
    match condition.test {
        FactTest::OneOf(words) => json!({ "fact": condition.fact.row().key, "one-of": words.iter().collect::<Vec<_>>() }),
        FactTest::Within { low, high } => json!({ "fact": condition.fact.row().key, "low": bound(low), "high": bound(high) }),
    }
}

/// Of the sites at and beside every edge of these conditions, so many.
const SITES: usize = 24;

/// Sites at and beside every edge.
pub fn sites(conditions: &[Condition]) -> Vec<Facts> {
    let mut values: BTreeMap<FactId, BTreeSet<FactValue>> = BTreeMap::new();
    for condition in conditions {
        let of_fact = values.entry(condition.fact).or_default();
        match (condition.fact.row().shape, condition.test) {
            (FactShape::Choice(words), _) => of_fact.extend((0..words.len() as u8).map(FactValue::Word)),
            (_, FactTest::Within { low, high }) => {
                for edge in low.iter().chain(&high).map(|bound| bound.value.number) {
                    let step = if condition.fact.is_whole() { Exact::ONE } else { Exact::new(1, 3) };
                    of_fact.extend([edge - step, edge, edge + step].map(FactValue::Number));
                }
            }
            (_, FactTest::OneOf(_)) => {}
        }
    }
    for (fact, values) in &mut values {
        let (low, high) = fact.possible();
        let is_possible = |value: &FactValue| match value {
            FactValue::Word(_) => true,
            FactValue::Number(number) => {
                low.is_none_or(|low| *number > Exact::from(low.at) || (!low.open && *number == Exact::from(low.at)))
                    && high.is_none_or(|high| *number < Exact::from(high.at) || (!high.open && *number == Exact::from(high.at)))
            }
        };
        values.retain(is_possible);
    }
    let values: Vec<(FactId, Vec<FactValue>)> = values.into_iter().map(|(fact, values)| (fact, values.into_iter().collect())).collect();
    let total = values.iter().fold(1usize, |n, (_, values)| n.saturating_mul(values.len()));
    let of_number = |mut n: usize| {
        let mut facts = Facts::default();
        for (fact, values) in &values {
            facts.set(*fact, values[n % values.len()]);
            n /= values.len();
        }
        facts
    };
    if total <= SITES {
        return (0..total).map(of_number).collect();
    }
    let mut chance = Chance::new(total as u64, values.len() as u64);
    (0..SITES).map(|_| of_number(chance.below(total))).collect()
}

impl Between {
    /// Compares what is said with what the solver says, site by site and of all sites together.
    pub fn compare(&self, answer: &Json) -> Vec<Count> {
        let at_sites = answer["sites"].as_str().unwrap();
        assert_eq!(at_sites.len(), self.sites.len());
        let mut counts: Vec<Count> = self.sites.iter().zip(at_sites.chars()).map(|(site, theirs)| self.compare_at(site, theirs)).collect();
        let (mut lost, mut gained, mut may_lose) = (false, false, false);
        for change in &self.changes {
            if let Relation::Unproven(_) = change.relation {
                return counts;
            }
            lost |= matches!(change.relation, Relation::Narrower(_) | Relation::Moved { .. });
            gained |= matches!(change.relation, Relation::Wider(_) | Relation::Moved { .. });
            may_lose |= change.relation == Relation::Added;
        }
        let of = || format!("{}: {:?}\nthe solver says {answer}\n{}", self.setting, self.changes, self.problem);
        assert!(answer["lost"] == lost || (answer["lost"] == true && may_lose), "{}", of());
        assert!(answer["gained"] == gained || self.changes.iter().any(|change| change.relation == Relation::Removed), "{}", of());
        counts.push(("of all sites", 1));
        counts
    }

    fn compare_at(&self, site: &Facts, theirs: char) -> Count {
        let here: Vec<&Change> = self.changes.iter().filter(|change| change.sites.hold(site) == Some(true)).collect();
        let of = || format!("{} at {site:?}: {here:?}\nthe solver says {theirs}\n{}", self.setting, self.problem);
        assert!(here.len() <= 1, "{}", of());
        assert!(self.changes.iter().all(|change| change.sites.hold(site).is_some()), "{}", of());
        let (ours, kind) = match here.first().map(|change| &change.relation) {
            None | Some(Relation::Same) => ("=", "same"),
            Some(Relation::Narrower(_)) => ("-", "narrower"),
            Some(Relation::Wider(_)) => ("+", "wider"),
            Some(Relation::Moved { .. }) => ("x", "moved"),
            // it may be that every value complies
            Some(Relation::Added) => ("-=", "added"),
            Some(Relation::Removed) => ("+=", "removed"),
            Some(Relation::Unproven(_)) => ("=-+x", "unproven"),
        };
        assert!(ours.contains(theirs), "{}", of());
        (kind, 1)
    }
}
