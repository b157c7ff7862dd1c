//! Laying one layer over another does what its description says. All numbers are invented.

use crate::common;

use common::*;
use rules::core::core;
use rules::escape::{Proof, escape};
use settings_model::claim::{Claim, Limit, ProvenanceId};
use settings_model::entry::{Entry, Verbs, Who, lay};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::quantity::Amount;
use settings_model::value::Value;

const THRESHOLD: &str = "sustained-overvoltage/threshold";

fn volts(number: i64) -> Value {
    Value::Quantity(Amount::plain(Exact::from(number)))
}

fn require(number: i64, why: u32) -> Verbs {
    Verbs { require: Some((volts(number), ProvenanceId(why))), why: Some(ProvenanceId(why)), ..Verbs::default() }
}

fn standard() -> Entry {
    let subject = var(THRESHOLD);
    let verbs = Verbs {
        adjustable: Some(vec![at_least(subject, "244"), at_most(subject, "258")]),
        moved_by: Some(Who::NetworkOperator),
        ..require(258, 1)
    };
    lay(Entry::unstated(setting(THRESHOLD)), &verbs)
}

fn admits(entry: &Entry, number: i64) -> bool {
    core(&[entry.comply.clone(), volts(number).exactly(entry.setting, ProvenanceId(9))].concat(), &Facts::default()).is_none()
}

fn admitted(entry: &Entry) -> Vec<i64> {
    (240..=260).filter(|number| admits(entry, *number)).collect()
}

#[test]
fn silence_inherits_everything() {
    assert_eq!(lay(standard(), &Verbs::default()), standard());
}

#[test]
fn require_replaces_what_complies_and_leaves_the_range() {
    let entry = lay(standard(), &require(255, 2));
    assert_eq!((entry.require.clone(), admitted(&entry)), (Some(volts(255)), vec![255]));
    assert_eq!(entry.adjustable, standard().adjustable);
    assert_eq!((entry.moved_by, entry.trace.as_slice()), (Who::NetworkOperator, [ProvenanceId(1), ProvenanceId(2)].as_slice()));
}

#[test]
fn also_adds_to_what_must_hold() {
    let subject = var(THRESHOLD);
    let comply = Verbs { comply: Some(vec![at_least(subject, "250"), at_most(subject, "256")]), ..Verbs::default() };
    let also = Verbs { also: vec![under(subject, "254")], ..Verbs::default() };
    let entry = lay(lay(standard(), &comply), &also);
    assert_eq!(admitted(&entry), [250, 251, 252, 253]);
    let below: Vec<Claim> = lay(standard(), &comply).comply;
    for claim in &below {
        assert_eq!(escape(&entry.comply, claim, &[], &Facts::default()), Proof::Implied, "also only narrows");
    }
}

#[test]
fn comply_replaces_what_complies_and_with_it_the_value_required_below() {
    let comply = Verbs { comply: Some(vec![at_least(var(THRESHOLD), "259")]), ..Verbs::default() };
    let entry = lay(standard(), &comply);
    assert_eq!((entry.require.clone(), admitted(&entry)), (None, vec![259, 260]));
    let both = lay(standard(), &Verbs { require: Some((volts(259), ProvenanceId(2))), ..comply });
    assert_eq!((both.require.clone(), admitted(&both)), (Some(volts(259)), vec![259, 260]), "a value to set within what complies");
}

#[test]
fn an_adjustable_range_complies_where_nothing_else_is_said() {
    let subject = var(THRESHOLD);
    let range = Verbs { adjustable: Some(vec![at_least(subject, "257")]), ..Verbs::default() };
    assert_eq!(admitted(&lay(Entry::unstated(setting(THRESHOLD)), &range)), [257, 258, 259, 260]);
    let entry = lay(standard(), &range);
    assert_eq!((entry.adjustable.len(), admitted(&entry)), (1, vec![258]), "the required value stays the one that complies");
}

#[test]
fn a_gap_takes_the_place_of_what_was_said_below_until_a_layer_speaks_again() {
    let gap = lay(standard(), &Verbs { gap: Some(ProvenanceId(5)), ..Verbs::default() });
    assert!(gap.is_gap() && gap.require.is_none() && !gap.demands_nothing());
    assert_eq!(gap.comply.iter().map(|c| (c.limit.clone(), c.why)).collect::<Vec<_>>(), [(Limit::NotSeen, ProvenanceId(5))]);
    let spoken = lay(gap, &require(250, 6));
    assert_eq!((spoken.is_gap(), admitted(&spoken)), (false, vec![250]));
}
