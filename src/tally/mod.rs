//! Distributions, rainflow, intervals: streaming, mergeable, exact.
//!
//! [`Shape`] says what a design's season looks like, [`Trial`] follows one trial day by day,
//! [`Tally`] adds finished trials up, [`summarise`] turns a tally into a [`Summary`].
//! Every sum of a tally is a whole number of fixed steps, so tallies merge to the same bytes in any order.

mod exact;
pub mod intervals;
pub mod lead_test;
mod life;
mod rainflow;
mod shape;
pub mod share_test;
mod shares;
pub mod sizing;
mod summarise;
pub mod summary;
mod total;
mod trial;

pub use exact::{Damage, Moments};
pub use life::CycleLife;
pub use rainflow::Rainflow;
pub use shape::{DAYS_PER_ROW, Shape, ShapeDay};
pub use summarise::{Meta, summarise, worksheet};
pub use summary::Summary;
pub use total::{Mismatch, Tally};
pub use trial::{Trial, TrialOutcome};

#[cfg(test)]
mod tests;
