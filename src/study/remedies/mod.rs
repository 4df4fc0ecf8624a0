//! `remedies`: what one change to a design would be worth.
//!
//! The remedies of the design file and the built-in ones ([`built_in()`]) are simulated under the same weather and part luck
//! as the unchanged design ([`weigh()`]), and ranked until the first three places are settled ([`sequential_ranking`]).

mod built_in;
mod running_rules;
pub mod sequential_ranking;
mod weigh;

pub use built_in::{Basin, built_in};
pub use weigh::{By, LACKING_TRIALS, Refused, Remedies, SCHEMA, Weighed, weigh};
