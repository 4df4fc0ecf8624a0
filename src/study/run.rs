//! `run`: one design, as many trials as asked or as its error needs.

use super::engine::{Engine, WAVE_BLOCKS, WAVE_TRIALS};
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::tally::Tally;

/// Trials if nothing else is asked: the bundled demo takes seconds.
pub const DEFAULT_TRIALS: u64 = 1000;

/// Trials before a stopping rule is asked for the first time.
pub const LEAST_TRIALS: u64 = 2 * WAVE_TRIALS;

/// Trials at which a stopping rule that cannot be met gives up.
pub const MOST_TRIALS: u64 = 1_000_000;

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Until {
    /// After so many trials.
    Trials(u64),
    /// When the half-width of the 95 % interval of still days a month is at most so many days,
    /// asked after each wave from [`LEAST_TRIALS`] on. Asking early and often makes the interval
    /// cover a little less than it says; the half-width is therefore widened by
    /// [`SEQUENTIAL_MARGIN`] (model: 2 to 3 %).
    HalfWidth(f64),
}

/// Widening of the half-width for stopping when it looks good.
pub const SEQUENTIAL_MARGIN: f64 = 1.03;

impl Until {
    /// The most trials it can come to.
    pub fn most(self) -> u64 {
        match self {
            Until::Trials(n) => n,
            Until::HalfWidth(_) => MOST_TRIALS,
        }
    }

    /// Whether a tally is enough.
    pub fn met(self, tally: &Tally) -> bool {
        match self {
            Until::Trials(n) => tally.trials() >= n,
            Until::HalfWidth(goal) => {
                tally.trials() >= LEAST_TRIALS
                    && tally
                        .still_days_per_month()
                        .se
                        .is_some_and(|se| 1.959_964 * se * SEQUENTIAL_MARGIN <= goal)
            }
        }
    }
}

/// A run under way: what is tallied and which block comes next. Can be written down between
/// waves and taken up again.
#[derive(Clone, Debug, PartialEq)]
pub struct Under {
    /// All blocks before `next_block`, tallied.
    pub tally: Tally,
    /// The block that comes next.
    pub next_block: u64,
}

impl Under {
    /// Nothing done yet.
    pub fn start(plan: &Plan) -> Under {
        Under { tally: Tally::new(&plan.shape), next_block: 0 }
    }
}

/// Goes on with a run until it is enough, or the engine is stopped; `after_wave` sees it after
/// every wave (to write it down, to show it) and its error ends the run.
///
/// # Errors
/// Whatever `after_wave` gives.
pub fn go_on<E>(
    engine: &Engine<'_>,
    plan: &Plan,
    until: Until,
    mut under: Under,
    after_wave: &mut dyn FnMut(&Under) -> Result<(), E>,
) -> Result<Under, E> {
    let most = until.most();
    let last_block = most.div_ceil(BLOCK as u64);
    while !until.met(&under.tally) && under.next_block < last_block && !engine.stopped() {
        let blocks: Vec<u64> = (under.next_block..(under.next_block + WAVE_BLOCKS).min(last_block)).collect();
        for mut results in engine.blocks(&[plan], &blocks, most) {
            if let Some(result) = results.pop() {
                under
                    .tally
                    .merge(&result.tally)
                    .unwrap_or_else(|_| unreachable!("tallies of one plan have one shape"));
            }
        }
        under.next_block += blocks.len() as u64;
        after_wave(&under)?;
    }
    Ok(under)
}
