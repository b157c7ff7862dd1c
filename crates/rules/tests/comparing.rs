//! How two sets lie to one another, against trying every value; and the change notes of the shipped
//! networks, whose examples must be what they are said to be.

use crate::common;

use common::*;
use proptest::prelude::*;
use rules::compare::sets::{Relation, relation};
use rules::compare::versions::{Change, changes};
use rules::witness::{Witness, WitnessValue, keeps};
use settings_model::catalogue::Equipment;
use settings_model::claim::{Claim, Var};
use settings_model::exact::Exact;
use settings_model::facts::Facts;
use settings_model::source::Sources;

fn threshold() -> Var {
    var("overvoltage-1/threshold")
}

/// An interval between whole numbers from 0 to 3, either end open or missing.
fn any_interval() -> impl Strategy<Value = Vec<Claim>> {
    let end = || (prop::option::weighted(0.8, 0i64..=3), any::<bool>());
    (end(), end()).prop_map(|((low, low_open), (high, high_open))| {
        let low = low.map(|n| if low_open { over(threshold(), &n.to_string()) } else { at_least(threshold(), &n.to_string()) });
        let high = high.map(|n| if high_open { under(threshold(), &n.to_string()) } else { at_most(threshold(), &n.to_string()) });
        low.into_iter().chain(high).collect()
    })
}

fn keeps_all(claims: &[Claim], witness: &Witness) -> bool {
    claims.iter().all(|claim| keeps(claim, witness) == Some(true))
}

/// Every quarter from 0 to 4 decides: between two whole numbers no end lies.
fn tried(claims: &[Claim]) -> Vec<bool> {
    let example = |number: &Exact| {
        let mut witness = Witness::default();
        witness.settings.insert(threshold(), WitnessValue::Number(*number));
        keeps_all(claims, &witness)
    };
    quarters(4).iter().map(example).collect()
}

proptest! {
    #[test]
    fn a_relation_is_what_trying_every_value_shows(old in any_interval(), new in any_interval()) {
        let space = [at_least(threshold(), "0"), at_most(threshold(), "4")];
        let found = relation(&old, &new, &space, &Facts::default());
        let (before, after) = (tried(&old), tried(&new));
        let lost = before.iter().zip(&after).any(|(before, after)| *before && !after);
        let gained = before.iter().zip(&after).any(|(before, after)| !before && *after);
        let both = before.iter().zip(&after).any(|(before, after)| *before && *after);
        match found {
            _ if old.is_empty() || new.is_empty() => {
                prop_assert_eq!(matches!(found, Relation::Added), old.is_empty() && !new.is_empty());
                prop_assert_eq!(matches!(found, Relation::Removed), new.is_empty() && !old.is_empty());
            }
            Relation::Same => prop_assert!(!lost && !gained),
            Relation::Wider(example) => {
                prop_assert!(!lost && gained);
                prop_assert!(keeps_all(&new, &example) && !keeps_all(&old, &example));
            }
            Relation::Narrower(example) => {
                prop_assert!(lost && !gained);
                prop_assert!(keeps_all(&old, &example) && !keeps_all(&new, &example));
            }
            Relation::Moved { lost: one, gained: other, apart } => {
                prop_assert!(lost && gained && apart != both);
                prop_assert!(keeps_all(&old, &one) && !keeps_all(&new, &one));
                prop_assert!(keeps_all(&new, &other) && !keeps_all(&old, &other));
            }
            other => prop_assert!(false, "{:?}", other),
        }
    }
}

fn values(change: &Change, new: bool) -> Vec<Claim> {
    let entry = if new { &change.new } else { &change.old };
    let comply = entry.as_ref().map(|entry| entry.comply.clone()).unwrap_or_default();
    comply.into_iter().filter(|claim| !claim.is_about_evidence()).collect()
}

/// Of every pair of versions of every network, on every region: the example of what no longer
/// complies keeps the old claims and breaks a new one, and the other way round.
#[test]
fn examples_of_changes_are_what_they_are_said_to_be() {
    let (mut library, mut sources) = (shipped_library(), Sources::default());
    let mut looked_at = 0;
    for network in library.networks() {
        for pair in library.versions(&network).windows(2) {
            let standard = library.standard_below(&network, &pair[0], &mut sources).unwrap();
            let regions: Vec<String> =
                library.standard(&standard, &mut sources).unwrap().file.regions.iter().map(|(key, _)| key.to_owned()).collect();
            for region in regions {
                let mut books = |version| library.rulebooks_of((&network, version), &region, &mut sources);
                let (Ok(old), Ok(new)) = (books(&pair[0]), books(&pair[1])) else { continue };
                for kind in Equipment::ALL {
                    for change in changes(&old[kind as usize], &new[kind as usize], kind) {
                        let (before, after) = (values(&change, false), values(&change, true));
                        let (lost, gained) = match &change.relation {
                            Relation::Moved { lost, gained, .. } => (Some(lost), Some(gained)),
                            Relation::Narrower(lost) => (Some(lost), None),
                            Relation::Wider(gained) => (None, Some(gained)),
                            _ => (None, None),
                        };
                        for (example, keep, lose) in
                            lost.map(|e| (e, &before, &after)).into_iter().chain(gained.map(|e| (e, &after, &before)))
                        {
                            looked_at += 1;
                            assert!(keeps_all(keep, example), "{network} {region} {}: {example:?}", change.setting);
                            assert!(lose.iter().any(|claim| keeps(claim, example) == Some(false)), "{network} {region} {}", change.setting);
                        }
                    }
                }
            }
        }
    }
    assert!(looked_at >= 20, "{looked_at}");
}
