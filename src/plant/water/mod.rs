//! The basin: what evaporates, what the wind carries away, what is filled in.
//!
//! When the jet runs, and so how much of its flow meets the wind, is known in [`day`](super::day).

mod basin;
mod drift;
mod evaporation;
mod throw;

pub(crate) use basin::{Basins, WaterAccount, WaterUnit};
pub use drift::Throwing;
pub(crate) use drift::{LostShare, lost_shares};
pub use evaporation::EvaporationDay;
pub(crate) use evaporation::{DayAir, penman_mm};
pub use throw::throw;
