//! What two rulebooks ask of a setting, in every cell of the conditions of both.
//!
//! In each cell there is one old entry and one new one, and what changed follows from these two. The
//! sites that a change concerns are the cells in which it holds: where a condition moved from over 30 to
//! over 40 kVA, those of over 30 to 40 kVA, whatever either line says of itself.

use super::action::{Action, is_only};
use super::asked_in::asked_in;
use super::reason::{Move, Reason};
use super::sets::{Relation, alike, evidence, relation};
use super::tied::{Cells, Tied};
use crate::core::core;
use settings_model::catalogue::{ENABLED, Equipment, SettingId};
use settings_model::cells::{Condition, Partition, all_hold};
use settings_model::claim::{Claim, LayerKind, Limit, ProvenanceId};
use settings_model::curve;
use settings_model::entry::Entry;
use settings_model::facts::Facts;
use settings_model::requirement::Rulebook;
use settings_model::ties::{TIES, space};
use settings_model::value::{Point, Value};
use std::collections::BTreeSet;

/// One difference in what is asked of a setting.
#[derive(Clone, Debug)]
pub struct Change {
    /// The setting.
    pub setting: SettingId,
    /// For which sites.
    pub sites: Sites,
    /// Facts of one site for each cell that it holds in, as far as they matter here.
    pub examples: Vec<Facts>,
    /// What was asked; `None` where no layer spoke of it, or its function had to be off.
    pub old: Option<Entry>,
    /// What is asked; `None` where no layer speaks of it, or its function has to be off.
    pub new: Option<Entry>,
    /// Whether one side is another edition of the standard that says it on the other side, and is silent.
    pub not_covered: bool,
    /// How what complies has changed.
    pub relation: Relation,
    /// What else has changed.
    pub besides: Besides,
    /// Why it deserves its version step.
    pub reason: Reason,
    /// What an installer does about it.
    pub action: Action,
    /// How what is asked goes together with the ties of the setting.
    pub tied: Tied,
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
    /// Those at which all conditions of any of these lists hold.
    Where(Vec<Vec<Condition>>),
}

impl Sites {
    /// Whether it holds at a site; `None` where that depends on a fact that is not stated.
    #[must_use]
    pub fn hold(&self, facts: &Facts) -> Option<bool> {
        let Self::Where(lists) = self else { return Some(true) };
        let answers = || lists.iter().map(|list| all_hold(list, facts));
        if answers().any(|answer| answer == Some(true)) {
            return Some(true);
        }
        answers().all(|answer| answer == Some(false)).then_some(false)
    }
}

/// What of the surroundings of a setting says how its change is to be taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Circumstances {
    /// It takes the last demand from a trip stage: an enabled stage that nobody asks for is a fault. Said
    /// once for each stage, of its state where that was asked.
    pub leaves_stage_unasked: bool,
    /// The function had to be off, and still may be.
    pub may_stay_off: bool,
    /// Of a state: the function did not have to act, and now has to.
    pub has_to_act: bool,
    /// One side is another edition of the standard that says it on the other side, and is silent: its
    /// file does not cover it, which is not the same as not asking for it.
    pub not_covered: bool,
}

impl Change {
    /// Whether only documents, clauses or reasons changed.
    #[must_use]
    pub fn is_only_of_source(&self) -> bool {
        self.relation == Relation::Same && self.besides == Besides { source: true, ..Besides::default() }
    }
}

/// Every difference between what two rulebooks ask of one kind of equipment, in catalogue order.
#[must_use]
pub fn changes(old: &Rulebook, new: &Rulebook, kind: Equipment) -> Vec<Change> {
    let pair = Pair { old, new, kind, space: space(kind, ProvenanceId::SITE_APPROVAL), tied: tied_settings(), cells: Cells::of(new, kind) };
    SettingId::all().flat_map(|setting| pair.of_setting(setting)).collect()
}

struct Pair<'p> {
    old: &'p Rulebook,
    new: &'p Rulebook,
    kind: Equipment,
    space: Vec<Claim>,
    /// The settings that some tie is about.
    tied: BTreeSet<SettingId>,
    cells: Cells<'p>,
}

fn tied_settings() -> BTreeSet<SettingId> {
    let ties = TIES.iter().flat_map(|tie| tie.claims(ProvenanceId::SITE_APPROVAL));
    ties.flat_map(|tie| tie.on.vars().map(|var| var.setting).collect::<Vec<_>>()).collect()
}

/// Cells in which the same is asked before, and the same after.
struct Group {
    old: Option<Entry>,
    new: Option<Entry>,
    besides: Besides,
    circumstances: Circumstances,
    wanted: Vec<bool>,
    examples: Vec<Facts>,
}

