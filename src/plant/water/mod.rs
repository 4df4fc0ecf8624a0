//! The basin: what evaporates, what the wind carries away, what is filled in, and when it freezes.
//!
//! When the jet runs, and so how much of its flow meets the wind, is known in [`day`](super::day).

mod basin;
mod drift;
mod evaporation;
mod ice;
mod throw;

pub(crate) use basin::{Basins, WaterAccount, WaterUnit};
pub use drift::Throwing;
pub(crate) use drift::{LostShare, lost_shares};
pub use evaporation::EvaporationDay;
pub(crate) use evaporation::{DayAir, penman_mm};
pub(crate) use ice::{
    Beside, OverWater, WaterAndIce, approached_c, grown_m, jet_w_m2_k, nears_wet_bulb, open_water_c,
    sky_w_m2, wet_bulb_c,
};
pub use throw::throw;
