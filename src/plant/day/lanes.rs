//! The day of some lanes: what is given for all of it, and what is carried through it.
//!
//! What happens in a minute is in [`minute`](super::minute); here a day begins, goes through its hours, and closes.
#![allow(clippy::manual_map, reason = "a closure that is not inlined leaves the vectors' instruction set")]

use super::dusk::DuskRun;
use super::input::DayInput;
use super::ledger::{self, HourSums};
use super::probe::{HourView, RestView};
use crate::lanes::{Lane, Mask};
use crate::plant::battery::BatteryDay;
use crate::plant::bus::{LoadUnit, SocketUnit};
use crate::plant::mount::MountUnit;
use crate::plant::panel::{CoverUnit, PanelUnit};
use crate::plant::pump::PumpUnit;
use crate::plant::record::{DayBlock, MINUTE_H};
use crate::plant::scene::SceneDay;
use crate::plant::state::{State, StateLanes};
use crate::plant::surface::{SurfaceDay, snow_after_hour, snow_covers};
use crate::plant::water::{WaterAccount, WaterUnit};
use crate::sky::CalendarDay;

/// What is given for some lanes and does not change through the day.
pub(super) struct Given<'a, V: Lane> {
    pub input: DayInput<'a>,
    /// Place of the lanes in their block.
    pub at: usize,
    pub day: &'a SceneDay,
    pub calendar: &'a CalendarDay,
    pub panel: PanelUnit<V>,
    /// What covers cells of the panel; `None` where nothing does.
    pub cover: Option<CoverUnit<V>>,
    /// Share of light that gets through the dirt of the day.
    pub clean: V,
    /// Share of light that would get through if rain or a hand had just cleaned it; `None` where nothing comes and goes.
    pub washed: Option<V>,
    pub mount: MountUnit<V>,
    pub loads: LoadUnit<V>,
    pub socket: Option<SocketUnit<V>>,
    pub pump: PumpUnit<V>,
    pub basin: WaterUnit<V>,
    pub albedo: V,
    /// The mount no longer turns (a fault asked for).
    pub stuck: bool,
    /// The pump is blocked (a fault asked for).
    pub blocked: bool,
    /// Evaporation of the basin without jet, L/h.
    pub evaporation_l_h: V,
}

/// State of charge through a day.
pub(super) struct ChargeRange<V> {
    pub low: V,
    pub high: V,
    pub at_sunset: Option<V>,
}

/// The day of some lanes.
pub(super) struct DayLanes<'a, V: Lane> {
    pub given: Given<'a, V>,
    pub state: StateLanes<V>,
    pub battery: Option<BatteryDay<'a, V>>,
    pub charge: ChargeRange<V>,
    pub water: WaterAccount,
    pub dusk: DuskRun<V>,
}

/// What ice does to the jet in an hour.
#[derive(Clone, Copy)]
pub(super) struct HourOfIce<V: Lane> {
    /// No jet runs: the ice is thick, or nozzle and pipe are frozen.
    pub stops: V::Mask,
    /// None starts.
    pub no_start: V::Mask,
}

/// An hour of some lanes: its air, and what its minutes add up to.
pub(super) struct HourLanes<V: Lane> {
    pub air_c: V,
    pub wind_m_s: V,
    /// Kelvin of the panel above the air for each W/m² on it.
    pub heating_k_m2_w: V,
    /// Share of the time in which noise alone makes a seeking mount's motors turn.
    pub noise_share: V,
    /// The wind cut-off has stopped the pump.
    pub windy: V::Mask,
    /// It rains as much as stops the pump.
    pub rainy: V::Mask,
    /// The basin is at its low-water mark.
    pub dry: V::Mask,
    /// What ice does to the jet.
    pub ice: HourOfIce<V>,
    pub sums: HourSums<V>,
    /// Height of the jet, added up over the minutes it runs, m minutes.
    pub jet_m_min: V,
}

