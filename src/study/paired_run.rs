//! Several builds at one place, simulated wave by wave under the same weather and part luck. Who stops when is decided by
//! the studies that use it.

use super::engine::{BlockResult, Engine, WAVE_BLOCKS};
use super::paired::Paired;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::tally::{Tally, TrialOutcome};

/// Called for each block with the indices of the builds simulated, and the trials of each in the same order.
pub(crate) type BlockObserver<'a> = dyn FnMut(&[usize], &[&[TrialOutcome]]) + 'a;

/// A build in a paired run.
pub(crate) struct PairedBuild {
    /// The build.
    pub plan: Plan,
    /// Its trials so far.
    pub tally: Tally,
    /// Trial by trial against the first build (against itself for the first).
    pub against_first: Paired,
    /// Whether it is still simulated.
    pub alive: bool,
}

/// Several builds at one place. The others are compared with the first, which never stops early.
pub(crate) struct PairedRun {
    /// The builds; at least one.
    pub builds: Vec<PairedBuild>,
    /// The block that comes next.
    pub next_block: u64,
}

impl PairedRun {
    /// Nothing simulated yet. All plans share their place.
    pub(crate) fn new(plans: Vec<Plan>) -> PairedRun {
        let builds = plans
            .into_iter()
            .map(|plan| {
                let tally = Tally::new(&plan.layout);
                PairedBuild { plan, tally, against_first: Paired::default(), alive: true }
            })
            .collect();
        PairedRun { builds, next_block: 0 }
    }

    /// Trials simulated so far.
    pub fn trials(&self) -> u64 {
        self.builds.first().map_or(0, |e| e.tally.trials())
    }

    /// Simulates one wave of the builds still alive, without trials from number `most` on.
    pub(crate) fn wave(&mut self, engine: &Engine<'_>, most: u64) {
        self.wave_with(engine, most, &mut |_, _| ());
    }

    /// The same; `see` is called for every block.
    pub(crate) fn wave_with(&mut self, engine: &Engine<'_>, most: u64, see: &mut BlockObserver<'_>) {
        let last = most.div_ceil(BLOCK as u64);
        let blocks: Vec<u64> = (self.next_block..(self.next_block + WAVE_BLOCKS).min(last)).collect();
        let alive: Vec<usize> = (0..self.builds.len()).filter(|&i| i == 0 || self.builds[i].alive).collect();
        let plans: Vec<&Plan> = alive.iter().map(|&i| &self.builds[i].plan).collect();
        for results in engine.blocks(&plans, &blocks, most) {
            self.next_block += 1;
            let outcomes: Vec<&[TrialOutcome]> = results.iter().map(|r| &r.outcomes[..]).collect();
            see(&alive, &outcomes);
            self.take(&alive, &results);
        }
    }

    fn take(&mut self, alive: &[usize], results: &[BlockResult]) {
        let Some(first) = results.first() else { return };
        for (&i, result) in alive.iter().zip(results) {
            let build = &mut self.builds[i];
            // Layouts and numbers of trials agree: both come from this run's own plans.
            let merged = build.tally.merge(&result.tally);
            let paired = build.against_first.take(&first.outcomes, &result.outcomes);
            debug_assert!(merged.is_ok() && paired.is_ok());
        }
    }
}
