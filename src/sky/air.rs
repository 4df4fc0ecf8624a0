//! Water vapour in the air, for evaporation (`plant`) and for humidity from a dew point (`weather`).

use crate::lanes::{Lane, math};

/// Saturation vapour pressure over water, kPa, at an air temperature in °C (FAO-56, Allen et al. 1998, eq. 11).
#[inline(always)]
pub fn saturation_kpa<V: Lane>(air_c: V) -> V {
    let c = V::splat;
    c(0.6108) * math::exp(c(17.27) * air_c / (air_c + c(237.3)))
}
