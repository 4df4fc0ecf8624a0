//! `years`: units that live through several years, whose battery and panel fade, whose pump fails, and which somebody
//! looks after or not.
//!
//! ```text
//! weibull   lives of parts
//! unit      what a unit carries from year to year, and what it is like in a year
//! lives     simulates lives, block by block
//! money     what a life costs
//! promise   what can be promised of most gardens
//! outcome   the numbers of all lives, ready to be shown
//! plans     plans of care, weighed against each other
//! ```
//!
//! Every year is a season of the design with its run-in, as in a run: year 1 has the weather, the parts and the numbers of `run`
//! with the same seed, as long as no pump fails in it.

mod lives;
mod money;
mod outcome;
pub mod plans;
mod promise;
mod unit;
mod weibull;

pub use outcome::{LivedYear, Money, PartLife, Promise, Promised, SCHEMA, Tenths, YearsSummary};

use super::engine::Engine;
use super::plan::Plan;

/// Largest number of years.
pub const MOST_YEARS: u16 = 30;

/// Simulates so many lives of so many years; `None` if it was stopped before all were done.
pub fn years(
    engine: &Engine<'_>,
    plan: &Plan,
    lives: u64,
    years: u16,
    command: String,
) -> Option<YearsSummary> {
    let lived = lives::live(engine, plan, lives, years)?;
    outcome::summary(plan, &lived, engine.seed, command)
}

/// The same with what each life costs; `None` for that without prices.
pub(super) fn years_and_costs(
    engine: &Engine<'_>,
    plan: &Plan,
    lives: u64,
    years: u16,
) -> Option<(YearsSummary, Option<Vec<f64>>)> {
    let lived = lives::live(engine, plan, lives, years)?;
    Some((outcome::summary(plan, &lived, engine.seed, String::new())?, outcome::costs(plan, &lived)))
}
