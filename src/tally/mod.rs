//! Distributions, rainflow, intervals: streaming, mergeable, exact.
//!
//! [`SeasonLayout`] says what a design's season looks like, [`Trial`] follows one trial day by day,
//! [`Tally`] adds finished trials up, [`summarise`] turns a tally into a [`Summary`].
//! Every sum of a tally is a whole number of fixed steps, so tallies merge to the same bytes in any order.

mod codec;
mod fixed_point;
pub mod intervals;
mod life;
mod rainflow;
mod season_layout;
pub mod sequential_mean;
pub mod sequential_proportion;
pub mod sizing;
mod summarise;
pub mod summary;
#[expect(clippy::module_inception, reason = "the file is named after the type that the room is named after")]
mod tally;
mod trial;
mod variance_shares;

pub use codec::Damage;
pub use fixed_point::Moments;
pub use life::CycleLife;
pub use rainflow::Rainflow;
pub use season_layout::{DAYS_PER_ROW, LayoutDay, SeasonLayout};
pub use summarise::{Meta, summarise, worksheet};
pub use summary::Summary;
pub use tally::{Mismatch, Tally};
pub use trial::{Trial, TrialOutcome};

#[cfg(test)]
mod tests;
