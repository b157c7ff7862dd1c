//! What shipped networks and standards ask, version against version.

use super::common::*;
use super::histories;
use super::problem::Problem;
use super::versions::{self, Between};
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::claim::{Claim, Part, ProvenanceId, Term, Var};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, Facts};
use settings_model::requirement::Rulebook;
use settings_model::source::Sources;
use settings_model::ties::space;
use std::collections::BTreeSet;

/// Of the kinds of site that a rulebook tells apart, so many.
const CELLS: usize = 16;

/// Every pair of versions of a network and of editions of a standard, for each region and kind of equipment.
pub fn pairs() -> Vec<(Rulebook, Rulebook, Equipment)> {
    let (mut library, mut sources) = (shipped_library(), Sources::default());
    let mut moves = histories::of_networks(&mut library, &mut sources);
    moves.extend(histories::of_standards(&mut library, &mut sources));
    let of_kind = |one: &histories::Move, kind: Equipment| (one.old.on(kind).rulebook.clone(), one.new.on(kind).rulebook.clone(), kind);
    moves.iter().flat_map(|one| Equipment::ALL.map(|kind| of_kind(one, kind))).collect()
}

/// Of each pair, each setting of which either speaks.
pub fn between<'p>(pairs: &'p [(Rulebook, Rulebook, Equipment)]) -> impl Iterator<Item = Between> + 'p {
    pairs.iter().flat_map(|(old, new, kind)| {
        let changes = std::rc::Rc::new(rules::compare::versions::changes(old, new, *kind));
        SettingId::all().filter_map(move |setting| versions::of_rulebooks(setting, [old, new], *kind, &changes))
    })
}

/// In each kind of site that the first of a pair tells apart: what it asks of settings that are linked, and
/// whether that keeps what the other asks of them.
pub fn problems(pairs: &[(Rulebook, Rulebook, Equipment)]) -> impl Iterator<Item = Problem> + '_ {
    let directions = pairs.iter().flat_map(|(old, new, kind)| [(old, new, *kind), (new, old, *kind)]);
    directions.flat_map(|(one, other, kind)| {
        let mut looked_at: BTreeSet<Vec<u16>> = BTreeSet::new();
        let nobody = Facts::default();
        let cells = one.examples_of_cells(&nobody).take(CELLS * 64).filter(|cell| looked_at.insert(one.all_cases_met(cell)));
        let cells: Vec<Facts> = cells.take(CELLS).filter_map(|cell| other.examples_of_cells(&cell).next()).collect();
        cells.into_iter().flat_map(move |cell| linked(one, other, kind, &cell))
    })
}

/// The problems of one kind of site: one for each group of settings that claims link.
fn linked(one: &Rulebook, other: &Rulebook, kind: Equipment, cell: &Facts) -> Vec<Problem> {
    let mut facts = Facts::default();
    facts.set_number(FactId::NominalVoltage, one.nominal.unwrap_or(Exact::from(230)));
    facts.set_number(FactId::ApprovedExport, Exact::from(5000));
    let asked = |book: &Rulebook| book.resolve(cell).claims().filter(super::written::is_asked_about).collect::<Vec<_>>();
    let (held, asked) = (asked(one), asked(other));
    let of_space = space(kind, ProvenanceId::SITE_APPROVAL);
    let mut problems = Vec::new();
    for group in groups(held.iter().chain(&asked)) {
        let is_of = |claim: &&Claim| claim.on.vars().any(|var| group.contains(&var));
        let claims: Vec<Claim> = held.iter().chain(&of_space).filter(is_of).cloned().collect();
        let is_new = |claim: &&Claim| !claims.iter().any(|own| (own.on, &own.limit) == (claim.on, &claim.limit));
        let others: Vec<Claim> = asked.iter().filter(is_of).filter(is_new).cloned().collect();
        let is_number = |var: &Var| !matches!(var.setting.parameter().shape, settings_model::catalogue::Shape::Choice(_));
        let ranges = group.into_iter().filter(|var| is_number(var) && var.part != Part::PointCount).collect();
        problems.push(Problem { claims, facts: facts.clone(), ranges, others });
    }
    problems
}

/// Settings that claims link, with the states of their functions.
fn groups<'c>(claims: impl Iterator<Item = &'c Claim>) -> Vec<BTreeSet<Var>> {
    let mut groups: Vec<BTreeSet<Var>> = Vec::new();
    for claim in claims {
        let states = claim.on.vars().filter_map(|var| var.setting.state()).map(Var::from);
        let mut joined: BTreeSet<Var> = claim.on.vars().chain(states).collect();
        // a curve's points belong together
        if let Term::Var(var) = claim.on {
            joined.insert(Var { part: Part::Whole, ..var });
        }
        groups.retain(|group| {
            let apart = group.is_disjoint(&joined);
            if !apart {
                joined.extend(group);
            }
            apart
        });
        groups.push(joined);
    }
    let named =
        |var: &Var| var.part != Part::Whole || !matches!(var.setting.parameter().shape, settings_model::catalogue::Shape::Curve { .. });
    groups.into_iter().map(|group| group.into_iter().filter(named).collect()).collect()
}