impl<'a, V: Lane> Given<'a, V> {
    #[inline(always)]
    fn new(input: DayInput<'a>, surface: Option<&SurfaceDay>, at: usize) -> Self {
        let DayInput { scene, index, units, .. } = input;
        let day = &scene.days[index];
        let fault = |from_day: Option<u16>| from_day.is_some_and(|d| day.season_day >= i32::from(d));
        let mut given = Given {
            input,
            at,
            day,
            calendar: &scene.calendar.days[usize::from(day.day_of_year)],
            panel: PanelUnit::of(&units.panel, at),
            cover: match &units.cover {
                Some(cover) => Some(CoverUnit::of(cover, at)),
                None => None,
            },
            mount: MountUnit::of(&units.mounts.rows, at),
            loads: LoadUnit::of(&units.loads, at),
            socket: match &units.socket {
                Some(rows) => Some(SocketUnit::of(rows, at)),
                None => None,
            },
            pump: units.pumps.lanes(at),
            basin: WaterUnit::of(&units.basins.rows, at),
            albedo: V::of(&units.albedo, at),
            stuck: fault(units.mounts.stuck_from_day),
            blocked: fault(units.blocked_from_day),
            evaporation_l_h: V::splat(0.0),
            clean: V::splat(0.0),
            washed: None,
        };
        if let Some(surface) = surface {
            given.panel.clean = V::of(&surface.clean, at);
            given.washed = Some(V::of(&surface.washed, at));
            given.cover = match &surface.cover {
                Some(cover) => Some(CoverUnit::of(cover, at)),
                None => None,
            };
        }
        given.clean = given.panel.clean;
        if units.snow && given.washed.is_none() {
            given.washed = Some(given.clean);
        }
        given.evaporation_l_h = given.evaporation_l_h();
        given
    }
}

impl<'a, V: Lane> DayLanes<'a, V> {
    /// The lanes from place `at` on in the morning, after rain and top-up.
    #[inline(always)]
    pub(crate) fn morning(
        input: DayInput<'a>,
        surface: Option<&SurfaceDay>,
        state: &State,
        at: usize,
    ) -> Self {
        let given = Given::new(input, surface, at);
        let mut state = StateLanes::of(&state.rows, at);
        state.hold_done = V::Mask::splat(false);
        state.settled_min = V::splat(0.0);
        let battery = match &input.units.batteries {
            Some(batteries) => Some(BatteryDay::new(batteries, at, &state)),
            None => None,
        };
        let charge = ChargeRange { low: V::splat(2.0), high: V::splat(-1.0), at_sunset: None };
        let water = WaterAccount::new(&state, at);
        let dusk = DuskRun::new(given.day.sunset_min);
        let mut day = DayLanes { given, state, battery, charge, water, dusk };
        day.morning_water();
        day
    }

    /// Begins an hour: its air, the battery's temperature, and whether wind or low water stops the pump.
    #[inline(always)]
    pub(crate) fn hour(&mut self, hour: usize) -> HourLanes<V> {
        if self.given.input.units.snow {
            self.snow_falls(hour);
        }
        let Given { input, at, panel, mount, .. } = &self.given;
        let air_c = V::of(&input.weather.air_c[hour], *at);
        let wind_m_s = V::of(&input.weather.wind_m_s[hour], *at);
        let windy = match input.units.basins.wind_cut_off_m_s {
            Some(limit) => wind_m_s.ge(V::splat(limit)),
            None => V::Mask::splat(false),
        };
        let rainy = match input.units.rules.rain_off_mm {
            Some(limit) => V::of(&input.weather.rain_by_hour_mm[hour], *at).ge(V::splat(limit)),
            None => V::Mask::splat(false),
        };
        let box_c = self.box_c(hour, air_c);
        if let Some(battery) = &mut self.battery {
            battery.hour(&mut self.state, box_c);
        }
        let noise_share = match input.units.mounts.may_hunt {
            true => mount.noise_share(V::of(&input.weather.patchy[hour], *at)),
            false => V::splat(0.0),
        };
        HourLanes {
            air_c,
            wind_m_s,
            heating_k_m2_w: panel.heating(wind_m_s),
            noise_share,
            windy,
            rainy,
            dry: self.dry(),
            ice: self.ice(),
            sums: HourSums::new(),
            jet_m_min: V::splat(0.0),
        }
    }

    /// What the battery's temperature follows in an hour, °C: the air, warmed by the sun on its box.
    #[inline(always)]
    fn box_c(&self, hour: usize, air_c: V) -> V {
        match &self.battery {
            Some(battery) if battery.box_in_sun() => {
                air_c + battery.unit.box_k_m2_w * self.sun_of_hour_w_m2(hour)
            }
            _ => air_c,
        }
    }

