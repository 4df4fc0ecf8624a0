//! Blocks of sixteen trials, in parallel, under common weather.

use super::block_history::BlockHistory;
use super::parts;
use super::plan::{CHAIN_START, Plan};
use crate::lanes::{BLOCK, Isa};
use crate::plant::{self, DayBlock, DayInput, Light, State, UnitBlock};
use crate::tally::{Tally, Trial, TrialOutcome};
use crate::weather::{BlockDay, BlockKey, Sampler};
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Blocks handed out before results are merged and stopping rules asked. Fixed, so that where a
/// run stops does not depend on the number of threads.
pub const WAVE_BLOCKS: u64 = 8;

/// Trials of one wave.
pub const WAVE_TRIALS: u64 = WAVE_BLOCKS * BLOCK as u64;

/// How far a run has come; handed to the caller after each block.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Progress {
    /// Trials of the block that is done.
    pub trials: u64,
    /// Simulated days of it, all designs together.
    pub days: u64,
}

/// How blocks are computed: seed, instruction set, threads, and who hears of it.
pub struct Engine<'a> {
    /// Master seed.
    pub seed: u64,
    /// Instruction set; results do not depend on it.
    pub isa: Isa,
    /// Threads; results do not depend on it.
    pub pool: Arc<rayon::ThreadPool>,
    /// Called after each block, from any thread.
    pub progress: &'a (dyn Fn(Progress) + Sync),
    /// Set from outside to stop after the wave in work.
    pub stop: &'a AtomicBool,
}

/// A block to be computed for some plans, which share a place.
pub struct Task<'p> {
    /// The block.
    pub block: u64,
    /// The plans.
    pub plans: Vec<&'p Plan>,
}

/// One design's share of a block.
pub struct BlockResult {
    /// Its trials, tallied.
    pub tally: Tally,
    /// Trial by trial, for paired comparison.
    pub outcomes: Vec<TrialOutcome>,
    /// Its days, of the first block of a plan that runs alone: for the report.
    pub history: Option<BlockHistory>,
}

impl Engine<'static> {
    /// With the best instruction set of this processor; nobody hears of its progress, and nobody stops it.
    pub fn new(seed: u64, pool: Arc<rayon::ThreadPool>) -> Engine<'static> {
        static NEVER: AtomicBool = AtomicBool::new(false);
        Engine { seed, isa: Isa::detect(), pool, progress: &|_| (), stop: &NEVER }
    }
}

impl Engine<'_> {
    /// Whether somebody asked to stop.
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Blocks `blocks` of all plans (which share a place), in block order; the last block is cut
    /// so that no trial from `trials` on is tallied.
    pub fn blocks(&self, plans: &[&Plan], blocks: &[u64], trials: u64) -> Vec<Vec<BlockResult>> {
        self.pool.install(|| {
            blocks
                .par_iter()
                .map_init(ThreadBuffers::default, |buffers, &block| {
                    let keep_history = block == 0 && plans.len() == 1;
                    let (results, done) = self.block(plans, block, trials, keep_history, buffers);
                    (self.progress)(done);
                    results
                })
                .collect()
        })
    }

    /// The trials of several tasks, task by task and plan by plan; none from `trials` on. Plans of one task meet
    /// one weather, drawn once.
    pub fn outcomes(&self, tasks: &[Task<'_>], trials: u64) -> Vec<Vec<Vec<TrialOutcome>>> {
        self.pool.install(|| {
            tasks
                .par_iter()
                .map_init(ThreadBuffers::default, |buffers, task| {
                    let (results, done) = self.block(&task.plans, task.block, trials, false, buffers);
                    // Each plan has trials of its own.
                    let trials = done.trials * task.plans.len() as u64;
                    (self.progress)(Progress { trials, ..done });
                    results.into_iter().map(|r| r.outcomes).collect()
                })
                .collect()
        })
    }

    /// The days of one block of a plan.
    pub(super) fn history(&self, plan: &Plan, block: u64) -> BlockHistory {
        let (mut results, _) = self.block(&[plan], block, u64::MAX, true, &mut ThreadBuffers::default());
        let history = results.pop().and_then(|r| r.history);
        history.unwrap_or_else(|| unreachable!("a block whose history is kept has one"))
    }

    /// One block of all plans, without the trials from `trials` on; and what that came to.
    fn block(
        &self,
        plans: &[&Plan],
        block: u64,
        trials: u64,
        keep_history: bool,
        buffers: &mut ThreadBuffers,
    ) -> (Vec<BlockResult>, Progress) {
        let keep = trials.saturating_sub(block * BLOCK as u64).min(BLOCK as u64) as usize;
        let days: usize = plans.iter().map(|p| p.scene.days.len() * keep).sum();
        let done = Progress { trials: keep as u64, days: days as u64 };
        let Some(first) = plans.first() else { return (Vec::new(), done) };
        let sampler = &first.site.sampler;
        let first_trial = block * BLOCK as u64;
        let chain_days = plans.iter().map(|p| p.chain_days()).max().unwrap_or(0);
        let start_at = plans.iter().map(|p| p.chain_offset()).min().unwrap_or(0);
        let chains = chains(sampler, self.seed, first_trial, chain_days);
        let mut runs: Vec<BlockRun> =
            plans.iter().map(|plan| BlockRun::start(self, plan, first_trial, keep, keep_history)).collect();
        let order = order_by_light(&runs);
        for k in start_at..chain_days {
            let donors = donors(&chains, k);
            let day_of_year = ((usize::from(CHAIN_START) + k) % 365) as u16;
            let key = BlockKey { seed: self.seed, first_trial, day_index: k };
            sampler.fill(self.isa, key, day_of_year, donors, &mut buffers.weather);
            buffers.lit_for = None;
            for &(light, i) in &order {
                runs[i].day(self.isa, k, light, buffers);
            }
        }
        (runs.into_iter().map(BlockRun::finish).collect(), done)
    }
}

