//! The weather of a block of sixteen trials: its chains of donor days, drawn once, and its days minute by minute.

use super::plan::{CHAIN_START, Plan};
use crate::lanes::{BLOCK, Isa};
use crate::weather::{BlockDay, BlockKey, DULL_LEVELS, SampledDay, Sampler};

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

    /// What the light of a plan's season lacks in each of the first `trials`, beyond the mean of all years, kWh/m².
    pub(super) fn dull_light(&self, plan: &Plan, trials: usize) -> Vec<[f64; DULL_LEVELS]> {
        let end = plan.chain_days();
        let season = end - plan.layout.days.len()..end;
        let first_day = usize::from(CHAIN_START) + season.start;
        let lacks = |chain: &Vec<SampledDay>| {
            chain
                .get(season.clone())
                .map_or([0.0; DULL_LEVELS], |days| self.sampler.dull_light(first_day, days))
        };
        self.chains.iter().take(trials).map(lacks).collect()
    }

    /// Fills in day `k` of the chains.
    pub(crate) fn fill(&self, isa: Isa, k: usize, out: &mut BlockDay) {
        let day_of_year = ((usize::from(CHAIN_START) + k) % 365) as u16;
        let days = std::array::from_fn(|lane| self.chains[lane][k]);
        let key = BlockKey { seed: self.seed, first_trial: self.first_trial, day_index: k };
        self.sampler.fill(isa, key, day_of_year, days, out);
    }
}