impl Pair<'_> {
    fn of_setting(&self, setting: SettingId) -> Vec<Change> {
        let partition = Partition::of(self.conditions(setting));
        let nobody = Facts::default();
        let mut groups: Vec<Group> = Vec::new();
        for (cell, facts) in partition.cells(&nobody).enumerate() {
            let mut found = self.at(setting, &facts);
            let at = groups.iter().position(|group| group.is_like(&found)).unwrap_or_else(|| {
                found.wanted = vec![false; partition.len()];
                groups.push(found);
                groups.len() - 1
            });
            groups[at].wanted[cell] = true;
            groups[at].examples.push(facts);
        }
        groups.into_iter().filter_map(|group| self.change(setting, group, &partition)).collect()
    }

    /// What a setting depends on: its own conditions, those of its function's state, and of a trip stage
    /// those of all that may be asked of it.
    fn conditions(&self, setting: SettingId) -> impl Iterator<Item = &Condition> {
        let is_stage = SettingId::trip_stages().any(|stage| stage.same_function(setting));
        let matters =
            move |other: &SettingId| *other == setting || setting.state() == Some(*other) || (is_stage && other.same_function(setting));
        SettingId::all().filter(matters).flat_map(|other| self.old.conditions_on(other).chain(self.new.conditions_on(other)))
    }

    /// What is asked in one cell.
    fn at(&self, setting: SettingId, facts: &Facts) -> Group {
        let (old, new) = (asked(self.old, setting, facts), asked(self.new, setting, facts));
        let comply = |entry: &Option<Entry>| entry.as_ref().map(|entry| entry.comply.clone()).unwrap_or_default();
        let besides = match (&old, &new) {
            (Some(one), Some(other)) => besides(one, other, self.old, self.new),
            // evidence may be all that is asked
            _ => Besides { evidence: evidence(&comply(&old)) != evidence(&comply(&new)), ..Besides::default() },
        };
        let circumstances = self.circumstances(setting, facts, old.as_ref(), new.as_ref());
        Group { old, new, besides, circumstances, wanted: Vec::new(), examples: Vec::new() }
    }

    fn circumstances(&self, setting: SettingId, facts: &Facts, old: Option<&Entry>, new: Option<&Entry>) -> Circumstances {
        let demands = |entry: Option<&Entry>| entry.is_some_and(|entry| !entry.demands_nothing());
        let is_parameter = setting.state().is_some_and(|state| state != setting);
        Circumstances {
            leaves_stage_unasked: demands(old) && !demands(new) && self.leaves_stage_unasked(setting, facts),
            may_stay_off: is_parameter && self.old.keeps_idle(setting, facts) && !has_to_act(self.new, setting, facts),
            has_to_act: setting.is_state() && has_to_act(self.new, setting, facts) && !has_to_act(self.old, setting, facts),
            not_covered: match (demands(old), demands(new)) {
                (true, false) => is_not_covered(setting, old, self.old, self.new) && !self.new.keeps_idle(setting, facts),
                (false, true) => is_not_covered(setting, new, self.new, self.old) && !self.old.keeps_idle(setting, facts),
                _ => false,
            },
        }
    }

    /// Whether a stage of which something was asked is asked nothing any more, and this is the setting to
    /// say it of.
    fn leaves_stage_unasked(&self, setting: SettingId, facts: &Facts) -> bool {
        let Some(stage) = SettingId::trip_stages().find(|stage| stage.same_function(setting)) else { return false };
        let asks = |book: &Rulebook, setting| asked(book, setting, facts).is_some_and(|entry| !entry.demands_nothing());
        let is_unasked = SettingId::all().filter(|other| other.same_function(stage)).all(|other| !asks(self.new, other));
        let had_to_be_off = self.old.entry(stage, facts).is_some_and(|resolved| resolved.entry.keeps_off());
        is_unasked && !had_to_be_off && (setting == stage || !asks(self.old, stage))
    }

    /// `None` where nothing changed.
    fn change(&self, setting: SettingId, group: Group, partition: &Partition) -> Option<Change> {
        let Group { old, new, besides, circumstances, wanted, examples } = group;
        let comply = |entry: &Option<Entry>| entry.as_ref().map(|entry| entry.comply.clone()).unwrap_or_default();
        let relation = match old.as_ref().zip(new.as_ref()) {
            // whoever entered the one curve is let pass by the other
            Some((old, new)) if asks_for_one_response(old, new) => Relation::Same,
            _ => relation(&comply(&old), &comply(&new), &self.space, &Facts::default()),
        };
        if relation == Relation::Same && besides == Besides::default() {
            return None;
        }
        let sites = match partition.cover(&wanted) {
            lists if lists.iter().any(Vec::is_empty) => Sites::Every,
            lists => Sites::Where(lists),
        };
        let one = Move { old: old.as_ref(), new: new.as_ref(), relation: &relation, besides, circumstances, space: &self.space };
        let why = one.reason();
        let action = Action::of(setting, &one, why);
        let nobody_complied = why.step() == super::step::Step::Breaking && self.nobody_complied(&examples);
        let reason = if nobody_complied { Reason::NobodyComplied } else { why };
        let tied = Tied::default();
        let mut change =
            Change { setting, sites, examples, old, new, not_covered: circumstances.not_covered, relation, besides, reason, action, tied };
        if self.tied.contains(&setting) {
            change.tied = Tied::of(&change, &self.cells);
        }
        Some(change)
    }

    /// Whether what was asked contradicts itself at every site that a change is about.
    fn nobody_complied(&self, examples: &[Facts]) -> bool {
        let mut cells = examples.iter().flat_map(|facts| self.old.examples_of_cells(facts));
        let contradicts = |facts: Facts| core(&asked_in(self.old, self.kind, &facts), &facts).is_some();
        // cells that were not looked at prove nothing
        cells.by_ref().take(CELLS_TRIED).all(contradicts) && cells.next().is_none()
    }
}

