//! Some cells of a partition in the fewest words: conditions that hold in just these cells.

use super::{Condition, Cut, FactTest, Partition};
use crate::claim::{Bound, Words};
use crate::exact::Exact;
use crate::facts::{FactId, FactShape, FactValue, show};
use crate::quantity::Amount;
use crate::source::Place;

/// Of each fact of a partition, the positions of those samples that a block of cells takes.
type Block = Vec<Vec<usize>>;

impl Partition {
    /// Lists of conditions: at every site of the wanted cells all conditions of some list hold, and at no
    /// site of another cell. One empty list where every cell is wanted.
    ///
    /// `wanted` has an answer for each cell, in the order of [`Partition::cells`] of no known facts.
    #[must_use]
    pub fn cover(&self, wanted: &[bool]) -> Vec<Vec<Condition>> {
        let sizes: Vec<usize> = self.cuts.iter().map(|cut| cut.samples().len()).collect();
        let mut blocks: Vec<Block> = Vec::new();
        let mut covered = vec![false; wanted.len()];
        for seed in 0..wanted.len() {
            if wanted[seed] && !covered[seed] {
                let block = self.grown(seed, &sizes, wanted);
                for_each_cell(&block, &sizes, &mut |cell| covered[cell] = true);
                blocks.push(block);
            }
        }
        without_what_others_cover(&mut blocks, &sizes, wanted.len());
        blocks.iter().map(|block| self.conditions(block)).collect()
    }

    /// The block around one cell that cannot take in another neighbour without one that is not wanted.
    fn grown(&self, seed: usize, sizes: &[usize], wanted: &[bool]) -> Block {
        let mut rest = seed;
        let mut block: Block = Vec::with_capacity(sizes.len());
        for size in sizes {
            block.push(vec![rest % size]);
            rest /= size;
        }
        for (fact, size) in sizes.iter().enumerate() {
            let is_list = !self.cuts[fact].fact.words().is_empty();
            loop {
                let taken = &block[fact];
                let (first, last) = (taken[0], taken[taken.len() - 1]);
                let is_next = |n: &usize| is_list || n + 1 == first || *n == last + 1;
                let fits = |n: &usize| {
                    let mut with = block.clone();
                    with[fact] = vec![*n];
                    let mut all = true;
                    for_each_cell(&with, sizes, &mut |cell| all &= wanted[cell]);
                    all
                };
                let Some(next) = (0..*size).filter(|n| !taken.contains(n)).filter(is_next).find(fits) else { break };
                block[fact].push(next);
                block[fact].sort_unstable();
            }
        }
        block
    }

    fn conditions(&self, block: &Block) -> Vec<Condition> {
        let of_fact = |(cut, taken): (&Cut, &Vec<usize>)| {
            let samples = cut.samples();
            (taken.len() < samples.len()).then(|| Condition { fact: cut.fact, test: cut.test(&samples, taken), place: Place::NOWHERE })
        };
        self.cuts.iter().zip(block).filter_map(of_fact).collect()
    }
}

fn for_each_cell(block: &Block, sizes: &[usize], visit: &mut impl FnMut(usize)) {
    let total: usize = block.iter().map(Vec::len).product();
    for mut number in 0..total {
        let (mut cell, mut weight) = (0, 1);
        for (taken, size) in block.iter().zip(sizes) {
            cell += taken[number % taken.len()] * weight;
            number /= taken.len();
            weight *= size;
        }
        visit(cell);
    }
}

/// Blocks may overlap, so that an early one may say nothing that later ones do not say.
fn without_what_others_cover(blocks: &mut Vec<Block>, sizes: &[usize], cells: usize) {
    let mut times = vec![0u32; cells];
    for block in blocks.iter() {
        for_each_cell(block, sizes, &mut |cell| times[cell] += 1);
    }
    blocks.retain(|block| {
        let mut is_needed = false;
        for_each_cell(block, sizes, &mut |cell| is_needed |= times[cell] == 1);
        if !is_needed {
            for_each_cell(block, sizes, &mut |cell| times[cell] -= 1);
        }
        is_needed
    });
}

impl Cut {
    /// What holds of just the pieces in which these samples lie.
    fn test(&self, samples: &[FactValue], taken: &[usize]) -> FactTest {
        if !self.fact.words().is_empty() {
            return FactTest::OneOf(taken.iter().fold(Words::default(), |all, word| all.or(Words::one(*word as u8))));
        }
        let (first, last) = (taken[0], taken[taken.len() - 1]);
        let low = (first > 0).then(|| self.edge(self.piece(samples[first]), false));
        let high = (last + 1 < samples.len()).then(|| self.edge(self.piece(samples[last]), true));
        // of what is counted between two ends, such as phases, both are said
        let possible = self.fact.possible();
        let closed = |edge: crate::facts::Possible| Bound::closed(Amount::plain(Exact::from(edge.at)));
        let ends = possible.0.zip(possible.1).filter(|_| self.fact.is_whole());
        FactTest::Within { low: low.or(ends.map(|(least, _)| closed(least))), high: high.or(ends.map(|(_, most)| closed(most))) }
    }

