//! Learning from what was seen: which units of a design agree with a logbook.
//!
//! ```text
//! normal        the normal distribution
//! resample      weights and systematic resampling
//! proposal      the move of a unit around a fitted normal distribution
//! tempering     tempered sequential Monte Carlo over any likelihood
//! explanation   a sound fountain, or one with a fault
//! schedule      the days worth simulating
//! weather_law   their weather: by the words for the sky, or by a file of actual days
//! density       how likely an entry is, given what a unit shows
//! predict       what a unit shows of an entry
//! case          a design with a logbook
//! filter        the likelihood of a unit
//! invent        logbooks as a given unit would have made them
//! posterior     two islands of units, and whether to trust them
//! doubts        entries that an explanation cannot have made
//! rivals        explanations, weighed
//! value         what a reading would be worth
//! card          the field card: readings by their worth
//! parting       the reading that parts two explanations
//! verdict       what the explanations say, in words
//! findings      what a logbook taught, as numbers to be shown
//! ```
//!
//! A file uses only those above it in this list.

mod card;
mod case;
mod density;
mod doubts;
mod explanation;
mod filter;
mod findings;
mod invent;
mod normal;
mod parting;
pub mod posterior;
mod predict;
pub mod proposal;
pub mod resample;
mod rivals;
mod schedule;
pub mod tempering;
pub mod value;
mod verdict;
mod weather_law;

pub use card::{CardReading, FieldCard, Worth, card};
pub use case::Case;
pub use density::{Shown, noted, wrong_chance};
pub use doubts::{FLAGGED, chances_of_wrong, doubted};
pub use explanation::{Explanation, Unit};
pub use filter::{EntryRecord, Weighing, records, unweighed};
pub use findings::{EntryFinding, Findings, Quantity, Request, findings};
pub use invent::invented;
pub use parting::{Parting, parting};
pub use posterior::LearnEffort;
pub use rivals::{Weighed, weighed};
pub use verdict::verdict;
pub use weather_law::{DAY_LIMITS, HOUR_LIMITS};

#[cfg(test)]
mod tests;
