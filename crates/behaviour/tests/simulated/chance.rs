//! Numbers that are drawn, the same for one seed.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

pub struct Chance(ChaCha8Rng);

impl Chance {
    pub fn of(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// From 0 up to 1.
    pub fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub fn flips(&mut self) -> bool {
        self.share() < 0.5
    }

    /// About 0, of standard deviation 1, never beyond 3.
    pub fn normal(&mut self) -> f64 {
        let sum: f64 = (0..12).map(|_| self.share()).sum();
        (sum - 6.0).clamp(-3.0, 3.0)
    }

    pub fn one_of<'t, T>(&mut self, of: &'t [T]) -> &'t T {
        &of[(self.share() * of.len() as f64) as usize]
    }
}
