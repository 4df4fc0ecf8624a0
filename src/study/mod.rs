//! Trials in parallel, stopping, and the studies built on them: run, compare, remedies, grid,
//! choose, batch.
//!
//! The unit of parallel work is a block of sixteen trials: its weather is drawn once and met by
//! every design of a study (common random numbers). Blocks give exact tallies, so neither the
//! number of threads nor the split over machines can change a byte of a result.

pub mod batch;
pub mod block_history;
pub mod choose;
pub mod compare;
pub mod default_trials;
pub mod engine;
pub mod grid;
pub mod paired;
pub mod paired_run;
pub mod parts;
pub mod plan;
mod reconnect_note;
pub mod remedies;
pub mod run;
pub mod sampled_years;
pub mod simulate;
pub mod site;
pub mod summary;
pub mod traces;

pub use engine::{Engine, Progress};
pub use plan::Plan;
pub use simulate::simulate;
pub use site::{SiteModel, Sites};

#[cfg(test)]
mod tests;
