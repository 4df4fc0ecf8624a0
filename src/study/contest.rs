//! Several builds at one place, wave after wave under the same weather and part luck.

use super::engine::{BlockResult, Engine, WAVE_BLOCKS};
use super::paired::Paired;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::tally::{Tally, TrialOutcome};

/// Is shown each block: who took part, and each one's trials in the same order.
pub type Watcher<'a> = dyn FnMut(&[usize], &[&[TrialOutcome]]) + 'a;

/// A build in a contest.
pub struct Entrant {
    /// The build.
    pub plan: Plan,
    /// Its trials so far.
    pub tally: Tally,
    /// Trial by trial against the first entrant (against itself for the first).
    pub against_first: Paired,
    /// Whether it is still simulated.
    pub alive: bool,
}

/// Several builds at one place. The first is the one the others are held against; it never drops out.
pub struct Contest {
    /// The builds; at least one.
    pub entrants: Vec<Entrant>,
    /// The block that comes next.
    pub next_block: u64,
}

impl Contest {
    /// Nothing simulated yet. All plans share their place.
    pub fn new(plans: Vec<Plan>) -> Contest {
        let entrants = plans
            .into_iter()
            .map(|plan| {
                let tally = Tally::new(&plan.shape);
                Entrant { plan, tally, against_first: Paired::default(), alive: true }
            })
            .collect();
        Contest { entrants, next_block: 0 }
    }

    /// Trials simulated so far.
    pub fn trials(&self) -> u64 {
        self.entrants.first().map_or(0, |e| e.tally.trials())
    }

    /// Simulates one wave of those still alive; no trial from `most` on. Weather is drawn once for all.
    pub fn wave(&mut self, engine: &Engine<'_>, most: u64) {
        self.wave_with(engine, most, &mut |_, _| ());
    }

    /// The same; `see` is shown every block: who took part, and each one's trials.
    pub fn wave_with(&mut self, engine: &Engine<'_>, most: u64, see: &mut Watcher<'_>) {
        let last = most.div_ceil(BLOCK as u64);
        let blocks: Vec<u64> = (self.next_block..(self.next_block + WAVE_BLOCKS).min(last)).collect();
        let alive: Vec<usize> =
            (0..self.entrants.len()).filter(|&i| i == 0 || self.entrants[i].alive).collect();
        let plans: Vec<&Plan> = alive.iter().map(|&i| &self.entrants[i].plan).collect();
        for results in engine.blocks(&plans, &blocks, most) {
            let outcomes: Vec<&[TrialOutcome]> = results.iter().map(|r| &r.outcomes[..]).collect();
            see(&alive, &outcomes);
            self.take(&alive, &results);
        }
        self.next_block += blocks.len() as u64;
    }

    fn take(&mut self, alive: &[usize], results: &[BlockResult]) {
        let Some(first) = results.first() else { return };
        for (&i, result) in alive.iter().zip(results) {
            let entrant = &mut self.entrants[i];
            // Shapes and numbers of trials agree: both come from this contest's own plans.
            let merged = entrant.tally.merge(&result.tally);
            let paired = entrant.against_first.take(&first.outcomes, &result.outcomes);
            debug_assert!(merged.is_ok() && paired.is_ok());
        }
    }
}
