//! Conditions on site facts, and the cells they cut the space of sites into.
//!
//! Inside one cell every condition has one answer, so a requirement is a plain list of claims. A
//! cut makes three pieces: below, at, above. Partitions are made per function, never globally:
//! the product over all facts would have millions of cells, a function looks at two or three.

mod cover;

use crate::claim::{Bound, Words};
use crate::exact::Exact;
use crate::facts::{FactId, FactShape, FactValue, Facts};
use crate::source::Place;

/// A demand on one site fact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Condition {
    /// Which fact.
    pub fact: FactId,
    /// What it must be.
    pub test: FactTest,
    /// Where it is written.
    pub place: Place,
}

/// What a condition asks of a fact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactTest {
    /// One of these words.
    OneOf(Words),
    /// Between two edges; bounds are plain numbers of base units (or days).
    Within {
        /// The lower edge.
        low: Option<Bound>,
        /// The upper edge.
        high: Option<Bound>,
    },
}

impl Condition {
    /// Whether it holds; `None` while the fact is unknown.
    #[must_use]
    pub fn holds(&self, facts: &Facts) -> Option<bool> {
        let value = facts.get(self.fact)?;
        Some(match (self.test, value) {
            (FactTest::OneOf(words), FactValue::Word(word)) => words.has(word),
            (FactTest::Within { low, high }, FactValue::Number(n)) => {
                low.is_none_or(|b| n > b.value.number || (!b.open && n == b.value.number))
                    && high.is_none_or(|b| n < b.value.number || (!b.open && n == b.value.number))
            }
            _ => false,
        })
    }
}

/// Whether all conditions hold: `None` when that depends on a fact that is unknown.
#[must_use]
pub fn all_hold(conditions: &[Condition], facts: &Facts) -> Option<bool> {
    let mut all = Some(true);
    for condition in conditions {
        match condition.holds(facts) {
            Some(true) => {}
            Some(false) => return Some(false),
            None => all = None,
        }
    }
    all
}

/// How the conditions of one function (or one whole requirement) cut the facts they look at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Partition {
    cuts: Vec<Cut>,
}

#[derive(Clone, Debug, PartialEq)]
struct Cut {
    fact: FactId,
    /// Sorted and distinct; empty for words, where each word is a piece.
    at: Vec<Exact>,
}

impl Cut {
    fn pieces(&self) -> usize {
        match self.fact.row().shape {
            FactShape::Choice(words) => words.len(),
            _ => 2 * self.at.len() + 1,
        }
    }

    fn piece(&self, value: FactValue) -> usize {
        match value {
            FactValue::Word(word) => usize::from(word),
            FactValue::Number(n) => match self.at.binary_search(&n) {
                Ok(cut) => 2 * cut + 1,
                Err(above) => 2 * above,
            },
        }
    }

    /// A value of every piece that a site can lie in: between "until 31 January" and "from 1
    /// February" there is no day, and nobody has half a phase.
    fn samples(&self) -> Vec<FactValue> {
        if let FactShape::Choice(words) = self.fact.row().shape {
            return (0..words.len() as u8).map(FactValue::Word).collect();
        }
        let (least, most) = self.fact.possible();
        let possible = |n: &Exact| {
            least.is_none_or(|edge| *n > Exact::from(edge.at) || (!edge.open && *n == Exact::from(edge.at)))
                && most.is_none_or(|edge| *n < Exact::from(edge.at) || (!edge.open && *n == Exact::from(edge.at)))
        };
        let least = least.map(|edge| Exact::from(edge.at));
        let mut samples = Vec::new();
        for (n, at) in self.at.iter().enumerate() {
            let below = n.checked_sub(1).map(|before| self.at[before]).or(least);
            samples.extend(self.between(below, *at).filter(|sample| n > 0 || possible(sample)));
            samples.push(*at);
        }
        samples.push(self.at.last().map_or(Exact::ONE, |last| *last + Exact::ONE));
        samples.retain(possible);
        samples.into_iter().map(FactValue::Number).collect()
    }

    /// Some value between two cuts.
    fn between(&self, low: Option<Exact>, high: Exact) -> Option<Exact> {
        let sample = match low {
            _ if self.fact.is_whole() => high - Exact::ONE,
            Some(low) => (low + high).half(),
            None => high - Exact::ONE,
        };
        low.is_none_or(|low| sample > low).then_some(sample)
    }
}

/// One cell, as the piece of each fact of its partition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellKey(u64);

