//! Ties between settings that a change touches: values that each comply alone and do not go together.

use super::action::ToDo;
use super::sets::Relation;
use super::versions::Change;
use crate::escape::{Proof, escape};
use crate::satisfy::satisfy;
use crate::states::functions;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Claim, ProvenanceId, Term, Var};
use settings_model::facts::Facts;
use settings_model::requirement::{Requirement, Rulebook};
use settings_model::ties::space;
use std::cell::RefCell;
use std::rc::Rc;

/// How what is asked now goes together with the ties of a setting.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tied {
    /// Ties that values which comply alone may break: whoever does what the change says looks after them.
    pub keep: Vec<ProvenanceId>,
    /// Ties that nobody can keep, whatever value is chosen, at a site that the change concerns.
    pub nobody: Vec<ProvenanceId>,
}

/// What the newer rulebook asks in the cells that were looked at so far.
pub(super) struct Cells<'b> {
    book: &'b Rulebook,
    of_space: Vec<Claim>,
    asked: RefCell<Vec<(Facts, Rc<Requirement>)>>,
}

/// Of the cells that a change holds in, so many are tried.
const TRIED: usize = 8;

impl<'b> Cells<'b> {
    pub(super) fn of(book: &'b Rulebook, kind: Equipment) -> Self {
        Self { book, of_space: space(kind, ProvenanceId::SITE_APPROVAL), asked: RefCell::default() }
    }

    fn in_cell(&self, facts: Facts) -> Rc<Requirement> {
        let mut asked = self.asked.borrow_mut();
        if let Some((_, requirement)) = asked.iter().find(|(cell, _)| *cell == facts) {
            return requirement.clone();
        }
        let requirement = Rc::new(self.book.resolve(&facts));
        asked.push((facts, requirement.clone()));
        requirement
    }
}

impl Tied {
    /// Of a change that asks for another value.
    pub(super) fn of(change: &Change, new: &Cells<'_>) -> Self {
        let mut tied = Self::default();
        if !matches!(change.action.to_do, ToDo::Set(_) | ToDo::BringWithin(_) | ToDo::SwitchOn | ToDo::SeeThat) {
            return tied;
        }
        let nobody = Facts::default();
        let cells = change.examples.iter().flat_map(|facts| new.book.examples_of_cells(facts).take(TRIED).collect::<Vec<_>>());
        let is_entered = matches!(change.action.to_do, ToDo::Set(_)) || change.relation == Relation::Added;
        for requirement in cells.take(TRIED).map(|facts| new.in_cell(facts)) {
            // what was approved for one site no line knows
            requirement
                .ties
                .iter()
                .filter(|tie| is_entered && is_to_fact(tie, change.setting))
                .for_each(|tie| add(&mut tied.keep, tie.why));
            let is_of_setting = |tie: &&Claim| tie.on.vars().any(|var| var.setting == change.setting);
            for tie in ties(&requirement).filter(is_of_setting) {
                let without = lines_around(tie, &requirement, &new.of_space);
                let with: Vec<Claim> = without.iter().chain([tie]).cloned().collect();
                let enabled: Vec<SettingId> = functions(tie.on).collect();
                if satisfy(&with, &nobody, &enabled) == Ok(None) && satisfy(&without, &nobody, &enabled) != Ok(None) {
                    add(&mut tied.nobody, tie.why);
                } else if matches!(escape(&without, tie, &[], &nobody), Proof::Escapes(_)) {
                    add(&mut tied.keep, tie.why);
                }
            }
        }
        tied
    }
}

/// Whether a tie holds a setting against a fact of the site.
fn is_to_fact(tie: &Claim, setting: SettingId) -> bool {
    tie.on == Term::Var(setting.into()) && tie.bound().is_some_and(|bound| bound.value.of.is_some())
}

fn add(lines: &mut Vec<ProvenanceId>, line: ProvenanceId) {
    if !lines.contains(&line) {
        lines.push(line);
    }
}

/// The ties between two settings of both of which something is asked.
fn ties(requirement: &Requirement) -> impl Iterator<Item = &Claim> {
    let is_asked = |var: Var| {
        let entry = requirement.get(var.setting).map(|resolved| &resolved.entry);
        entry.is_some_and(|entry| !entry.demands_nothing() && !entry.is_gap()) && !requirement.keeps_idle(var.setting)
    };
    requirement.ties.iter().filter(move |tie| matches!(tie.on, Term::Gap(one, other) if is_asked(one) && is_asked(other)))
}

/// What is asked of the functions of a tie, and every other tie between them.
fn lines_around(tie: &Claim, requirement: &Requirement, of_space: &[Claim]) -> Vec<Claim> {
    let is_near = |claim: &Claim| claim.on.vars().all(|var| tie.on.vars().any(|own| own.setting.same_function(var.setting)));
    let asked = requirement.entries.iter().flat_map(|resolved| &resolved.entry.comply);
    let all = asked.chain(ties(requirement)).chain(of_space);
    all.filter(|claim| is_near(claim) && (claim.on, &claim.limit) != (tie.on, &tie.limit)).cloned().collect()
}
