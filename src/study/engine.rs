//! Simulates blocks of sixteen trials in parallel; all designs of a block meet the same weather. Which blocks are asked
//! for, and when to stop, is decided by the studies ([`super::run`], [`super::paired_run`]).

use super::block_history::BlockHistory;
pub use super::block_result::BlockResult;
use super::block_weather::BlockWeather;
use super::journal::Journal;
use super::parts::PartDraws;
use super::plan::Plan;
use crate::design::TopUp;
use crate::lanes::{BLOCK, Isa};
use crate::plant::{self, DayBlock, DayInput, Light, Scene, SceneDay, State, UnitBlock};
use crate::tally::{Known, Tally, Trial, TrialOutcome};
use crate::weather::{BlockDay, DULL_LEVELS};
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Blocks simulated between two merges, after which a stopping rule is evaluated. Fixed, so that the point at which a run
/// stops does not depend on the number of threads.
pub const WAVE_BLOCKS: u64 = 8;

/// Trials of one wave.
pub const WAVE_TRIALS: u64 = WAVE_BLOCKS * BLOCK as u64;

/// Blocks whose trials are followed for how long a full basin lasts. Where its basin falls low, a block is simulated once more with
/// a basin that is kept full, so there are few of them.
const FULL_BASIN_BLOCKS: u64 = WAVE_BLOCKS;

/// One block done; passed to the caller's progress function.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Progress {
    /// Trials in the block.
    pub trials: u64,
    /// Simulated days in it, all designs together.
    pub days: u64,
}

/// What blocks are computed with: seed, instruction set, threads, progress, stop flag.
pub struct Engine<'a> {
    /// Master seed.
    pub seed: u64,
    /// Instruction set; results do not depend on it.
    pub isa: Isa,
    /// Threads; results do not depend on it.
    pub pool: Arc<rayon::ThreadPool>,
    /// Called after each block, from any thread.
    pub progress: &'a (dyn Fn(Progress) + Sync),
    /// What was simulated before, if it is kept.
    pub journal: Option<&'a Journal>,
    /// Set by the caller to stop after the blocks that are being simulated.
    pub stop: &'a AtomicBool,
}

/// Days of a scene to walk through.
pub(super) struct Walk<'a> {
    pub scene: &'a Scene,
    /// Which of its days.
    pub days: std::ops::Range<usize>,
    pub weather: &'a BlockWeather<'a>,
    /// Day of the chains of weather on which the scene begins.
    pub chain_at: usize,
}

/// A block to simulate for several plans at one place.
pub(crate) struct Task<'p> {
    /// The block.
    pub block: u64,
    /// The plans.
    pub plans: Vec<&'p Plan>,
}

impl Engine<'static> {
    /// An engine with the best instruction set of this processor, without progress reports or a stop flag.
    pub fn new(seed: u64, pool: Arc<rayon::ThreadPool>) -> Engine<'static> {
        static NEVER: AtomicBool = AtomicBool::new(false);
        Engine { seed, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &NEVER }
    }
}