impl Partition {
    /// The coarsest partition in which every one of the conditions has one answer per cell.
    #[must_use]
    pub fn of<'c>(conditions: impl IntoIterator<Item = &'c Condition>) -> Self {
        let mut cuts: Vec<Cut> = Vec::new();
        for condition in conditions {
            let index = cuts.iter().position(|c| c.fact == condition.fact).unwrap_or_else(|| {
                cuts.push(Cut { fact: condition.fact, at: Vec::new() });
                cuts.len() - 1
            });
            if let FactTest::Within { low, high } = condition.test {
                cuts[index].at.extend(low.iter().chain(high.iter()).map(|bound| bound.value.number));
            }
        }
        for cut in &mut cuts {
            cut.at.sort_unstable();
            cut.at.dedup();
        }
        cuts.sort_by_key(|cut| cut.fact);
        Self { cuts }
    }

    /// How many cells there are; saturates.
    #[must_use]
    pub fn len(&self) -> usize {
        self.cuts.iter().fold(1, |n: usize, cut| n.saturating_mul(cut.samples().len()))
    }

    /// Whether nothing is cut: one cell, every site.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cuts.is_empty()
    }

    /// The facts it looks at.
    pub fn facts(&self) -> impl Iterator<Item = FactId> {
        self.cuts.iter().map(|cut| cut.fact)
    }

    /// The cell of a site; `None` while a fact that matters is unknown.
    #[must_use]
    pub fn cell(&self, facts: &Facts) -> Option<CellKey> {
        let mut key = 0u64;
        for cut in &self.cuts {
            key = key * cut.pieces() as u64 + cut.piece(facts.get(cut.fact)?) as u64;
        }
        Some(CellKey(key))
    }

    /// The cell of a site, or the group of cells that it may lie in: a fact that is unknown counts as
    /// one piece more.
    #[must_use]
    pub fn key(&self, facts: &Facts) -> CellKey {
        let piece = |cut: &Cut| facts.get(cut.fact).map_or(cut.pieces(), |value| cut.piece(value)) as u64;
        CellKey(self.cuts.iter().fold(0u64, |key, cut| key.wrapping_mul(cut.pieces() as u64 + 1).wrapping_add(piece(cut))))
    }

    /// One example of facts for each cell that a site may lie in: the site's own facts where they
    /// are known, every piece where they are not.
    pub fn cells<'p>(&'p self, facts: &'p Facts) -> impl Iterator<Item = Facts> + 'p {
        let unknown = self.cuts.iter().filter(|cut| facts.get(cut.fact).is_none());
        let unknown: Vec<(FactId, Vec<FactValue>)> = unknown.map(|cut| (cut.fact, cut.samples())).collect();
        let total = unknown.iter().fold(1, |n: usize, (_, samples)| n.saturating_mul(samples.len()));
        (0..total).map(move |mut number| {
            let mut example = facts.clone();
            for (fact, samples) in &unknown {
                example.set(*fact, samples[number % samples.len()]);
                number /= samples.len();
            }
            example
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Amount;

    fn within(fact: FactId, low: Option<i64>, high: Option<i64>) -> Condition {
        let bound = |n: i64| Bound::closed(Amount::plain(Exact::from(n)));
        Condition { fact, test: FactTest::Within { low: low.map(bound), high: high.map(bound) }, place: Place::NOWHERE }
    }

    #[test]
    fn a_cut_makes_three_pieces_and_a_known_fact_picks_one() {
        let condition = within(FactId::NameplateTotal, None, Some(10_000));
        let partition = Partition::of([&condition]);
        assert_eq!(partition.len(), 3);
        let answers: Vec<_> = partition.cells(&Facts::default()).map(|f| condition.holds(&f)).collect();
        assert_eq!(answers, [Some(true), Some(true), Some(false)]);

        let mut facts = Facts::default();
        facts.set_number(FactId::NameplateTotal, Exact::from(12_000));
        assert_eq!(partition.cells(&facts).count(), 1);
        assert_eq!(partition.cell(&Facts::default()), None);
    }

    #[test]
    fn every_condition_has_one_answer_in_every_cell() {
        let words = FactTest::OneOf(Words::one(1).or(Words::one(2)));
        let conditions = [
            within(FactId::Phases, Some(1), Some(1)),
            within(FactId::Phases, Some(3), None),
            Condition { fact: FactId::ExportKind, test: words, place: Place::NOWHERE },
        ];
        let partition = Partition::of(&conditions);
        assert_eq!(partition.len(), 3 * 3, "one, two or three phases; three kinds of export");
        let keys: std::collections::BTreeSet<_> = partition.cells(&Facts::default()).map(|f| partition.cell(&f).unwrap()).collect();
        assert_eq!(keys.len(), 9, "each example lies in a cell of its own");
    }

    #[test]
    fn no_cell_holds_a_site_that_cannot_be() {
        let until = within(FactId::Applied, None, Some(100));
        let from = within(FactId::Applied, Some(101), None);
        let partition = Partition::of([&until, &from]);
        let answers: Vec<_> = partition.cells(&Facts::default()).map(|f| (until.holds(&f), from.holds(&f))).collect();
        assert!(answers.iter().all(|(until, from)| until != from), "every day is in one window: {answers:?}");
        let rated = within(FactId::NameplateTotal, Some(0), None);
        let all: Vec<_> = Partition::of([&rated]).cells(&Facts::default()).map(|f| rated.holds(&f)).collect();
        assert_eq!(all, [Some(true)], "nobody has a nameplate of nothing");
    }

    #[test]
    fn an_unknown_fact_matters_only_where_nothing_else_decides() {
        let mut facts = Facts::default();
        facts.set_number(FactId::Phases, Exact::from(3));
        let one_phase = within(FactId::Phases, Some(1), Some(1));
        let small = within(FactId::NameplateTotal, None, Some(10_000));
        assert_eq!(all_hold(&[one_phase, small], &facts), Some(false));
        assert_eq!(all_hold(&[small], &facts), None);
    }
}
