//! `choose`: the cheapest build from a shelf that meets the wish, what comes next, and what money buys.
//!
//! Every combination of the shelf's parts is put into the design. Parts that do not fit together are refused with the
//! reason; the other builds are tested ([`sequential_selection`]) under the same weather and part luck. A year is good if
//! it meets every part of the wish: still days in each month, dusk run, water.
//!
//! [`choose`](choose()) does the search and gives a [`Choice`]; pages and CSV are made in `report`.

mod choice;
mod field;
mod over_years;
mod refusal;
mod search;
pub mod sequential_selection;

pub use choice::{Candidate, Choice, SCHEMA, Verdict};
pub use over_years::{KeptBuild, OverYears, ShelfBuild};
pub use refusal::Refusals;
pub use search::choose;
pub use sequential_selection::Standing;
