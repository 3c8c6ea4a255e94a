//! Seeded chance that stays the same on every machine and in every later version: ChaCha, and plain arithmetic on its bits.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// Dice.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A whole number below `limit`, all as likely (the part of 2^64 that would favour some is thrown again).
    pub fn below(&mut self, limit: usize) -> usize {
        let limit = limit as u64;
        let fair = u64::MAX - u64::MAX % limit;
        loop {
            let thrown = self.0.next_u64();
            if thrown < fair {
                return (thrown % limit) as usize;
            }
        }
    }

    /// A number above 0 and below 1.
    pub fn inside(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) / 2f64.powi(52)
    }
}