/// Chains of donor days of the sixteen trials from `first_trial` on.
pub(super) fn chains(sampler: &Sampler, seed: u64, first_trial: u64, days: usize) -> Vec<Vec<u32>> {
    (first_trial..first_trial + BLOCK as u64)
        .map(|trial| sampler.chain(seed, trial, CHAIN_START, days))
        .collect()
}

/// Donor days of place `k` in the chains of a block.
pub(super) fn donors(chains: &[Vec<u32>], k: usize) -> [u32; BLOCK] {
    std::array::from_fn(|lane| chains[lane][k])
}

/// Buffers of one thread.
#[derive(Default)]
struct ThreadBuffers {
    weather: BlockDay,
    /// The light of the day in work, and the first of the builds that see it so.
    light: Light,
    lit_for: Option<usize>,
    out: DayBlock,
}

/// One design under way through one block.
struct BlockRun<'p> {
    plan: &'p Plan,
    units: UnitBlock,
    state: State,
    trials: Vec<Trial>,
    luck: Vec<Vec<f64>>,
    history: Option<BlockHistory>,
    offset: usize,
}

/// The builds such that those that see alike follow one another, each with the first that sees as it does: one light at a
/// time then serves them all, however many mounts there are.
fn order_by_light(runs: &[BlockRun<'_>]) -> Vec<(usize, usize)> {
    let first = |i: usize| runs[..i].iter().position(|other| runs[i].shares_light_with(other)).unwrap_or(i);
    let mut order: Vec<(usize, usize)> = (0..runs.len()).map(|i| (first(i), i)).collect();
    order.sort_unstable();
    order
}

impl<'p> BlockRun<'p> {
    fn start(engine: &Engine<'_>, plan: &'p Plan, first_trial: u64, keep: usize, keep_history: bool) -> Self {
        let Engine { seed, isa, .. } = *engine;
        let (designs, luck): (Vec<_>, Vec<_>) =
            (0..BLOCK as u64).map(|lane| parts::draw(&plan.file.design, seed, first_trial + lane)).unzip();
        let units = UnitBlock::new(&designs);
        let state = units.start_state();
        let trials = designs[..keep]
            .iter()
            .map(|unit| {
                let mut trial = Trial::new(&plan.layout, isa);
                trial.set_battery_life(unit);
                trial
            })
            .collect();
        let history = keep_history.then(|| BlockHistory::new(first_trial, &units));
        BlockRun { plan, units, state, trials, luck, history, offset: plan.chain_offset() }
    }

    /// Whether the same weather is the same light for both.
    fn shares_light_with(&self, other: &BlockRun<'_>) -> bool {
        self.units.shares_light_with(&other.units) && self.plan.scene.shares_sky_with(&other.plan.scene)
    }

    /// Day `k` of the chain, if the design's season has it. `light` is the first build that sees as this one does.
    fn day(&mut self, isa: Isa, k: usize, light: usize, buffers: &mut ThreadBuffers) {
        let scene = &self.plan.scene;
        let Some(index) = k.checked_sub(self.offset).filter(|i| *i < scene.days.len()) else {
            return;
        };
        if buffers.lit_for != Some(light) {
            buffers.light.compute(isa, scene, index, &self.units, &buffers.weather);
            buffers.lit_for = Some(light);
        }
        let ThreadBuffers { weather, light, out, .. } = buffers;
        let input = DayInput { scene, index, units: &self.units, weather, light };
        if let Some(history) = &mut self.history {
            history.record_start(&self.state);
        }
        plant::step_day(isa, input, &mut self.state, out);
        if let Some(history) = &mut self.history {
            history.record_day(self.plan, index, out);
        }
        for (lane, trial) in self.trials.iter_mut().enumerate() {
            trial.add_day(&self.plan.layout, &scene.days[index], out, lane);
        }
    }

    fn finish(self) -> BlockResult {
        let mut tally = Tally::new(&self.plan.layout);
        let mut outcomes = Vec::with_capacity(self.trials.len());
        for (trial, luck) in self.trials.iter().zip(&self.luck) {
            tally.add_trial(&self.plan.layout, trial, luck);
            outcomes.push(trial.outcome());
        }
        BlockResult { tally, outcomes, history: self.history }
    }
}
