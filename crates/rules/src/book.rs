//! A rulebook with the requirements it gave so far: one for each cell that a site was found in.

pub(crate) mod export;

use crate::hanging::Hanging;
use crate::order::Descent;
use crate::provenance::Figures;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::CellKey;
use settings_model::claim::{Claim, Limit, ProvenanceId};
use settings_model::entry::Verbs;
use settings_model::exact::Exact;
use settings_model::facts::{FACTS, FactId, Facts};
use settings_model::finding::Finding;
use settings_model::library::{InPlace, Refusal};
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::settings::Covered;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Cell and nominal voltage: whether per-unit lines contradict others depends on it; and whether nothing may be
/// exported, which no layer has to ask about.
type CountedKey = (CellKey, Option<Exact>, bool);

/// What the layers of a site say, one book for each kind of equipment.
#[derive(Debug)]
pub struct Books([Rc<Book>; Equipment::ALL.len()]);

impl Books {
    /// Books of rulebooks, one for each kind of equipment.
    #[must_use]
    pub fn of(rulebooks: [Rulebook; Equipment::ALL.len()]) -> Self {
        let mut kinds = Equipment::ALL.into_iter();
        Self(rulebooks.map(|rulebook| Rc::new(Book::new(rulebook, kinds.next().unwrap_or(Equipment::Inverter)))))
    }

    /// The same, of layers on whose strength something may be judged.
    ///
    /// # Errors
    /// Lines that no device can keep, and those by which a layer reaches further than the layers below leave it.
    pub fn usable(rulebooks: [Rulebook; Equipment::ALL.len()], in_place: Option<InPlace<'_>>) -> Result<Self, Refusal> {
        let mut findings: Vec<Finding> = rulebooks.iter().flat_map(crate::order::descending).collect();
        // an overlay is written for one standard; what it does to an older one that a device stands
        // under is not its author's overreach
        if in_place.is_none() {
            findings.extend(rulebooks.iter().flat_map(crate::entitlement::overreach));
        }
        if findings.is_empty() { Ok(Self::of(rulebooks)) } else { Err(findings.into()) }
    }

    /// The facts on which some requirement depends, in the order of the catalogue.
    #[must_use]
    pub fn facts_that_decide(&self) -> Vec<FactId> {
        let hanging = Equipment::ALL.into_iter().flat_map(|kind| self.on(kind).rulebook.hanging(&Facts::default()));
        let asked: Vec<FactId> = hanging.flat_map(|(_, facts)| facts).collect();
        FACTS.iter().map(|fact| fact.id).filter(|fact| asked.contains(fact)).collect()
    }

    /// What they say of one kind.
    #[must_use]
    pub fn on(&self, kind: Equipment) -> &Rc<Book> {
        &self.0[kind as usize]
    }
}

/// A rulebook, and the requirements it gave so far, by cell.
#[derive(Debug)]
pub struct Book {
    /// The rulebook.
    pub rulebook: Rulebook,
    kind: Equipment,
    cells: RefCell<BTreeMap<CountedKey, Rc<Counted>>>,
}

/// A requirement and how its figures are known.
#[derive(Debug)]
pub struct Counted {
    /// The requirement.
    pub requirement: Requirement,
    /// What is asked that was seen, and whether a selected region may stand for it.
    pub asked: Vec<(SettingId, bool)>,
    /// How its figures are known.
    pub figures: Figures,
    /// Whether a licensed copy contradicts a line that asks for something, or that says what may be moved.
    pub is_disputed: bool,
    /// What depends on facts that are unknown.
    pub hanging: Vec<Hanging>,
    /// The states of trip stages that no layer asks for; of a kind of device that no layer speaks of
    /// at all, none.
    pub unasked_stages: Vec<SettingId>,
    /// Whether it says where a device has to stay on; see [`crate::practice`].
    pub asks_to_stay_on: bool,
    /// Demands for more than a fact of the site may leave: the tie to the fact, and the demand.
    against_facts: Vec<(Claim, Claim)>,
    /// What is asked but was not seen.
    pub not_checked: Vec<SettingId>,
    /// The settings that are judged whatever else a device states; of those in pairs, see
    /// [`crate::assess::NotJudged`].
    pub judged_alone: Covered,
    /// The fewest lines that nobody can keep together, if the layers contradict each other.
    pub contradiction: Option<Vec<ProvenanceId>>,
    /// Points that are asked for and do not ascend.
    pub descent: Option<Descent>,
}

impl Book {
    /// A book with nothing worked out yet.
    #[must_use]
    pub fn new(rulebook: Rulebook, kind: Equipment) -> Self {
        Self { rulebook, kind, cells: RefCell::default() }
    }

