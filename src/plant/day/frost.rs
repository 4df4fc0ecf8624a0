//! The basin's ice through a day: what it does to the jet, and how it grows and melts hour by hour.
//!
//! How ice and jet get along is common practice, no source: a running jet keeps a hole in ice of up to 30 mm, none starts under more
//! than 5 mm, and nozzle and pipe freeze after six hours of hard frost at rest.

use super::lanes::{DayLanes, HourLanes, HourOfIce};
use crate::lanes::{Lane, Mask};
use crate::plant::pump::flow;
use crate::plant::record::{DayBlock, MINUTE_H};
use crate::plant::water::{Beside, OverWater, WaterAndIce, jet_w_m2_k, nears_wet_bulb, sky_w_m2, wet_bulb_c};
use crate::sky::air::saturation_kpa;

/// Ice that closes over a running jet, and ice under which none starts, m.
const CLOSES_M: f64 = 0.03;
const NO_START_M: f64 = 0.005;
/// Hard frost, °C, and hours of it after which nozzle and pipe of a resting pump are frozen.
const HARD_FROST_C: f64 = -5.0;
const PIPE_FREEZES_H: f64 = 6.0;
/// Clear sky of a day, MJ/m², below which its light does not tell how cloudy it is; then half of the sky is taken as covered.
const TOO_DARK_MJ_M2: f64 = 1.0;

impl<V: Lane> DayLanes<'_, V> {
    /// What the ice does to the jet in the hour that begins.
    #[inline(always)]
    pub(super) fn ice(&self) -> HourOfIce<V> {
        let no = V::Mask::splat(false);
        if !self.given.input.units.basins.freezes {
            return HourOfIce { stops: no, no_start: no };
        }
        let c = V::splat;
        let pipe = self.state.cold_h.ge(c(PIPE_FREEZES_H));
        let ice_m = self.state.ice_m;
        HourOfIce { stops: pipe | ice_m.gt(c(CLOSES_M)), no_start: ice_m.gt(c(NO_START_M)) }
    }

    /// Whether ice stops the jet in this minute.
    #[inline(always)]
    pub(super) fn jet_is_frozen(&self, hour: &HourLanes<V>) -> V::Mask {
        if !self.given.input.units.basins.freezes {
            return V::Mask::splat(false);
        }
        hour.ice.stops | hour.ice.no_start & !self.state.running
    }

    /// Water and ice after an hour of this weather and this jet.
    #[inline(always)]
    pub(super) fn hour_of_ice(&mut self, number: usize, hour: &HourLanes<V>, out: &mut DayBlock) {
        if !self.given.input.units.basins.freezes {
            return;
        }
        let c = V::splat;
        let given = &self.given;
        let (zero, basin, at) = (c(0.0), &given.basin, given.at);
        let weather = given.input.weather;
        let run_min = hour.sums.pump_min;
        let vapour_kpa = V::of(&weather.humidity[number], at) * saturation_kpa(hour.air_c);
        let air = OverWater {
            air_c: hour.air_c,
            vapour_kpa,
            wind_m_s: hour.wind_m_s * basin.wind_2m_share,
            sun_w_m2: self.sun_of_hour_w_m2(number),
            sky_w_m2: sky_w_m2(hour.air_c, vapour_kpa, self.cloud()),
        };
        let mut jet = zero;
        if run_min.gt(zero).any() {
            let jet_m = hour.jet_m_min / run_min.max(c(1e-9));
            let flow_l_min = flow(&given.pump, jet_m) * run_min * c(MINUTE_H);
            jet = jet_w_m2_k(flow_l_min, basin.area_m2, nears_wet_bulb(basin.drop_mm, jet_m));
        }
        let beside = Beside {
            ground_w_m2_k: basin.ground_w_m2_k,
            ground_c: c(given.input.scene.ground_c),
            jet_w_m2_k: jet,
            wet_bulb_c: wet_bulb_c(hour.air_c, vapour_kpa),
        };
        let state = &mut self.state;
        let now =
            WaterAndIce { water_c: state.water_c, ice_m: state.ice_m }.hour(basin.depth_m, &air, &beside);
        (state.water_c, state.ice_m) = (now.water_c, now.ice_m);
        let hard = hour.air_c.lt(c(HARD_FROST_C));
        let thaws = hour.air_c.gt(zero) | run_min.gt(zero);
        state.cold_h = V::select(thaws, zero, state.cold_h + V::one_if(hard));
        if !given.day.taken_in {
            out.intake_iced_h.add(at, V::one_if(state.ice_m.ge(basin.intake_m)));
        }
    }

    /// Global irradiance on the basin, W/m², mean of an hour of the day.
    #[inline(always)]
    pub(super) fn sun_of_hour_w_m2(&self, number: usize) -> V {
        let (calendar, weather, at) = (self.given.calendar, self.given.input.weather, self.given.at);
        let mut sum = V::splat(0.0);
        for minute in 60 * number..60 * number + 60 {
            let k = minute.wrapping_sub(calendar.first);
            if let Some(sun) = calendar.minutes.get(k) {
                let beam = V::of(&weather.dni_w_m2[k], at) * V::splat(sun.up);
                sum = sum + beam + V::of(&weather.dhi_w_m2[k], at);
            }
        }
        sum * V::splat(MINUTE_H)
    }

    /// Share of the sky covered by clouds, by the light of the day (FAO-56 eq. 39).
    #[inline(always)]
    fn cloud(&self) -> V {
        let c = V::splat;
        let clear_mj_m2 = self.given.input.scene.evaporation[self.given.input.index].clear_mj_m2;
        if clear_mj_m2 < TOO_DARK_MJ_M2 {
            return c(0.5);
        }
        let sun_mj_m2 = V::of(&self.given.input.light.ghi_w_m2_min, self.given.at) * c(60e-6);
        let clear = c(1.35) * (sun_mj_m2 / c(clear_mj_m2)).min(c(1.0)) - c(0.35);
        c(1.0) - clear.clamp(c(0.0), c(1.0))
    }
}
