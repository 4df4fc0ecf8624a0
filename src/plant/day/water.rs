//! The basin through a day: filled in the morning, emptied hour by hour.

use super::lanes::{DayLanes, Given, HourLanes};
use crate::design::TopUp;
use crate::lanes::{Lane, Mask};
use crate::plant::pump::flow;
use crate::plant::record::{DayBlock, MINUTE_H};
use crate::plant::water::{DayAir, lost_shares, penman_mm};
use crate::sky::air::saturation_kpa;

/// Share of its usable water up to which a basin counts as being at its low-water mark: allows for rounding.
const NO_WATER: f64 = 1e-6;

impl<V: Lane> Given<'_, V> {
    /// Evaporation of the basin without jet, L/h: known from the day's weather.
    #[inline(always)]
    pub(super) fn evaporation_l_h(&self) -> V {
        self.basin.area_m2 * self.basin.evaporation_factor * self.evaporation_mm() * V::splat(1.0 / 24.0)
    }

    /// Rain of the day on the basin, L.
    #[inline(always)]
    pub(super) fn rain_l(&self) -> V {
        V::of(&self.input.weather.rain_mm, self.at) * self.basin.area_m2
    }

    /// Evaporation of open water on this day, mm.
    #[inline(always)]
    fn evaporation_mm(&self) -> V {
        let c = V::splat;
        let (input, at) = (&self.input, self.at);
        let weather = input.weather;
        let first_c = V::of(&weather.air_c[0], at);
        let mut air = DayAir {
            max_c: first_c,
            min_c: first_c,
            vapour_kpa: c(0.0),
            wind_2m_m_s: c(0.0),
            sun_mj_m2: V::of(&input.light.ghi_w_m2_min, at) * c(60e-6),
        };
        for hour in 0..24 {
            let air_c = V::of(&weather.air_c[hour], at);
            air.max_c = air.max_c.max(air_c);
            air.min_c = air.min_c.min(air_c);
            air.vapour_kpa =
                air.vapour_kpa + V::of(&weather.humidity[hour], at) * saturation_kpa(air_c) * c(1.0 / 24.0);
            air.wind_2m_m_s = air.wind_2m_m_s + V::of(&weather.wind_m_s[hour], at) * c(1.0 / 24.0);
        }
        air.wind_2m_m_s = air.wind_2m_m_s * self.basin.wind_2m_share;
        penman_mm(&air, &input.scene.evaporation[input.index])
    }
}

impl<V: Lane> DayLanes<'_, V> {
    /// Rain, and top-up on its days; what does not fit runs over.
    #[inline(always)]
    pub(super) fn morning_water(&mut self) {
        let Given { input, day, basin, .. } = &self.given;
        let zero = V::splat(0.0);
        let rain_l = self.given.rain_l().min((basin.usable_l - self.state.water_l).max(zero));
        self.water.fill(&mut self.state, rain_l);
        if let TopUp::Every(days) = input.units.basins.top_up
            && day.season_day.rem_euclid(i32::from(days.max(1))) == 0
        {
            let missing_l = (basin.usable_l - self.state.water_l).max(zero);
            self.water.fill(&mut self.state, missing_l);
        }
    }

    /// Whether the basin is at its low-water mark.
    #[inline(always)]
    pub(super) fn dry(&self) -> V::Mask {
        match self.given.input.units.basins.top_up {
            TopUp::Always => V::Mask::splat(false),
            TopUp::Every(_) | TopUp::Rain => {
                self.state.water_l.le(V::splat(NO_WATER) * self.given.basin.usable_l)
            }
        }
    }

    /// What evaporates and what drifts away in an hour.
    #[inline(always)]
    pub(super) fn hour_water(&mut self, number: usize, hour: &HourLanes<V>, out: &mut DayBlock) {
        let Given { input, at, pump, basin, evaporation_l_h, .. } = &self.given;
        let c = V::splat;
        let (zero, run_min) = (c(0.0), hour.sums.pump_min);
        let evaporated_l = *evaporation_l_h * (c(1.0) + basin.spray_share * run_min * c(MINUTE_H));
        let mut drifted_l = zero;
        if run_min.gt(zero).any() {
            let jet_m = hour.jet_m_min / run_min.max(c(1e-9));
            let wind_m_s = hour.wind_m_s * basin.wind_share;
            let lost = lost_shares(&input.units.basins.lost, basin.rim_m, jet_m, wind_m_s, *at);
            drifted_l = flow(pump, jet_m) * run_min * lost;
        }
        let endless = input.units.basins.top_up == TopUp::Always;
        let held_l = self.state.water_l;
        let evaporated_l = if endless { evaporated_l } else { evaporated_l.min(held_l.max(zero)) };
        let left_l = (held_l - evaporated_l).max(zero);
        let drifted_l = if endless { drifted_l } else { drifted_l.min(left_l) };
        self.water.lose(&mut self.state, evaporated_l, &mut out.evaporated_l);
        self.water.lose(&mut self.state, drifted_l, &mut out.drifted_l);
        if endless {
            let missing_l = basin.usable_l - self.state.water_l;
            self.water.fill(&mut self.state, missing_l);
        }
        self.hour_of_ice(number, hour, out);
    }
}
