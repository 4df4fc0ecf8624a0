//! The basin: what evaporates, what drifts away, who fills it up.
//!
//! Open water after Penman in the form of Shuttleworth (1993), Handbook of Hydrology ch. 4, with the radiation
//! balance of FAO-56 (Allen et al. 1998) and albedo 0.08.

use super::drift::LostShare;
use super::outcome::DayBlock;
use super::rows::rows;
use super::units::StateLanes;
use crate::design::{Design, TopUp};
use crate::lanes::{BLOCK, Lane, RowF64};
use crate::sky::Place;
use crate::sky::air::saturation_kpa;

/// Wind at 2 m over wind at 10 m: 4.87/ln(67.8 z - 5.42), FAO-56 eq. 47.
pub(crate) const TWO_OF_TEN: f64 = 0.747_951_2;

rows! {
    /// A basin.
    WaterRows / WaterUnit {
        /// Open surface, m² (1 mm on 1 m² is 1 L).
        area_m2,
        /// Water above the low-water mark when full, L.
        usable_l,
        /// Evaporation relative to Penman's.
        evaporation_factor,
        /// Extra evaporation while the jet runs, share.
        spray_share,
        /// Wind at the jet over wind at 10 m.
        wind_share,
    }
}

/// Basins of a block.
#[derive(Clone, Debug)]
pub(crate) struct Basins {
    pub rows: WaterRows,
    pub top_up: TopUp,
    pub wind_cut_off_m_s: Option<f64>,
    pub lost: Vec<LostShare>,
}

impl Basins {
    pub fn new(designs: &[&Design<f64>]) -> Self {
        let mut rows = WaterRows::default();
        let mut lost: Vec<LostShare> = Vec::with_capacity(BLOCK);
        for (lane, d) in designs.iter().enumerate() {
            let w = &d.water;
            rows.set(
                lane,
                WaterUnit {
                    area_m2: w.area_m2,
                    usable_l: w.usable_l,
                    evaporation_factor: w.evaporation_factor,
                    spray_share: w.spray_evaporation,
                    wind_share: w.wind_share,
                },
            );
            // Parts taken as known are alike in all lanes.
            let alike = lane > 0 && {
                let before = &designs[lane - 1].water;
                before.rim_m == w.rim_m && before.drop_mm == w.drop_mm
            };
            let table = if alike { lost[lane - 1].clone() } else { LostShare::new(w.rim_m, w.drop_mm) };
            lost.push(table);
        }
        let first = &designs[0].water;
        Basins { rows, top_up: first.top_up, wind_cut_off_m_s: first.wind_cut_off_m_s, lost }
    }
}

/// The water of some lanes on one day: what came, what went, what is there.
pub(crate) struct WaterAccount {
    at: usize,
    start_l: RowF64,
    filled_l: RowF64,
}

impl WaterAccount {
    #[inline(always)]
    pub fn new<V: Lane>(now: &StateLanes<V>, at: usize) -> Self {
        WaterAccount { at, start_l: held_l(now, at), filled_l: RowF64::default() }
    }

    /// Water comes in, L.
    #[inline(always)]
    pub fn fill<V: Lane>(&mut self, now: &mut StateLanes<V>, litres: V) {
        self.filled_l.add(self.at, litres);
        now.pour(litres);
    }

    /// Water goes, L: the way it goes is kept in `out`.
    #[inline(always)]
    pub fn lose<V: Lane>(&self, now: &mut StateLanes<V>, litres: V, out: &mut RowF64) {
        out.add(self.at, litres);
        now.pour(-litres);
    }

    /// What is there at the end of the day, and what the account leaves over.
    #[inline(always)]
    pub fn close<V: Lane>(&self, now: &StateLanes<V>, out: &mut DayBlock) {
        let end_l = held_l(now, self.at);
        for lane in self.at..self.at + V::N {
            let went = out.evaporated_l.0[lane] + out.drifted_l.0[lane];
            out.water_l.0[lane] = end_l.0[lane];
            out.water_residual_l.0[lane] =
                self.start_l.0[lane] + self.filled_l.0[lane] - went - end_l.0[lane];
        }
    }
}

/// Water in the basins of some lanes, L.
#[inline(always)]
fn held_l<V: Lane>(now: &StateLanes<V>, at: usize) -> RowF64 {
    let mut held = RowF64::default();
    now.water().put(&mut held, at);
    held
}

/// What the calendar says of a day's evaporation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Daylight {
    /// Radiation above the air, MJ/m² a day (eq. 21).
    pub extraterrestrial_mj_m2: f64,
    /// Pressure of the air, kPa (eq. 7).
    pub pressure_kpa: f64,
    /// Clear-sky radiation R_so, MJ/m² (FAO-56 eqs. 21 and 37).
    pub clear_mj_m2: f64,
    /// Psychrometric constant at the place's height, kPa/K (eqs. 7 and 8).
    pub gamma: f64,
}

impl Daylight {
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
        Daylight {
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
    pub wind_2m: V,
    /// Global radiation, MJ/m².
    pub sun_mj_m2: V,
}

/// Evaporation of open water, mm a day (Shuttleworth 1993, eq. 4.2.30); never below 0.
#[inline(always)]
pub(crate) fn penman_mm<V: Lane>(air: &DayAir<V>, day: &Daylight) -> V {
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
    let wind = c(6.43) * (c(1.0) + c(0.536) * air.wind_2m) * deficit.max(c(0.0));
    ((slope * net + gamma * wind) / (c(2.45) * (slope + gamma))).max(c(0.0))
}

#[inline(always)]
fn kelvin_fourth<V: Lane>(air_c: V) -> V {
    let k = air_c + V::splat(273.16);
    let k2 = k * k;
    k2 * k2
}
