//! Trials in parallel, stopping rules, and the studies built on them: run, compare, remedies, grid, choose, years, batch.
//!
//! The unit of parallel work is a block of sixteen trials. Its weather is drawn once, and every design of a study meets
//! it (common random numbers). Blocks give exact tallies, so neither the number of threads nor the split over machines
//! changes a byte of a result.
//!
//! Start with [`simulate`](simulate()) (one design) and [`engine`] (how blocks are computed). [`plan`] brings design and
//! place together; [`paired_run`] simulates several builds side by side. Numbers become text and pages in `report`.

pub mod batch;
pub mod block_history;
pub mod block_result;
mod block_weather;
pub mod choose;
pub mod compare;
pub mod default_trials;
pub mod engine;
pub mod grid;
pub mod journal;
pub mod key_figures;
mod oddities;
pub mod paired;
pub mod paired_run;
pub(crate) mod parts;
pub mod plan;
mod reconnect_note;
pub mod remedies;
pub mod replay;
pub mod run;
pub mod sampled_days;
pub mod sampled_years;
pub mod simulate;
pub mod site;
pub mod summary;
pub mod traces;
pub mod unit_figures;
pub mod years;

pub use engine::{Engine, Progress};
pub use journal::Journal;
pub use plan::Plan;
pub use simulate::simulate;
pub use site::{SiteModel, Sites};

#[cfg(test)]
mod tests;
