//! The same evidence as other days would have left it, drawn from a fixed seed so that an answer stays the same.

use super::Evidence;
use crate::thresholds::{COARSE, DAYS_TO_DRAW, RESAMPLINGS, RESAMPLINGS_THAT_AGREE};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use std::collections::BTreeMap;

/// Whether something holds in nearly all resamplings; it is asked with a weight for each piece of evidence.
pub fn each(evidence: &[Evidence], mut holds: impl FnMut(&[f64]) -> bool) -> bool {
    let mut chance = ChaCha8Rng::seed_from_u64(0);
    let mut days: BTreeMap<i32, usize> = BTreeMap::new();
    for one in evidence {
        let next = days.len();
        days.entry(one.day).or_insert(next);
    }
    let agree = (0..RESAMPLINGS).filter(|_| {
        let weights: Vec<f64> = if days.len() >= DAYS_TO_DRAW {
            let times = drawn_days(days.len(), &mut chance);
            evidence.iter().map(|one| one.lasted as f64 * times[days[&one.day]]).collect()
        } else {
            evidence.iter().map(|one| drawn_blocks(one.lasted as f64 / COARSE.block as f64, &mut chance)).collect()
        };
        holds(&weights)
    });
    agree.count() >= RESAMPLINGS_THAT_AGREE
}

/// How often each of so many days is drawn, with putting back.
fn drawn_days(days: usize, chance: &mut ChaCha8Rng) -> Vec<f64> {
    let mut times = vec![0.0; days];
    (0..days).for_each(|_| times[(chance.next_u64() % days as u64) as usize] += 1.0);
    times
}

/// How many blocks are drawn where there were so many (a Poisson variable, by Knuth's product of uniforms).
fn drawn_blocks(expected: f64, chance: &mut ChaCha8Rng) -> f64 {
    /// Of more than this the spread no longer matters.
    const MANY: f64 = 200.0;
    if expected > MANY {
        return expected;
    }
    let end = (-expected).exp();
    let (mut product, mut blocks) = (uniform(chance), 0.0);
    while product > end {
        product *= uniform(chance);
        blocks += 1.0;
    }
    blocks
}

/// Between 0 and 1.
fn uniform(chance: &mut ChaCha8Rng) -> f64 {
    (chance.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}
