//! `years`: units that live through several years, whose battery and panel fade, whose pump fails, and which somebody
//! looks after or not.
//!
//! ```text
//! weibull   lives of parts
//! part      a pump or a mount on its way to its failure
//! unit      what a unit carries from year to year, and what it is like in a year
//! year      what is kept of a year of a life
//! winter    the days between two seasons
//! block     sixteen units on their way through their years
//! lives     simulates lives, block by block
//! care      a plan of care in words
//! money     what a life costs
//! promise   what can be promised of most gardens
//! outcome   the numbers of all lives, ready to be shown
//! plans     plans of care, weighed against each other
//! kept      what builds cost over some years, side by side
//! split     lives in parts, simulated on several machines
//! ```
//!
//! The first year is a season of the design with its run-in, as in a run: it has the weather, the parts and the numbers of `run`
//! with the same seed, as long as no part fails in it. From then on the battery's charge, the basin and what lies on the panel go on from day
//! to day, through the winters too.

mod block;
mod care;
pub mod kept;
mod lives;
mod money;
mod outcome;
mod part;
pub mod plans;
mod promise;
pub mod split;
mod unit;
mod weibull;
mod winter;
mod year;

pub use outcome::{
    Accounts, LivedYear, MissedWith, Money, PartLife, Promise, Promised, SCHEMA, Tenths, YearsSummary,
};

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
