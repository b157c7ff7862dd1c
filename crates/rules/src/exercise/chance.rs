//! Chance that is the same on every machine and in every release.
//!
//! ChaCha is a published algorithm (D. J. Bernstein, 2008; RFC 8439), so its stream never changes; how a
//! number below a bound is made of it is written here, so that no library's next version moves an exercise.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// A stream of chance.
#[derive(Clone, Debug)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of this number under a seed: those of one seed have nothing to do with one another.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut bytes = [0; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        bytes[8..16].copy_from_slice(b"exercise");
        let mut chance = ChaCha8Rng::from_seed(bytes);
        chance.set_stream(stream);
        Self(chance)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0.next_u64()
    }

    /// A number from 0 to below `count`, every one as likely; 0 where there is nothing to choose.
    pub fn below(&mut self, count: usize) -> usize {
        let count = count as u64;
        if count < 2 {
            return 0;
        }
        // the last, incomplete round of the 64 bits would favour small numbers
        let whole_rounds = u64::MAX - u64::MAX % count;
        loop {
            let bits = self.bits();
            if bits < whole_rounds {
                return (bits % count) as usize;
            }
        }
    }

    /// One of several.
    pub fn pick<'t, T>(&mut self, of: &'t [T]) -> Option<&'t T> {
        let at = self.below(of.len());
        of.get(at)
    }

    /// Puts them in any order, every one as likely.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            let other = self.below(last + 1);
            items.swap(last, other);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The stream itself: if it moves, every exercise that a trainer drew before is another one.
    #[test]
    fn the_stream_is_what_it_always_was() {
        let mut chance = Chance::new(7, 0);
        let first: Vec<usize> = (0..12).map(|_| chance.below(10)).collect();
        let mut other = Chance::new(7, 1);
        let second: Vec<usize> = (0..12).map(|_| other.below(10)).collect();
        assert_eq!((first, second), (FIRST.to_vec(), SECOND.to_vec()));
    }

    // worked out apart from the library: the quarter rounds of RFC 8439, eight of them, in a few lines of Python
    const FIRST: [usize; 12] = [4, 3, 8, 3, 5, 9, 0, 2, 5, 6, 8, 7];
    const SECOND: [usize; 12] = [3, 4, 0, 6, 8, 2, 0, 7, 2, 9, 7, 9];

    #[test]
    fn every_order_comes_up_about_as_often() {
        let mut seen = std::collections::BTreeMap::new();
        let mut chance = Chance::new(1, 0);
        for _ in 0..6000 {
            let mut items = [0, 1, 2];
            chance.shuffle(&mut items);
            *seen.entry(items).or_insert(0) += 1;
        }
        assert!(seen.len() == 6 && seen.values().all(|count| (900..1100).contains(count)), "{seen:?}");
    }
}
