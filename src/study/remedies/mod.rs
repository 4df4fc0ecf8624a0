//! `remedies`: what one change to a design would be worth.
//!
//! The design's own remedies and those that fit it anyway ([`built_in()`]) meet the same weather and part luck as the
//! design as it is ([`weigh()`]), and are ranked ([`sequential_ranking`]) for the first three places.

mod built_in;
pub mod sequential_ranking;
mod weigh;

pub use built_in::built_in;
pub use weigh::{By, Refused, Remedies, SCHEMA, Weighed, weigh};
