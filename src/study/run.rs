//! `run`: one design, for a number of trials or until its error is small enough. [`resume`] continues a run wave by wave;
//! between waves it can be saved. Without saving: [`super::simulate`](mod@super::simulate).

use super::block_history::BlockHistory;
use super::engine::{Engine, WAVE_BLOCKS, WAVE_TRIALS};
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::tally::Tally;
use crate::tally::summary::Estimate;
use std::time::{Duration, Instant};

/// Blocks of a wave per thread, if there are several.
const BLOCKS_A_THREAD: u64 = 16;

/// Trials before a stopping rule is evaluated for the first time.
pub(crate) const LEAST_TRIALS: u64 = 2 * WAVE_TRIALS;

/// Trials after which a stopping rule that is not met gives up.
pub(crate) const MOST_TRIALS: u64 = 1_000_000;

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Until {
    /// After so many trials.
    Trials(u64),
    /// When the half-width of the 95 % interval of still days a month is at most so many days. Evaluated after each wave
    /// from [`LEAST_TRIALS`] on. Looking early and often makes an interval cover a little less than it says, so the
    /// half-width is widened by [`SEQUENTIAL_MARGIN`] first (2 to 3 % are needed).
    HalfWidth(f64),
}

/// Factor on the half-width that makes up for repeated looks.
pub const SEQUENTIAL_MARGIN: f64 = 1.03;

impl Default for Until {
    fn default() -> Until {
        Until::Trials(super::default_trials::RUN)
    }
}

impl Until {
    /// The flag of the command line that asks for it.
    pub fn as_flag(self) -> String {
        match self {
            Until::Trials(n) => format!("--trials {n}"),
            Until::HalfWidth(days) => format!("--until {days}"),
        }
    }

    /// The largest number of trials possible.
    pub fn most(self) -> u64 {
        match self {
            Until::Trials(n) => n,
            Until::HalfWidth(_) => MOST_TRIALS,
        }
    }

    /// Whether a run of `count` blocks is at its end. A stopping rule counts only between waves: what was stopped within one continues as
    /// if it had not been.
    pub(crate) fn ended(self, state: &RunState, count: u64) -> bool {
        let between_waves = match self {
            Until::Trials(_) => true,
            Until::HalfWidth(_) => state.next_block.is_multiple_of(WAVE_BLOCKS),
        };
        state.next_block >= count || (between_waves && self.met(&state.tally))
    }

    /// Whether a tally is enough.
    pub(crate) fn met(self, tally: &Tally) -> bool {
        self.met_by(tally.trials(), tally.still_days_per_month().and_then(Estimate::half_width))
    }

    /// The same from the number of trials and the half-width of the 95 % interval of still days a month (the larger half, where
    /// they differ: after trials without a still day, how many there may be).
    pub fn met_by(self, trials: u64, half_width: Option<f64>) -> bool {
        match self {
            Until::Trials(n) => trials >= n,
            Until::HalfWidth(goal) => {
                trials >= LEAST_TRIALS && half_width.is_some_and(|half| half * SEQUENTIAL_MARGIN <= goal)
            }
        }
    }
}

/// Every `step`th block from `first` on: all blocks of a run, or one machine's part of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stride {
    /// The first block.
    pub first: u64,
    /// From one block to the next; at least 1.
    pub step: u64,
}

impl Stride {
    /// Every block.
    pub(crate) const ALL: Stride = Stride { first: 0, step: 1 };

    /// How many of these blocks a run of `trials` trials has.
    pub fn count(self, trials: u64) -> u64 {
        trials.div_ceil(BLOCK as u64).saturating_sub(self.first).div_ceil(self.step)
    }

    /// The `k`th of them.
    pub(crate) fn block(self, k: u64) -> u64 {
        self.first + k * self.step
    }

    /// Trials in the first `done` of these blocks, in a run of `trials` trials.
    pub fn trials(self, done: u64, trials: u64) -> u64 {
        let done = done.min(self.count(trials));
        let Some(last) = done.checked_sub(1) else { return 0 };
        // Only the last block of a run may be shorter.
        let short = ((self.block(last) + 1) * BLOCK as u64).saturating_sub(trials);
        done * BLOCK as u64 - short
    }
}

/// How far a run is: what is tallied, and which block comes next. Can be saved between waves and continued later.
#[derive(Clone, Debug, PartialEq)]
pub struct RunState {
    /// The tally of all blocks before `next_block`.
    pub tally: Tally,
    /// The next block, counted along the stride ([`Stride::ALL`]: its number).
    pub next_block: u64,
}

