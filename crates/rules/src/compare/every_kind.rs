//! Every change of every kind of equipment, with what one kind says about another.

use super::reason::Reason;
use super::step::Step;
use super::versions::{Change, Sites, changes, has_to_act};
use crate::book::Books;
use settings_model::catalogue::{Equipment, SettingId};
use settings_model::cells::{Condition, Partition};
use settings_model::facts::Facts;
use settings_model::requirement::Rulebook;

/// Every change between two books of requirements: what `diff` prints and `revision-check` weighs.
#[must_use]
pub fn all_changes(old: &Books, new: &Books) -> Vec<(Equipment, Change)> {
    let of = |kind: Equipment| changes(&old.on(kind).rulebook, &new.on(kind).rulebook, kind).into_iter().map(move |change| (kind, change));
    let mut all: Vec<(Equipment, Change)> = Equipment::ALL.into_iter().flat_map(of).collect();
    let relay = Equipment::GridProtectionRelay;
    if !old.on(relay).rulebook.says_anything() {
        let of_relay = all.iter_mut().filter(|(kind, change)| *kind == relay && change.reason.step() == Step::Breaking);
        for (_, change) in of_relay.filter(|(_, change)| !is_newly_needed(change, old, new)) {
            change.reason = Reason::NoneWasJudged;
        }
    }
    all
}

/// The state of the grid protection relay of an installation.
pub(crate) fn relay() -> SettingId {
    SettingId::of("central-protection", "state")
}

/// Whether some site that a change of a relay concerns did not have to have one before and has to now: it
/// complied without.
fn is_newly_needed(change: &Change, old: &Books, new: &Books) -> bool {
    let installation = |books: &Books| books.on(Equipment::Installation).clone();
    let (old, new) = (installation(old), installation(new));
    let needs = |book: &Rulebook, facts: &Facts| has_to_act(book, relay(), facts);
    let of_change: &[Vec<Condition>] = match &change.sites {
        Sites::Every => &[],
        Sites::Where(lists) => lists,
    };
    let conditions = [&old, &new].into_iter().flat_map(|book| book.rulebook.conditions_on(relay()));
    let partition = Partition::of(conditions.chain(of_change.iter().flatten()));
    let nobody = Facts::default();
    let is_newly = |facts: Facts| needs(&new.rulebook, &facts) && !needs(&old.rulebook, &facts) && change.sites.hold(&facts) == Some(true);
    partition.cells(&nobody).any(is_newly)
}
