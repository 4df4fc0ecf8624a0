//! One design simulated and summarised, without progress, checkpoints or files.
//!
//! [`super::run::resume`] does the same with a call after every wave. For programs that use this crate: [`crate::Fountain`].

use super::engine::Engine;
use super::plan::Plan;
use super::run::{FinishedRun, RunState, Until, resume};
use super::summary::summarise;
use crate::tally::Summary;
use std::convert::Infallible;

/// Every number of a run; `None` if it was stopped before the first trial. The same design, weather, seed and `until` give the same numbers on any engine; `command` says
/// how to make them again.
pub fn simulate(engine: &Engine<'_>, plan: &Plan, until: Until, command: String) -> Option<Summary> {
    summarise(plan, &run_trials(engine, plan, until).state.tally, engine.seed, command)
}

/// All trials of a run, from the first one on.
pub fn run_trials(engine: &Engine<'_>, plan: &Plan, until: Until) -> FinishedRun {
    let Ok(run) = resume::<Infallible>(engine, plan, until, RunState::start(plan), &mut |_| Ok(()));
    run
}