    /// Snow of an hour that begins: what falls covers the panel, and a panel under snow gives nothing.
    #[inline(always)]
    fn snow_falls(&mut self, hour: usize) {
        let given = &mut self.given;
        let fell = snow_covers(V::of(&given.input.weather.snow_cm[hour], given.at));
        self.state.snow = V::select(fell, V::splat(1.0), self.state.snow);
        given.panel.clean = V::only(self.state.snow.le(V::splat(0.0)), given.clean);
    }

    /// The snow after an hour: it slides, and the light it took is booked.
    #[inline(always)]
    pub(crate) fn hour_snow(&mut self, hour: usize, now: &HourLanes<V>, out: &mut DayBlock) {
        let Given { input, at, clean, .. } = &self.given;
        if !input.units.snow {
            return;
        }
        let c = V::splat;
        let (one, snow) = (c(1.0), self.state.snow);
        let taken = V::only(snow.gt(c(0.0)), now.sums.plane_w_m2_min * *clean);
        out.snow_wh_m2.add(*at, taken * c(MINUTE_H));
        let fell = snow_covers(V::of(&input.weather.snow_cm[hour], *at));
        let sin_tilt = (one - self.state.up * self.state.up).max(c(0.0)).sqrt();
        let light_w_m2 = now.sums.plane_w_m2_min * c(MINUTE_H);
        self.state.snow = V::select(fell, one, snow_after_hour(snow, light_w_m2, now.air_c, sin_tilt));
    }

    /// The battery over minutes that are not stepped, from one up to another.
    #[inline(always)]
    pub(crate) fn rest(&mut self, from: usize, to: usize, out: &mut DayBlock) {
        let at = self.given.at;
        let Some(battery) = &mut self.battery else { return };
        if from >= to {
            return;
        }
        let before = battery.soc(&self.state);
        let standby_a = self.given.resting_a(&self.state);
        let standby_wh = battery.rest(&mut self.state, standby_a, (to - from) as f64);
        ledger::book_rest(standby_wh, out, at);
        let after = battery.soc(&self.state);
        let every = DayBlock::SOC_EVERY_MIN;
        for minute in (from.next_multiple_of(every)..to).step_by(every) {
            let part = V::splat((minute - from) as f64 / (to - from) as f64);
            (before + (after - before) * part).put(&mut out.soc[minute / every], at);
        }
    }

    /// The air, battery and water of an hour, for a probe.
    #[inline(always)]
    pub(crate) fn hour_view(&self, hour: &HourLanes<V>) -> HourView<V> {
        HourView {
            air_c: hour.air_c,
            wind_m_s: hour.wind_m_s,
            water_l: self.state.water_l,
            water_c_ice_m: match self.given.input.units.basins.freezes {
                true => Some((self.state.water_c, self.state.ice_m)),
                false => None,
            },
            battery_c_frozen: match &self.battery {
                Some(_) => Some((self.state.battery_c, V::one_if(self.state.frozen))),
                None => None,
            },
        }
    }

    /// What a probe sees of minutes that are not stepped, at one of their ends.
    #[inline(always)]
    pub(crate) fn rest_view(&self) -> RestView<V> {
        RestView {
            aim: self.state.aim(),
            battery_v_soc: match &self.battery {
                Some(battery) => Some((self.state.bus_v, battery.soc(&self.state))),
                None => None,
            },
        }
    }

    /// The day closes: its accounts go into `out`, what the lanes carry on into `state`.
    #[inline(always)]
    pub(crate) fn close(self, state: &mut State, out: &mut DayBlock) {
        let at = self.given.at;
        self.water.close(&self.state, out);
        self.given.rain_l().put(&mut out.rain_l, at);
        if let Some(battery) = &self.battery {
            battery.close(&self.state, out);
            let soc = battery.soc(&self.state);
            self.charge.low.min(soc).put(&mut out.soc_low, at);
            self.charge.high.max(soc).put(&mut out.soc_high, at);
            let at_sunset = match self.charge.at_sunset {
                Some(soc) => soc,
                None => soc,
            };
            at_sunset.put(&mut out.soc_at_sunset, at);
        }
        self.dusk.minutes().put(&mut out.dusk_run_min, at);
        V::one_if(self.dusk.cut_off()).put(&mut out.dusk_cut, at);
        let ghi_w_m2_min = V::of(&self.given.input.light.ghi_w_m2_min, at);
        (ghi_w_m2_min * V::splat(MINUTE_H)).put(&mut out.ghi_wh_m2, at);
        self.state.put(&mut state.rows, at);
    }
}