impl Engine<'_> {
    /// Whether somebody asked to stop.
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Simulates these blocks for all plans (which share a place); results in block order. Trials from number `trials` on
    /// are left out, so the last block may be shorter. When it is asked to stop, blocks not begun are left out, and all after them: the results
    /// are those of the first blocks.
    pub fn blocks(&self, plans: &[&Plan], blocks: &[u64], trials: u64) -> Vec<Vec<BlockResult>> {
        self.pool.install(|| {
            let results: Vec<Option<_>> = blocks
                .par_iter()
                .map_init(ThreadBuffers::default, |buffers, &block| {
                    if self.stopped() {
                        return None;
                    }
                    let keep = Keep {
                        trials: kept_trials(block, trials),
                        tally: true,
                        history: block == 0 && plans.len() == 1,
                        full_basin: block < FULL_BASIN_BLOCKS,
                    };
                    let (results, done) = self.known_or_simulated(plans, block, keep, buffers);
                    (self.progress)(done);
                    Some(results)
                })
                .collect();
            results.into_iter().map_while(|results| results).collect()
        })
    }

    /// Simulates several tasks; results by task and plan. Trials from number `trials` on are left out. The weather of a task
    /// is drawn once for all its plans.
    pub(crate) fn outcomes(&self, tasks: &[Task<'_>], trials: u64) -> Vec<Vec<Vec<TrialOutcome>>> {
        self.pool.install(|| {
            tasks
                .par_iter()
                .map_init(ThreadBuffers::default, |buffers, task| {
                    let trials = kept_trials(task.block, trials);
                    let keep = Keep { trials, tally: false, history: false, full_basin: false };
                    let (results, done) = self.known_or_simulated(&task.plans, task.block, keep, buffers);
                    // Every plan counts its own trials.
                    let trials = done.trials * task.plans.len() as u64;
                    (self.progress)(Progress { trials, ..done });
                    results.into_iter().map(|r| r.outcomes).collect()
                })
                .collect()
        })
    }

    /// The days of one block of a plan.
    pub(super) fn history(&self, plan: &Plan, block: u64) -> BlockHistory {
        let keep = Keep { trials: BLOCK, tally: false, history: true, full_basin: false };
        let (mut results, _) = self.block(&[plan], block, keep, &mut ThreadBuffers::default());
        let history = results.pop().and_then(|r| r.history);
        history.unwrap_or_else(|| unreachable!("a block whose history is kept has one"))
    }

    /// Steps sixteen units that are given instead of drawn through days of a scene. `after_day` sees every day, and may change the state that
    /// goes on to the next: a part has failed.
    pub(super) fn walk(
        &self,
        walk: &Walk<'_>,
        units: &UnitBlock,
        state: &mut State,
        after_day: &mut dyn FnMut(&SceneDay, &DayBlock, &mut State),
    ) {
        let (isa, scene) = (self.isa, walk.scene);
        let mut buffers = ThreadBuffers::default();
        for index in walk.days.clone() {
            walk.weather.fill(isa, walk.chain_at + index, &mut buffers.weather);
            buffers.light.compute(isa, scene, index, units, &buffers.weather);
            let ThreadBuffers { weather, light, out, .. } = &mut buffers;
            plant::step_day(isa, DayInput { scene, index, units, weather, light }, state, out);
            after_day(&scene.days[index], out, state);
        }
    }

    /// One block for all plans: what the journal does not know is simulated and goes into it.
    fn known_or_simulated(
        &self,
        plans: &[&Plan],
        block: u64,
        keep: Keep,
        buffers: &mut ThreadBuffers,
    ) -> (Vec<BlockResult>, Progress) {
        let Some(journal) = self.journal.filter(|_| !keep.history) else {
            return self.block(plans, block, keep, buffers);
        };
        let wanted = keep.trials as u64;
        let mut results: Vec<Option<BlockResult>> =
            plans.iter().map(|plan| journal.get(plan, block, wanted, keep.tally)).collect();
        let unknown: Vec<&Plan> =
            plans.iter().zip(&results).filter(|(_, known)| known.is_none()).map(|(plan, _)| *plan).collect();
        let days: usize = plans.iter().map(|p| p.scene.days.len()).sum();
        let done = Progress { trials: wanted, days: wanted * days as u64 };
        if !unknown.is_empty() {
            let (new, _) = self.block(&unknown, block, keep, buffers);
            for (plan, result) in unknown.iter().zip(&new) {
                journal.put(plan, block, keep.tally, result);
            }
            let mut new = new.into_iter();
            for place in results.iter_mut().filter(|known| known.is_none()) {
                *place = new.next();
            }
        }
        (results.into_iter().flatten().collect(), done)
    }

    /// Simulates one block for all plans.
    fn block(
        &self,
        plans: &[&Plan],
        block: u64,
        keep: Keep,
        buffers: &mut ThreadBuffers,
    ) -> (Vec<BlockResult>, Progress) {
        let days: usize = plans.iter().map(|p| p.scene.days.len() * keep.trials).sum();
        let done = Progress { trials: keep.trials as u64, days: days as u64 };
        let first_trial = block * BLOCK as u64;
        let start = |plan| BlockRun::start(self, plan, first_trial, keep);
        let mut runs: Vec<BlockRun> = plans.iter().map(|plan| start(*plan)).collect();
        self.through_days(&mut runs, first_trial, buffers);
        // A basin that falls low no longer tells how long a full one lasts: those builds go through the days again, kept full.
        let again = |run: &BlockRun<'_>| keep.full_basin && run.fell_low();
        let mut full: Vec<BlockRun> =
            runs.iter().filter(|run| again(run)).map(|run| start(run.plan).kept_full()).collect();
        self.through_days(&mut full, first_trial, buffers);
        let mut full = full.into_iter();
        let results = runs.into_iter().map(|run| {
            let kept_full = if again(&run) { full.next() } else { None };
            run.finish(keep.full_basin, kept_full)
        });
        (results.collect(), done)
    }

    /// Takes builds at one place through the days of their block.
    fn through_days(&self, runs: &mut [BlockRun<'_>], first_trial: u64, buffers: &mut ThreadBuffers) {
        let plans: Vec<&Plan> = runs.iter().map(|run| run.plan).collect();
        let Some(first) = plans.first() else { return };
        let chain_days = plans.iter().map(|p| p.chain_days()).max().unwrap_or(0);
        let start_at = plans.iter().map(|p| p.chain_offset()).min().unwrap_or(0);
        let weather = BlockWeather::new(&first.site.sampler, self.seed, first_trial, chain_days);
        for run in runs.iter_mut() {
            run.dull_light = weather.dull_light(run.plan, run.trials.len());
        }
        let order = order_by_light(runs);
        for k in start_at..chain_days {
            weather.fill(self.isa, k, &mut buffers.weather);
            buffers.lit_for = None;
            for &(light, i) in &order {
                runs[i].day(self.isa, k, light, buffers);
            }
        }
    }
}

/// What is kept of a block.
#[derive(Clone, Copy)]
struct Keep {
    /// Its first trials.
    trials: usize,
    /// Their tally, beside their outcomes.
    tally: bool,
    /// Its days, for the report.
    history: bool,
    /// How long a full basin lasts.
    full_basin: bool,
}

/// Trials of a block, in a run of `trials` trials.
fn kept_trials(block: u64, trials: u64) -> usize {
    trials.saturating_sub(block * BLOCK as u64).min(BLOCK as u64) as usize
}

/// Buffers that a thread uses again for each day.
#[derive(Default)]
struct ThreadBuffers {
    weather: BlockDay,
    /// The light of the current day, and the index of the first build that it was computed for.
    light: Light,
    lit_for: Option<usize>,
    out: DayBlock,
}

/// One design on its way through a block.
struct BlockRun<'p> {
    plan: &'p Plan,
    units: UnitBlock,
    state: State,
    trials: Vec<Trial>,
    luck: Vec<Vec<f64>>,
    /// What the light of each trial's season lacked, once its weather is drawn.
    dull_light: Vec<[f64; DULL_LEVELS]>,
    history: Option<BlockHistory>,
    offset: usize,
}

