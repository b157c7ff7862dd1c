//! Draws that are the same everywhere.

/// SplitMix64 (S. Vigna's public-domain generator): the same draws everywhere.
pub struct Chance(u64);

impl Chance {
    /// Of this seed, or of the one in `ASLEFT_SEED`.
    pub fn of(seed: u64) -> Self {
        Self(std::env::var("ASLEFT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(seed))
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }
    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
    pub fn of_these<'t, T>(&mut self, these: &'t [T]) -> &'t T {
        &these[self.below(these.len())]
    }
    pub fn shuffled<T>(&mut self, mut these: Vec<T>) -> Vec<T> {
        (1..these.len()).rev().for_each(|n| these.swap(n, self.below(n + 1)));
        these
    }
}

pub fn drawn(usual: usize) -> usize {
    std::env::var("ASLEFT_DRAWN").map_or(usual, |count| count.parse().expect("ASLEFT_DRAWN is a number"))
}
