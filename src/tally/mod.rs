//! Counts what trials come to, and turns the counts into the numbers of a summary.
//!
//! [`SeasonLayout`] holds what the season of a design looks like, [`Trial`] follows one trial day by day, [`Tally`] adds up
//! finished trials, and [`summarise`](summarise()) makes a [`Summary`] of a tally. Every sum of a tally is an integer number
//! of steps (`fixed_point`), so tallies merge to the same bytes in any order. Beside these: rainflow counting and wear of the
//! battery ([`Rainflow`], [`CycleLife`]), [`intervals`], and sequential tests ([`sequential_mean`],
//! [`sequential_proportion`]).
//!
//! Who simulates which trials is decided in `study`; how numbers are shown, in `report`.

mod charge_count;
mod codec;
mod controls;
#[cfg(test)]
pub(crate) mod coverage;
mod distributions;
mod estimate;
mod fixed_point;
mod full_basin;
mod identity;
pub mod input_range;
pub mod intervals;
mod life;
mod places;
mod rainflow;
mod rare;
mod season_layout;
pub mod sequential_mean;
pub mod sequential_proportion;
pub mod sizing;
mod spread;
mod still_days;
mod summarise;
pub mod summary;
pub mod surface;
#[expect(clippy::module_inception, reason = "the file is named after the type that the room is named after")]
mod tally;
mod trial;
mod variance_shares;
pub mod verdict;
mod week_litres;

pub(crate) use charge_count::BatteryAge;
pub use codec::Damage;
pub(crate) use controls::Known;
pub use fixed_point::Moments;
pub use life::CycleLife;
pub use places::InputRange;
pub use rainflow::Rainflow;
pub use season_layout::{DAYS_PER_ROW, LayoutDay, SeasonLayout};
pub use summarise::{Meta, summarise, worksheet};
pub use summary::Summary;
pub use tally::{Mismatch, Tally};
pub use trial::{Trial, TrialOutcome};
pub use verdict::{Meets, WishPart, WishVerdict, YearVerdict};

#[cfg(test)]
pub(crate) mod tests;
