//! Kinds of site that conditions tell apart: every answer that they can have together, and no more.
//!
//! Dates of one site stand in order. Of ten windows that look at four dates each a plain product would have
//! millions of cells, nearly all of them of sites that cannot be.

use settings_model::cells::{Condition, FactTest, Partition};
use settings_model::exact::Exact;
use settings_model::facts::{FactId, FactShape, FactValue, Facts};

/// More kinds of site than this are more than an author can have meant.
pub(super) const MOST_KINDS: usize = 50_000;

/// What follows what at every site.
const IN_ORDER: [FactId; 4] = [FactId::Applied, FactId::Approved, FactId::Installed, FactId::Altered];

/// A site of each kind, those of early dates first; `None` where there are more than [`MOST_KINDS`].
pub(super) fn kinds_of_site(conditions: &[Condition]) -> Option<Vec<Facts>> {
    let of = |fact: FactId| conditions.iter().filter(move |condition| condition.fact == fact);
    let dated: Vec<FactId> = IN_ORDER.into_iter().filter(|fact| of(*fact).next().is_some()).collect();
    let days = days(conditions.iter().filter(|condition| dated.contains(&condition.fact)));
    // the least day that each may have is the place of the one before it
    let mut sites = vec![(Facts::default(), 0)];
    for fact in dated {
        let later = |(facts, least): &(Facts, usize)| {
            let (facts, least) = (facts.clone(), *least);
            let on = |(n, day): (usize, &Exact)| {
                let mut facts = facts.clone();
                facts.set_number(fact, *day);
                (facts, n)
            };
            days.iter().enumerate().skip(least).map(on).collect::<Vec<_>>()
        };
        sites = bounded(sites.iter().flat_map(later))?;
    }
    let mut others: Vec<FactId> = conditions.iter().map(|condition| condition.fact).filter(|fact| !IN_ORDER.contains(fact)).collect();
    others.sort_unstable();
    others.dedup();
    for fact in others {
        let values = values(fact, &of(fact).copied().collect::<Vec<_>>());
        let with = |(facts, _): &(Facts, usize)| {
            let facts = facts.clone();
            let with = |value: &FactValue| {
                let mut facts = facts.clone();
                facts.set(fact, *value);
                (facts, 0)
            };
            values.iter().map(with).collect::<Vec<_>>()
        };
        sites = bounded(sites.iter().flat_map(with))?;
    }
    Some(sites.into_iter().map(|(facts, _)| facts).collect())
}

fn bounded<T>(sites: impl Iterator<Item = T>) -> Option<Vec<T>> {
    let sites: Vec<T> = sites.take(MOST_KINDS + 1).collect();
    (sites.len() <= MOST_KINDS).then_some(sites)
}

/// A value for each answer that conditions on one fact can have together.
fn values(fact: FactId, conditions: &[Condition]) -> Vec<FactValue> {
    match fact.row().shape {
        FactShape::Date => days(conditions.iter()).into_iter().map(FactValue::Number).collect(),
        FactShape::Choice(words) => {
            let answers = |word: u8| -> Vec<bool> {
                conditions.iter().map(|condition| matches!(condition.test, FactTest::OneOf(words) if words.has(word))).collect()
            };
            (0..words.len() as u8).filter(|word| (0..*word).all(|before| answers(before) != answers(*word))).map(FactValue::Word).collect()
        }
        _ => Partition::of(conditions).cells(&Facts::default()).filter_map(|facts| facts.get(fact)).collect(),
    }
}

/// The first day of each span of days in which every condition on a date has one answer, and one before them all.
fn days<'c>(conditions: impl Iterator<Item = &'c Condition>) -> Vec<Exact> {
    let mut first: Vec<Exact> = conditions
        .flat_map(|condition| match condition.test {
            FactTest::Within { low, high } => {
                let from = low.map(|bound| bound.value.number + if bound.open { Exact::ONE } else { Exact::ZERO });
                let after = high.map(|bound| bound.value.number + if bound.open { Exact::ZERO } else { Exact::ONE });
                [from, after]
            }
            FactTest::OneOf(_) => [None, None],
        })
        .flatten()
        .collect();
    first.sort_unstable();
    first.dedup();
    first.first().map(|day| *day - Exact::ONE).into_iter().chain(first.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use settings_model::cells::all_hold;
    use settings_model::claim::Bound;
    use settings_model::quantity::Amount;
    use settings_model::source::Place;
    use std::collections::BTreeSet;

    fn within(fact: FactId, low: Option<i64>, high: Option<i64>) -> Condition {
        let bound = |n: i64| Bound::closed(Amount::plain(Exact::from(n)));
        Condition { fact, test: FactTest::Within { low: low.map(bound), high: high.map(bound) }, place: Place::NOWHERE }
    }

    /// Every day near a cut, tried one by one, brings no answers that the kinds of site do not have.
    #[test]
    fn every_answer_that_sites_can_give_is_given_by_one_of_them() {
        let conditions = [
            within(FactId::Applied, Some(10), None),
            within(FactId::Applied, None, Some(12)),
            within(FactId::Approved, Some(11), Some(14)),
            within(FactId::Installed, Some(13), None),
            within(FactId::Today, Some(20), None),
        ];
        let answers = |facts: &Facts| conditions.map(|condition| all_hold(&[condition], facts));
        let mut tried = BTreeSet::new();
        for applied in 8..16 {
            for approved in applied..16 {
                for installed in approved..16 {
                    for today in [19, 20, 21] {
                        let mut facts = Facts::default();
                        facts.set_number(FactId::Applied, Exact::from(applied));
                        facts.set_number(FactId::Approved, Exact::from(approved));
                        facts.set_number(FactId::Installed, Exact::from(installed));
                        facts.set_number(FactId::Today, Exact::from(today));
                        tried.insert(answers(&facts));
                    }
                }
            }
        }
        let kinds = kinds_of_site(&conditions).unwrap();
        assert_eq!(kinds.iter().map(answers).collect::<BTreeSet<_>>(), tried);
        let in_order = |facts: &Facts| IN_ORDER.iter().filter_map(|date| facts.number(*date)).is_sorted();
        assert!(kinds.iter().all(in_order));
    }

    #[test]
    fn more_than_anybody_means_are_none() {
        let many = |fact| (0..60).map(move |n| within(fact, Some(n * 10), None));
        let conditions: Vec<Condition> = IN_ORDER.into_iter().flat_map(many).collect();
        assert_eq!(kinds_of_site(&conditions), None);
        assert_eq!(kinds_of_site(&[]), Some(vec![Facts::default()]));
    }
}