    /// The lower or upper edge of a piece that has one.
    fn edge(&self, piece: usize, is_high: bool) -> Bound {
        let number = |cut: usize| self.at[cut];
        if piece % 2 == 1 {
            return Bound::closed(Amount::plain(number(piece / 2)));
        }
        let beyond = number(if is_high { piece / 2 } else { piece / 2 - 1 });
        match (self.fact.is_whole(), is_high) {
            (true, true) => Bound::closed(Amount::plain(beyond - Exact::ONE)),
            (true, false) => Bound::closed(Amount::plain(beyond + Exact::ONE)),
            (false, _) => Bound::open(Amount::plain(beyond)),
        }
    }
}

impl Condition {
    /// As files write it: `nameplate-total over 30 kVA to 40 kVA`, `applied from 2026-07-01`,
    /// `export-kind fixed or dynamic`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let test = match self.test {
            FactTest::OneOf(words) => words.iter().map(|word| show(self.fact, FactValue::Word(word))).collect::<Vec<_>>().join(" or "),
            FactTest::Within { low, high } => within(self.fact, low, high),
        };
        format!("{} {test}", self.fact.row().key)
    }
}

fn within(fact: FactId, low: Option<Bound>, high: Option<Bound>) -> String {
    let shown = |bound: Bound| show(fact, FactValue::Number(bound.value.number));
    let is_date = fact.row().shape == FactShape::Date;
    match (low, high) {
        (Some(low), Some(high)) if low == high => shown(low),
        (Some(low), Some(high)) => {
            let word = |bound: Bound, word| if bound.open { word } else { "" };
            format!("{}{} to {}{}", word(low, "over "), shown(low), word(high, "under "), shown(high))
        }
        (Some(low), None) if is_date => format!("from {}", shown(low)),
        (Some(low), None) => format!("{} {}", if low.open { "over" } else { "at least" }, shown(low)),
        (None, Some(high)) if is_date => format!("until {}", shown(high)),
        (None, Some(high)) => format!("{} {}", if high.open { "under" } else { "at most" }, shown(high)),
        (None, None) => "any".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cells::all_hold;
    use crate::facts::Facts;

    fn within(fact: FactId, low: Option<(i64, bool)>, high: Option<(i64, bool)>) -> Condition {
        let bound = |(n, open): (i64, bool)| Bound { value: Amount::plain(Exact::from(n)), open };
        Condition { fact, test: FactTest::Within { low: low.map(bound), high: high.map(bound) }, place: Place::NOWHERE }
    }

    fn covered(conditions: &[Condition], wanted: impl Fn(&Facts) -> bool) -> Vec<String> {
        let partition = Partition::of(conditions);
        let nobody = Facts::default();
        let cells: Vec<Facts> = partition.cells(&nobody).collect();
        let answers: Vec<bool> = cells.iter().map(&wanted).collect();
        let lists = partition.cover(&answers);
        for (cell, answer) in cells.iter().zip(&answers) {
            assert_eq!(lists.iter().any(|list| all_hold(list, cell) == Some(true)), *answer, "{lists:?} at {cell:?}");
        }
        lists.iter().map(|list| list.iter().map(Condition::in_words).collect::<Vec<_>>().join(" and ")).collect()
    }

    #[test]
    fn what_one_condition_holds_and_another_does_not_is_one_interval() {
        let over = |kva: i64| within(FactId::NameplateTotal, Some((kva * 1000, true)), None);
        let both = [over(30), over(40)];
        let between = covered(&both, |facts| both[0].holds(facts) == Some(true) && both[1].holds(facts) == Some(false));
        assert_eq!(between, ["nameplate-total over 30 kVA to 40 kVA"]);
        let outside = covered(&both, |facts| both[0].holds(facts) == Some(false) || both[1].holds(facts) == Some(true));
        assert_eq!(outside, ["nameplate-total at most 30 kVA", "nameplate-total over 40 kVA"]);
        assert_eq!(covered(&both, |_| true), [""]);
    }

    #[test]
    fn days_and_phases_are_counted() {
        let (until, from) = (within(FactId::Applied, None, Some((100, false))), within(FactId::Applied, Some((131, false)), None));
        let hole = covered(&[until, from], |facts| until.holds(facts) == Some(false) && from.holds(facts) == Some(false));
        assert_eq!(hole, ["applied 1970-04-12 to 1970-05-11"]);
        let one = within(FactId::Phases, Some((1, false)), Some((1, false)));
        assert_eq!(covered(&[one], |facts| one.holds(facts) == Some(false)), ["phases 2 to 3"]);
        assert_eq!(covered(&[one], |facts| one.holds(facts) == Some(true)), ["phases 1"]);
    }

    #[test]
    fn words_and_numbers_together_make_few_lists() {
        let fixed = Condition { fact: FactId::ExportKind, test: FactTest::OneOf(Words::one(1)), place: Place::NOWHERE };
        let small = within(FactId::NameplateTotal, None, Some((10_000, false)));
        let either = |facts: &Facts| fixed.holds(facts) == Some(true) || small.holds(facts) == Some(true);
        assert_eq!(covered(&[fixed, small], either), ["nameplate-total at most 10 kVA", "export-kind fixed"]);
        assert_eq!(covered(&[fixed, small], |facts| !either(facts)), ["export-kind none or dynamic and nameplate-total over 10 kVA"]);
    }
}
