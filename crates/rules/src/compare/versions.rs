//! What two rulebooks ask of a setting, for every kind of site that either tells apart.

use super::sets::{Relation, alike, evidence, relation};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::{Condition, Partition};
use settings_model::claim::{Claim, WhyId};
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::requirement::Rulebook;
use settings_model::ties::space;

/// One difference in what is asked of a setting.
#[derive(Clone, Debug)]
pub struct Change {
    /// The setting.
    pub setting: SettingId,
    /// For which sites.
    pub sites: Sites,
    /// Facts of one site for each of the cases that it holds for, as far as they matter here.
    pub examples: Vec<Facts>,
    /// What was asked; `None` where no layer spoke of it.
    pub old: Option<Entry>,
    /// What is asked; `None` where no layer speaks of it.
    pub new: Option<Entry>,
    /// How what complies has changed.
    pub relation: Relation,
    /// What else has changed.
    pub besides: Besides,
}

/// What else than the values that comply may change.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Besides {
    /// The value to set.
    pub required: bool,
    /// How the value has to be known.
    pub evidence: bool,
    /// Within what it may be moved, or by whom.
    pub adjustable: bool,
    /// Document, clause, basis or reason.
    pub source: bool,
}

/// For which sites a change holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Sites {
    /// Every site.
    Every,
    /// Any of these, each of which is a list of conditions that all hold; no condition at all means
    /// the sites that no case names.
    Where(Vec<Vec<Condition>>),
}

impl Change {
    /// Whether only documents, clauses or reasons changed.
    #[must_use]
    pub fn is_only_of_source(&self) -> bool {
        self.relation == Relation::Same && self.besides == Besides { source: true, ..Besides::default() }
    }

    /// Whether it takes the last demand from a trip stage: an enabled stage that nobody asks for is a
    /// fault.
    #[must_use]
    pub fn leaves_stage_unasked(&self, [old, new]: [&Rulebook; 2]) -> bool {
        let Some(stage) = SettingId::trip_stages().find(|stage| stage.same_function(self.setting)) else { return false };
        let settings = || SettingId::all().filter(|setting| setting.same_function(stage));
        let partition = Partition::of(settings().flat_map(|setting| old.conditions_on(setting).chain(new.conditions_on(setting))));
        let is_unasked = |facts: Facts| old.resolve(&facts).asks_of_function(stage) && !new.resolve(&facts).asks_of_function(stage);
        self.examples.iter().any(|facts| partition.cells(facts).any(is_unasked))
    }
}

/// Every difference between what two rulebooks ask of one kind of equipment, in catalogue order.
#[must_use]
pub fn changes(old: &Rulebook, new: &Rulebook, kind: Equipment) -> Vec<Change> {
    let space = space(kind, WhyId::SITE_APPROVAL);
    SettingId::all().flat_map(|setting| of_setting(setting, old, new, &space)).collect()
}

/// The sites for which both rulebooks speak in the same cases.
struct Group {
    /// Which case of each layer speaks, of the old rulebook and of the new.
    cases: Vec<Option<usize>>,
    conditions: Vec<Condition>,
    example: Facts,
    old: Option<Entry>,
    new: Option<Entry>,
}

fn of_setting(setting: SettingId, old: &Rulebook, new: &Rulebook, space: &[Claim]) -> Vec<Change> {
    let mut groups: Vec<Group> = Vec::new();
    for facts in Partition::of(old.conditions_on(setting).chain(new.conditions_on(setting))).cells(&Facts::default()) {
        let group = Group::at(setting, old, new, &facts);
        if !groups.iter().any(|other| other.cases == group.cases) {
            groups.push(group);
        }
    }
    let all = groups.len();
    let mut found: Vec<(Change, usize)> = Vec::new();
    for group in groups {
        let Some(change) = group.change(setting, old, new, space) else { continue };
        let same = |(other, _): &&mut (Change, usize)| asks_alike(&other.old, &change.old) && asks_alike(&other.new, &change.new);
        match found.iter_mut().find(same) {
            Some((other, count)) => {
                if let (Sites::Where(sites), Sites::Where(more)) = (&mut other.sites, change.sites) {
                    sites.extend(more);
                }
                other.examples.extend(change.examples);
                *count += 1;
            }
            None => found.push((change, 1)),
        }
    }
    let every = |(mut change, count): (Change, usize)| {
        if count == all {
            change.sites = Sites::Every;
        }
        change
    };
    found.into_iter().map(every).collect()
}

impl Group {
    fn at(setting: SettingId, old: &Rulebook, new: &Rulebook, facts: &Facts) -> Self {
        let (mut cases, mut conditions): (Vec<Option<usize>>, Vec<Condition>) = (Vec::new(), Vec::new());
        for met in [old, new].iter().flat_map(|book| book.cases_met(setting, facts)) {
            cases.push(met.map(|(position, _)| position));
            for condition in met.into_iter().flat_map(|(_, conditions)| conditions) {
                if !conditions.iter().any(|c| (c.fact, c.test) == (condition.fact, condition.test)) {
                    conditions.push(*condition);
                }
            }
        }
        let entry = |book: &Rulebook| book.entry(setting, facts).map(|resolved| resolved.entry);
        Self { cases, conditions, example: facts.clone(), old: entry(old), new: entry(new) }
    }

    /// `None` where nothing changed.
    fn change(self, setting: SettingId, old_book: &Rulebook, new_book: &Rulebook, space: &[Claim]) -> Option<Change> {
        let Self { conditions, example, old, new, .. } = self;
        let comply = |entry: &Option<Entry>| entry.as_ref().map(|entry| entry.comply.clone()).unwrap_or_default();
        let relation = relation(&comply(&old), &comply(&new), space, &Facts::default());
        let besides = match (&old, &new) {
            (Some(old), Some(new)) => besides(old, new, old_book, new_book),
            // evidence may be all that is asked
            _ => {
                Besides { evidence: relation == Relation::Same && evidence(&comply(&old)) != evidence(&comply(&new)), ..Besides::default() }
            }
        };
        let sites = Sites::Where(vec![conditions]);
        (relation != Relation::Same || besides != Besides::default()).then_some(Change {
            setting,
            sites,
            examples: vec![example],
            old,
            new,
            relation,
            besides,
        })
    }
}

fn besides(old: &Entry, new: &Entry, old_book: &Rulebook, new_book: &Rulebook) -> Besides {
    Besides {
        required: old.require != new.require,
        evidence: evidence(&old.comply) != evidence(&new.comply),
        adjustable: old.moved_by != new.moved_by || !alike(&old.adjustable, &new.adjustable),
        source: said_by(old, old_book) != said_by(new, new_book),
    }
}

/// The document, clause, basis and reason of the line that decided.
fn said_by<'b>(entry: &Entry, book: &'b Rulebook) -> Option<(Option<&'b settings_model::claim::Citation>, Option<&'b str>)> {
    let line = book.whys.get(entry.comply.first().map(|claim| claim.why).or(entry.decided_by())?)?;
    Some((line.citation.as_deref(), line.because.as_deref()))
}

fn asks_alike(one: &Option<Entry>, other: &Option<Entry>) -> bool {
    match (one, other) {
        (None, None) => true,
        (Some(one), Some(other)) => {
            one.require == other.require
                && one.moved_by == other.moved_by
                && alike(&one.comply, &other.comply)
                && alike(&one.adjustable, &other.adjustable)
        }
        _ => false,
    }
}
