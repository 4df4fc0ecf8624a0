//! Evaporation of open water, after Penman in the form of Shuttleworth (1993), Handbook of Hydrology ch. 4, with the
//! radiation balance of FAO-56 (Allen et al. 1998) and albedo 0.08.

use crate::lanes::Lane;
use crate::sky::Place;
use crate::sky::air::saturation_kpa;

/// Wind at 2 m over wind at 10 m and over wind at 0.3 m, above open grass: 4.87/ln(67.8 z - 5.42), FAO-56 eq. 47.
const TWO_OF_TEN: f64 = 0.747_951_2;
const TWO_OF_LOW: f64 = 1.801_900;

/// The wind at 2 m that Penman's law asks for, over the wind at 10 m, for a share of the latter at the basin: as over open grass
/// with that wind 30 cm above it. A basin with more than that (a roof, a tall jet) has no more at 2 m than grass has, until its own
/// wind is stronger.
pub(super) fn wind_2m_share(wind_share: f64) -> f64 {
    (TWO_OF_LOW * wind_share).min(TWO_OF_TEN).max(wind_share)
}

/// What evaporation needs of a day and a place, apart from the weather.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EvaporationDay {
    /// Extraterrestrial radiation, MJ/m² a day (eq. 21).
    pub extraterrestrial_mj_m2: f64,
    /// Pressure of the air, kPa (eq. 7).
    pub pressure_kpa: f64,
    /// Clear-sky radiation R_so, MJ/m² (FAO-56 eqs. 21 and 37).
    pub clear_mj_m2: f64,
    /// Psychrometric constant at the place's height, kPa/K (eqs. 7 and 8).
    pub gamma: f64,
}

impl EvaporationDay {
    /// At a place on a 0-based day of the year.
    pub fn new(place: &Place, day_of_year: u16) -> Self {
        let j = f64::from(day_of_year) + 1.0;
        let phi = place.latitude_deg.to_radians();
        let turn = std::f64::consts::TAU * j / 365.0;
        let near = 1.0 + 0.033 * libm::cos(turn);
        let delta = 0.409 * libm::sin(turn - 1.39);
        let set = libm::acos((-libm::tan(phi) * libm::tan(delta)).clamp(-1.0, 1.0));
        let extraterrestrial = 24.0 * 60.0 / std::f64::consts::PI
            * 0.0820
            * near
            * (set * libm::sin(phi) * libm::sin(delta) + libm::cos(phi) * libm::cos(delta) * libm::sin(set));
        let z = place.elevation_m;
        let pressure_kpa = 101.3 * libm::pow((293.0 - 0.0065 * z) / 293.0, 5.26);
        EvaporationDay {
            extraterrestrial_mj_m2: extraterrestrial.max(0.0),
            pressure_kpa,
            clear_mj_m2: (0.75 + 2e-5 * z) * extraterrestrial.max(0.0),
            gamma: 0.665e-3 * pressure_kpa,
        }
    }
}

/// One day's weather as Penman asks for it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DayAir<V> {
    /// Warmest and coldest, °C.
    pub max_c: V,
    pub min_c: V,
    /// Vapour pressure, kPa.
    pub vapour_kpa: V,
    /// Wind at 2 m, m/s.
    pub wind_2m_m_s: V,
    /// Global radiation, MJ/m².
    pub sun_mj_m2: V,
}

/// Evaporation of open water, mm a day (Shuttleworth 1993, eq. 4.2.30); never below 0.
#[inline(always)]
pub(crate) fn penman_mm<V: Lane>(air: &DayAir<V>, day: &EvaporationDay) -> V {
    let c = V::splat;
    let mean_c = c(0.5) * (air.max_c + air.min_c);
    let past = mean_c + c(237.3);
    let slope = c(4098.0) * saturation_kpa(mean_c) / (past * past);
    let deficit = c(0.5) * (saturation_kpa(air.max_c) + saturation_kpa(air.min_c)) - air.vapour_kpa;
    // FAO-56 eq. 39; cloudiness kept within its range.
    let cloud = (c(1.35) * (air.sun_mj_m2 / c(day.clear_mj_m2.max(0.1))).min(c(1.0)) - c(0.35)).max(c(0.05));
    let sky = c(0.34) - c(0.14) * air.vapour_kpa.max(c(0.0)).sqrt();
    let long_wave =
        c(4.903e-9) * c(0.5) * (kelvin_fourth(air.max_c) + kelvin_fourth(air.min_c)) * sky * cloud;
    let net = c(0.92) * air.sun_mj_m2 - long_wave;
    let gamma = c(day.gamma);
    let wind = c(6.43) * (c(1.0) + c(0.536) * air.wind_2m_m_s) * deficit.max(c(0.0));
    ((slope * net + gamma * wind) / (c(2.45) * (slope + gamma))).max(c(0.0))
}

#[inline(always)]
fn kelvin_fourth<V: Lane>(air_c: V) -> V {
    let k = air_c + V::splat(273.16);
    let k2 = k * k;
    k2 * k2
}
