//! Distributions, rainflow, intervals: streaming, mergeable, exact.
//!
//! Every sum is a whole number of fixed steps, so tallies merge to the same bytes in any order.

pub mod summary;

pub use summary::Summary;