/// Orders the builds so that those sharing one [`Light`] are adjacent; each comes with the index of the first of its group.
/// The light of a group is then computed once a day, and one buffer is enough.
fn order_by_light(runs: &[BlockRun<'_>]) -> Vec<(usize, usize)> {
    let first = |i: usize| runs[..i].iter().position(|other| runs[i].shares_light_with(other)).unwrap_or(i);
    let mut order: Vec<(usize, usize)> = (0..runs.len()).map(|i| (first(i), i)).collect();
    order.sort_unstable();
    order
}

impl<'p> BlockRun<'p> {
    fn start(engine: &Engine<'_>, plan: &'p Plan, first_trial: u64, keep: Keep) -> Self {
        let Engine { seed, isa, .. } = *engine;
        let draws = PartDraws::new(&plan.file);
        let (designs, luck): (Vec<_>, Vec<_>) =
            (0..BLOCK as u64).map(|lane| draws.draw(seed, first_trial + lane)).unzip();
        let units = UnitBlock::new(&designs);
        let state = units.start_state();
        let trials = designs[..keep.trials]
            .iter()
            .map(|unit| {
                let mut trial = Trial::new(&plan.layout, isa);
                trial.set_drawn_parts(unit);
                trial
            })
            .collect();
        let history = keep.history.then(|| BlockHistory::new(first_trial, &units));
        let dull_light = vec![[0.0; DULL_LEVELS]; keep.trials];
        BlockRun { plan, units, state, trials, luck, dull_light, history, offset: plan.chain_offset() }
    }

    /// The same build with a basin that is kept full.
    fn kept_full(mut self) -> Self {
        self.units.basins.top_up = TopUp::Always;
        self.history = None;
        self
    }

    /// Whether the basin of a trial fell to its low-water mark.
    fn fell_low(&self) -> bool {
        self.units.basins.top_up != TopUp::Always && self.trials.iter().any(Trial::fell_low)
    }

    /// Whether both get the same light from the same weather.
    fn shares_light_with(&self, other: &BlockRun<'_>) -> bool {
        self.units.shares_light_with(&other.units) && self.plan.scene.shares_sky_with(&other.plan.scene)
    }

    /// Simulates day `k` of the chain, if it lies in the design's season. `light`: index of the first build that shares its
    /// light.
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

    /// `full_basin`: whether to tell how long a full basin lasts; from `kept_full`, the same build with a basin that is kept full, where
    /// its own fell low.
    fn finish(self, full_basin: bool, kept_full: Option<BlockRun<'_>>) -> BlockResult {
        let mut tally = Tally::new(&self.plan.layout);
        let mut outcomes = Vec::with_capacity(self.trials.len());
        for ((trial, luck), dull_light) in self.trials.iter().zip(&self.luck).zip(self.dull_light) {
            tally.add_trial(&self.plan.layout, trial, &Known { unknowns_u: luck, dull_light });
            outcomes.push(trial.outcome(&self.plan.layout));
        }
        let followed = kept_full.as_ref().map_or(&self.trials, |full| &full.trials);
        for trial in followed.iter().filter(|_| full_basin) {
            tally.add_full_basin(&self.plan.layout, trial);
        }
        BlockResult { tally, outcomes, history: self.history }
    }
}