impl RunState {
    /// Nothing done yet.
    pub fn start(plan: &Plan) -> RunState {
        RunState { tally: Tally::new(&plan.layout), next_block: 0 }
    }
}

/// A run that has ended.
#[derive(Clone, Debug)]
pub struct FinishedRun {
    /// Its state at the end.
    pub state: RunState,
    /// The days of its first block, for the report; none if that block was simulated before this call.
    pub history: Option<BlockHistory>,
}

/// Continues a run until `until` is met or the engine is stopped. `after_wave` is called after every wave (to save or show
/// it); its error ends the run. Whoever is killed loses the current wave: a few seconds of work, at most 128 trials on one thread and 256
/// for each of several.
///
/// # Errors
/// That of `after_wave`.
pub fn resume<E>(
    engine: &Engine<'_>,
    plan: &Plan,
    until: Until,
    state: RunState,
    after_wave: &mut dyn FnMut(&RunState) -> Result<(), E>,
) -> Result<FinishedRun, E> {
    resume_strided(engine, plan, until, Stride::ALL, state, after_wave)
}

/// The same for every n-th block only.
///
/// # Errors
/// As [`resume`].
pub(crate) fn resume_strided<E>(
    engine: &Engine<'_>,
    plan: &Plan,
    until: Until,
    stride: Stride,
    mut state: RunState,
    after_wave: &mut dyn FnMut(&RunState) -> Result<(), E>,
) -> Result<FinishedRun, E> {
    let most = until.most();
    let count = stride.count(most);
    let mut history = None;
    let mut pace = Pace::new(until, engine.pool.current_num_threads() as u64);
    while !until.ended(&state, count) && !engine.stopped() {
        let end = pace.wave_ends(state.next_block).min(count);
        let blocks: Vec<u64> = (state.next_block..end).map(|k| stride.block(k)).collect();
        let began = Instant::now();
        for mut results in engine.blocks(&[plan], &blocks, most) {
            state.next_block += 1;
            if let Some(result) = results.pop() {
                history = history.or(result.history);
                state
                    .tally
                    .merge(&result.tally)
                    .unwrap_or_else(|_| unreachable!("tallies of one plan have one shape"));
            }
        }
        pace.took(began.elapsed());
        after_wave(&state)?;
    }
    Ok(FinishedRun { state, history })
}

/// How many blocks a wave has. A slow machine or a long season makes waves shorter, so that no more than some seconds of work are ever
/// unsaved. Results do not depend on it.
struct Pace {
    until: Until,
    wave: u64,
    /// Bounds of it.
    least: u64,
    most: u64,
}

impl Pace {
    fn new(until: Until, threads: u64) -> Pace {
        // Long enough that threads seldom wait for its last block.
        let most = if threads == 1 { WAVE_BLOCKS } else { BLOCKS_A_THREAD * threads };
        Pace { until, wave: (4 * threads).min(most), least: threads.min(most), most }
    }

    /// The block at which the wave ends that begins at `from`.
    fn wave_ends(&self, from: u64) -> u64 {
        match self.until {
            // Where a stopping rule is evaluated must not depend on anything.
            Until::HalfWidth(_) => (from / WAVE_BLOCKS + 1) * WAVE_BLOCKS,
            Until::Trials(_) => from + self.wave,
        }
    }

    fn took(&mut self, time: Duration) {
        self.wave = match time.as_secs_f64() {
            seconds if seconds > 4.0 => (self.wave / 2).max(self.least),
            seconds if seconds < 2.0 => (2 * self.wave).min(self.most),
            _ => self.wave,
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strides_share_all_blocks_and_trials_out() {
        for (trials, parts) in [(1, 1), (48, 3), (1000, 16), (1001, 7), (5, 4)] {
            let strides: Vec<Stride> = (0..parts).map(|first| Stride { first, step: parts }).collect();
            let mut blocks: Vec<u64> =
                strides.iter().flat_map(|s| (0..s.count(trials)).map(|k| s.block(k))).collect();
            blocks.sort_unstable();
            assert_eq!(blocks, (0..trials.div_ceil(BLOCK as u64)).collect::<Vec<_>>());
            assert_eq!(strides.iter().map(|s| s.trials(s.count(trials), trials)).sum::<u64>(), trials);
            assert_eq!(strides[0].trials(0, trials), 0);
        }
        assert_eq!(Stride::ALL.trials(2, 1000), 32);
        assert_eq!(Stride::ALL.trials(63, 1000), 1000);
    }
}