/// Of the cells that a change does not tell apart, so many are tried.
pub(crate) const CELLS_TRIED: usize = 64;

impl Group {
    fn is_like(&self, other: &Self) -> bool {
        let alike = asks_alike(&self.old, &other.old) && asks_alike(&self.new, &other.new);
        alike && (self.besides, self.circumstances) == (other.besides, other.circumstances)
    }
}

/// What is asked of a setting in a cell: of a function that has to be off nothing but that.
fn asked(book: &Rulebook, setting: SettingId, facts: &Facts) -> Option<Entry> {
    let entry = book.entry(setting, facts)?.entry;
    (!book.keeps_idle(setting, facts)).then_some(entry)
}

/// Whether the function of a setting has to be enabled.
pub(super) fn has_to_act(book: &Rulebook, setting: SettingId, facts: &Facts) -> bool {
    let state = setting.state().and_then(|state| book.entry(state, facts));
    let only_enabled = |claim: &Claim| matches!(claim.limit, Limit::OneOf(words) if words.only() == Some(ENABLED));
    state.is_some_and(|resolved| resolved.entry.comply.iter().any(only_enabled))
}

/// Whether what is asked is said by an edition of a standard in whose place the other side has another
/// edition, which says nothing of the setting for any site. What a network's own layers say or leave unsaid
/// is all that they ask.
fn is_not_covered(setting: SettingId, entry: Option<&Entry>, speaking: &Rulebook, silent: &Rulebook) -> bool {
    let layer_of = |why: &ProvenanceId| Some(speaking.why(*why)?.1);
    let of_standard = |kind: LayerKind| matches!(kind, LayerKind::Standard | LayerKind::InstallationStandard);
    let mut said_by = entry.into_iter().flat_map(|entry| &entry.trace).filter_map(layer_of);
    said_by.any(|layer| {
        let in_its_place = silent.layers.iter().find(|other| other.kind == layer.kind);
        let speaks = |kind: LayerKind| silent.stated(setting).iter().any(|(layer, _)| silent.layers[usize::from(layer.0)].kind == kind);
        of_standard(layer.kind)
            && !speaks(layer.kind)
            && in_its_place.is_some_and(|other| (&other.key, &other.version) != (&layer.key, &layer.version))
    })
}

/// Whether two curves are required that are one response, and nothing else complies but that.
pub(super) fn asks_for_one_response(old: &Entry, new: &Entry) -> bool {
    let required = |entry: &Entry| entry.require.clone().filter(|value| is_only(value, entry));
    let (Some(Value::Curve(one)), Some(Value::Curve(other))) = (required(old), required(new)) else { return false };
    let points = |curve: &[Point]| -> Vec<_> { curve.iter().map(|point| (point.x.number, point.y.number)).collect() };
    let mut of = one.iter().chain(&other).map(|point| (point.x.of, point.y.of));
    let is_of_one_unit = of.next().is_some_and(|first| of.all(|next| next == first));
    is_of_one_unit && curve::same_response(&points(&one), &points(&other))
}

fn besides(old: &Entry, new: &Entry, old_book: &Rulebook, new_book: &Rulebook) -> Besides {
    Besides {
        required: old.require != new.require,
        evidence: evidence(&old.comply) != evidence(&new.comply),
        adjustable: old.moved_by != new.moved_by || old.step != new.step || !alike(&old.adjustable, &new.adjustable),
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
                && one.step == other.step
                && alike(&one.comply, &other.comply)
                && alike(&one.adjustable, &other.adjustable)
        }
        _ => false,
    }
}
