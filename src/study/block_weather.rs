//! The weather of a block of sixteen trials: its chains of donor days, drawn once, and its days minute by minute.

use super::plan::CHAIN_START;
use crate::lanes::{BLOCK, Isa};
use crate::weather::{BlockDay, BlockKey, SampledDay, Sampler};

/// The weather of the sixteen trials from `first_trial` on.
pub(super) struct BlockWeather<'s> {
    sampler: &'s Sampler,
    seed: u64,
    first_trial: u64,
    /// Donor days by trial, from [`CHAIN_START`] on.
    chains: Vec<Vec<SampledDay>>,
}

impl<'s> BlockWeather<'s> {
    /// Draws the chains, `days` long.
    pub(crate) fn new(sampler: &'s Sampler, seed: u64, first_trial: u64, days: usize) -> Self {
        let chains = (first_trial..first_trial + BLOCK as u64)
            .map(|trial| sampler.chain(seed, trial, CHAIN_START, days))
            .collect();
        BlockWeather { sampler, seed, first_trial, chains }
    }

    /// Fills in day `k` of the chains.
    pub(crate) fn fill(&self, isa: Isa, k: usize, out: &mut BlockDay) {
        let day_of_year = ((usize::from(CHAIN_START) + k) % 365) as u16;
        let days = std::array::from_fn(|lane| self.chains[lane][k]);
        let key = BlockKey { seed: self.seed, first_trial: self.first_trial, day_index: k };
        self.sampler.fill(isa, key, day_of_year, days, out);
    }
}