    fn count(&self, requirement: Requirement, facts: &Facts) -> Rc<Counted> {
        let seen = requirement.entries.iter().filter(|r| !r.entry.demands_nothing() && !r.entry.is_gap());
        let asked = seen.map(|r| (r.entry.setting, r.covered_by_region)).collect();
        let not_checked = requirement.entries.iter().filter(|r| r.entry.is_gap()).map(|r| r.entry.setting).collect();
        let of_cell = of_cell(facts);
        let contradiction = contradiction(&requirement, &of_cell);
        let descent = requirement.entries.iter().find_map(|resolved| Descent::of_entry(&resolved.entry, &of_cell));
        let hanging = if self.rulebook.cell(facts).is_some() { Vec::new() } else { Hanging::all(&self.rulebook, facts) };
        let unasked_stages = self.unasked_stages(&requirement, !hanging.is_empty());
        let against_facts = against_facts(&requirement);
        let lines = requirement.entries.iter().flat_map(|resolved| resolved.entry.comply.iter().chain(&resolved.entry.adjustable));
        let is_disputed = lines.filter_map(|claim| self.rulebook.whys.get(claim.why)).any(|why| why.disputed().is_some());
        let judged_alone = judged_alone(&requirement, &hanging, &unasked_stages);
        Rc::new(Counted {
            asked,
            is_disputed,
            judged_alone,
            hanging,
            unasked_stages,
            asks_to_stay_on: crate::withstand::is_asked(&requirement),
            against_facts,
            figures: Figures::of(&requirement, &self.rulebook),
            not_checked,
            contradiction,
            descent,
            requirement,
        })
    }

    fn unasked_stages(&self, requirement: &Requirement, may_hang: bool) -> Vec<SettingId> {
        if !self.rulebook.says_anything() {
            return Vec::new();
        }
        let asked = |state: &SettingId| requirement.asks_of_function(*state) || (may_hang && self.rulebook.speaks_of_function(*state));
        SettingId::trip_stages().filter(|state| !asked(state)).collect()
    }

    /// The requirement for a site with these facts, and with departures of its own.
    #[must_use]
    pub fn requirement(&self, facts: &Facts, departures: &[(SettingId, Verbs)]) -> Rc<Counted> {
        let no_export = self.kind == Equipment::Inverter && self.rulebook.says_anything() && facts.is_without_export();
        let zero = || if no_export { export::zero(&self.rulebook, facts) } else { Vec::new() };
        if !departures.is_empty() {
            let departures = [&zero()[..], departures].concat();
            return self.count(self.rulebook.resolve_with(facts, &departures), facts);
        }
        let key = (self.rulebook.cell_key(facts), facts.number(FactId::NominalVoltage), no_export);
        if let Some(counted) = self.cells.borrow().get(&key) {
            return counted.clone();
        }
        let counted = self.count(self.rulebook.resolve_with(facts, &zero()), facts);
        self.cells.borrow_mut().insert(key, counted.clone());
        counted
    }
}

impl Counted {
    /// Whether anything at all is asked, that was seen.
    #[must_use]
    pub fn asks_anything(&self) -> bool {
        !self.hanging.is_empty() || !self.asked.is_empty()
    }

    /// The lines that nobody can keep together at a site: those of every site of the cell, or a
    /// demand against what this site's own facts allow, such as its approved export.
    #[must_use]
    pub fn contradiction_at(&self, facts: &Facts) -> Option<Vec<ProvenanceId>> {
        self.contradiction.clone().or_else(|| self.against_facts.iter().find_map(|(tie, demand)| beyond(tie, demand, facts)))
    }
}

/// Of a site only its nominal voltage: everything else holds for all sites of its cell.
fn of_cell(facts: &Facts) -> Facts {
    let mut of_cell = Facts::default();
    if let Some(nominal) = facts.number(FactId::NominalVoltage) {
        of_cell.set_number(FactId::NominalVoltage, nominal);
    }
    of_cell
}

fn contradiction(requirement: &Requirement, of_cell: &Facts) -> Option<Vec<ProvenanceId>> {
    let claims: Vec<Claim> = requirement.claims().collect();
    let mut lines: Vec<ProvenanceId> = crate::core::core(&claims, of_cell)?.into_iter().map(|index| claims[index].why).collect();
    lines.sort_unstable();
    lines.dedup();
    Some(lines)
}

/// What is asked by itself, depends on a fact, is tied to a fact of the site, or is a stage that nobody asked for.
fn judged_alone(requirement: &Requirement, hanging: &[Hanging], unasked_stages: &[SettingId]) -> Covered {
    let asked = requirement.entries.iter().map(|resolved| &resolved.entry).filter(|entry| !entry.demands_nothing() && !entry.is_gap());
    let tied = requirement.tied.iter().filter(|tied| tied.other.is_none()).map(|tied| tied.first);
    let mut covered = Covered::default();
    let all = asked.map(|entry| entry.setting).chain(hanging.iter().map(|hangs| hangs.setting)).chain(tied);
    all.chain(unasked_stages.iter().copied()).for_each(|setting| covered.add(setting));
    covered
}

/// Each demand for at least so much of what a tie limits to a fact.
fn against_facts(requirement: &Requirement) -> Vec<(Claim, Claim)> {
    let mut pairs = Vec::new();
    for tie in requirement.ties.iter().filter(|tie| tie.bound().is_some_and(|bound| bound.value.of.is_some())) {
        let claims = requirement.get(tie.on.subject().setting).map(|resolved| &resolved.entry.comply);
        let demands = claims.into_iter().flatten().filter(|claim| claim.on == tie.on && matches!(claim.limit, Limit::AtLeast(_)));
        pairs.extend(demands.map(|demand| (tie.clone(), demand.clone())));
    }
    pairs
}

/// The two lines, where the demand is for more than the fact leaves.
fn beyond(tie: &Claim, demand: &Claim, facts: &Facts) -> Option<Vec<ProvenanceId>> {
    let (Limit::AtMost(most), Limit::AtLeast(least)) = (&tie.limit, &demand.limit) else { return None };
    let is_beyond = least.value.at(facts)? > most.value.at(facts)?;
    is_beyond.then(|| vec![demand.why, tie.why])
}
