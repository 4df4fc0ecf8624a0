//! One day of sixteen units, minute by minute: the one description of the plant.
//!
//! A day is walked hour by hour. Minutes between [`SceneDay::step_from`] and [`SceneDay::step_to`] are stepped;
//! before and after them the battery rests in closed form. In each minute the light falls on the panel where the
//! mount stands, the bus finds its point, the pump throws its jet, and the mount turns for the next minute.
//!
//! [`SceneDay::step_from`]: crate::plant::SceneDay::step_from
//! [`SceneDay::step_to`]: crate::plant::SceneDay::step_to
#![allow(clippy::manual_map, reason = "a closure that is not inlined leaves the vectors' instruction set")]

use super::causes::{Evidence, assign};
use super::ledger::{self, Sums};
use super::probe::{MinuteView, Probe};
use crate::design::{Charging, FedFirst, MountKind, TopUp};
use crate::lanes::{BLOCK, Kernel, Lane, Mask};
use crate::plant::battery::BatteryDay;
use crate::plant::bus::{
    BusDemand, BusInputs, LoadUnit, OperatingPoint, on_battery, on_battery_dark, on_battery_mppt, on_panel,
    on_panel_dark,
};
use crate::plant::light::{Light, MountLight};
use crate::plant::mount::{MountUnit, go, pick, turn};
use crate::plant::panel::{Cells, PanelUnit};
use crate::plant::pump::{PumpUnit, flow};
use crate::plant::record::{DayBlock, MINUTE_H};
use crate::plant::scene::Scene;
use crate::plant::state::{State, StateLanes};
use crate::plant::units::UnitBlock;
use crate::plant::water::{DayAir, TWO_OF_TEN, WaterAccount, WaterUnit, lost_shares, penman_mm};
use crate::sky::air::saturation_kpa;
use crate::sky::{OpenSky, SunMinute, SunTerms, balance, on_plane};
use crate::weather::BlockDay;

/// A stop of the jet after sunset up to this long is bridged, min.
const BRIDGE_MIN: f64 = 5.0;

/// Share of its water up to which a basin is at its low-water mark: what rounding may leave.
const NO_WATER: f64 = 1e-6;

/// What a day brings to sixteen units, and who they are.
#[derive(Clone, Copy)]
pub struct DayInput<'a> {
    /// The season.
    pub scene: &'a Scene,
    /// Which of its days.
    pub index: usize,
    /// The units.
    pub units: &'a UnitBlock,
    /// The day's weather.
    pub weather: &'a BlockDay,
    /// What that weather is for these units' mounts ([`Light::compute`]).
    pub light: &'a Light,
}

/// One day as a kernel.
pub(crate) struct DayKernel<'a, P> {
    pub input: DayInput<'a>,
    pub state: &'a mut State,
    pub out: &'a mut DayBlock,
    pub probe: &'a mut P,
}

impl<P: Probe> Kernel for DayKernel<'_, P> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(mut self) {
        self.out.clear(self.input.units.batteries.is_some());
        for at in (0..BLOCK).step_by(V::N) {
            self.lanes::<V>(at);
        }
        ledger::close(self.out);
    }
}

/// The parts of some lanes' units.
struct UnitLanes<V> {
    panel: PanelUnit<V>,
    mount: MountUnit<V>,
    loads: LoadUnit<V>,
    pump: PumpUnit<V>,
    water: WaterUnit<V>,
    albedo: V,
}

impl<V: Lane> UnitLanes<V> {
    /// What hangs on the bus in a minute, beside these cells.
    #[inline(always)]
    fn inputs<'w>(
        &'w self,
        units: &'w UnitBlock,
        at: usize,
        cells: &'w Cells<V>,
        demand: &'w BusDemand<V>,
    ) -> BusInputs<'w, V> {
        BusInputs {
            cells,
            drop_v: self.panel.drop_v,
            loads: &self.loads,
            pumps: &units.pumps,
            pump: &self.pump,
            at,
            demand,
        }
    }
}

impl<P: Probe> DayKernel<'_, P> {
    #[inline(always)]
    fn lanes<V: Lane>(&mut self, at: usize) {
        let c = V::splat;
        let (zero, one) = (c(0.0), c(1.0));
        let no = V::Mask::splat(false);
        let DayInput { scene, index, units, weather, light } = self.input;
        let day = &scene.days[index];
        let calendar = &scene.calendar.days[usize::from(day.day_of_year)];
        let shares = &scene.sun_shares[usize::from(day.day_of_year)];
        let open = &scene.open;
        let gear = UnitLanes {
            panel: PanelUnit::<V>::of(&units.panel, at),
            mount: MountUnit::of(&units.mounts.rows, at),
            loads: LoadUnit::of(&units.loads, at),
            pump: units.pumps.lanes(at),
            water: WaterUnit::of(&units.basins.rows, at),
            albedo: V::of(&units.albedo, at),
        };
        let kind = units.mounts.kind;
        let stuck = units.mounts.stuck_from_day.is_some_and(|d| day.season_day >= i32::from(d));
        let blocked = units.blocked_from_day.is_some_and(|d| day.season_day >= i32::from(d));
        let mut now = StateLanes::<V>::of(&self.state.rows, at);
        // No closures over lanes below: one that is not inlined would leave the vectors' instruction set.
        let mut store = match &units.batteries {
            Some(b) => Some(BatteryDay::new(b, at, &now)),
            None => None,
        };

        // Water: the day's evaporation is known from its weather; filled up in the morning.
        let evaporation_l_h =
            gear.water.area_m2 * gear.water.evaporation_factor * self.evaporation::<V>(at) * c(1.0 / 24.0);
        let mut water = WaterAccount::new(&now, at);
        let rain = (V::of(&weather.rain_mm, at) * gear.water.area_m2)
            .min((gear.water.usable_l - now.water_l).max(zero));
        water.fill(&mut now, rain);
        if let TopUp::Every(days) = units.basins.top_up
            && day.season_day.rem_euclid(i32::from(days.max(1))) == 0
        {
            let more = (gear.water.usable_l - now.water_l).max(zero);
            water.fill(&mut now, more);
        }

        // The run after sunset.
        let sunset = day.sunset_min.unwrap_or(f64::INFINITY);
        let (mut going, mut gap, mut dusk_run) = (zero, zero, zero);
        let mut soc_at_sunset = None;
        let (mut soc_low, mut soc_high) = (c(2.0), c(-1.0));

        for hour in 0..24 {
            let mut sums = Sums::<V>::new();
            let air_c = V::of(&weather.air_c[hour], at);
            let wind = V::of(&weather.wind_m_s[hour], at);
            let heating = gear.panel.heating(wind);
            let windy = match units.basins.wind_cut_off_m_s {
                Some(limit) => wind.ge(c(limit)),
                None => no,
            };
            let dry = match units.basins.top_up {
                TopUp::Always => no,
                _ => now.water_l.le(c(NO_WATER) * gear.water.usable_l),
            };
            if let Some(s) = &mut store {
                s.hour(&mut now, air_c);
            }
            let (from, to) = (60 * hour, 60 * hour + 60);
            let (step_from, step_to) = (day.step_from.clamp(from, to), day.step_to.clamp(from, to));
            if let Some(s) = &mut store {
                self.rest(s, &mut now, &gear, (from, step_from), at);
            }
            let mut jet_hour = zero;
            for minute in step_from..step_to {
                // Light on the panel.
                let aim = [now.east, now.north, now.up];
                let k = minute.wrapping_sub(calendar.first);
                let sun = calendar.minutes.get(k);
                let mut plane = zero;
                let mut lit = None;
                if let Some(sun) = sun {
                    plane = match kind {
                        MountKind::Fixed => V::of(&light.plane_w_m2[k], at),
                        _ => {
                            let l = MountLight::<V>::of(&light.lit[k], at);
                            lit = Some(l);
                            let towards = [sun.east, sun.north, sun.up];
                            on_plane(&l.sky(), towards, aim, gear.panel.b0, gear.albedo, open).total_w_m2()
                        }
                    };
                }
                // Where a moving mount would look; in the dark it goes to where it waits.
                let (target, mut band) = match &lit {
                    Some(l) => ([l.to_e, l.to_n, l.to_u], l.band_rad),
                    None => (gear.mount.rest(), gear.mount.step_rad),
                };
                sums.plane_w_m2_min = sums.plane_w_m2_min + plane;
                let shines = sun.is_some();
                let cells = if shines {
                    gear.panel.under(plane * gear.panel.clean, air_c + heating * plane)
                } else {
                    gear.panel.dark()
                };

                // What the mount would do.
                let mut turning = None;
                let mut motion = zero;
                if kind != MountKind::Fixed && !stuck {
                    // A turn once begun goes all the way.
                    band = band * (one - now.moving);
                    let t = turn(aim, target, band, gear.mount.speed_rad_min);
                    motion = t.share;
                    turning = Some(t);
                }

                // The bus.
                let wanted = day.wanted_share(minute);
                let may = !(dry | windy | V::Mask::splat(blocked));
                let running = now.running.gt(c(0.5));
                let switched; // share of the minute the pump is let run
                let mut off = no; // battery: cut off, or too weak for the pump
                let point: OperatingPoint<V> = match &mut store {
                    Some(s) => {
                        let alive = s.alive(&now);
                        let able = alive & s.holds(&now, gear.loads.motor_a, gear.loads.lowest_v);
                        let moved = V::only(able, motion);
                        let spins =
                            now.bus_v.ge(gear.pump.start_v) | running & now.bus_v.ge(gear.pump.stop_v);
                        let fed = now.connected.gt(c(0.5)) & alive & spins;
                        off = !fed;
                        switched = c(wanted);
                        let mut pump = V::only(fed & may, switched);
                        if units.fed_first == FedFirst::Mount {
                            pump = pump.min(one - moved);
                        }
                        let demand = BusDemand { pump, motion: moved, running, last_v: now.bus_v, alive };
                        let port = s.port(&now);
                        let mut feeding = cells;
                        if units.charging == Charging::Direct {
                            feeding.i_l = V::select(now.charged_full.gt(c(0.5)), zero, cells.i_l);
                        }
                        let inputs = gear.inputs(units, at, &feeding, &demand);
                        let mut p = if !shines {
                            on_battery_dark(&inputs, &port)
                        } else if units.charging == Charging::Mppt {
                            on_battery_mppt(&inputs, s.unit.charger_efficiency, &port)
                        } else {
                            on_battery(&inputs, &port)
                        };
                        p.starved = motion.gt(zero) & !able;
                        if units.charging == Charging::Direct && now.charged_full.gt(c(0.5)).any() {
                            // The panel is cut off: what it would have charged with beside the loads.
                            let could = (cells.current_estimate(p.bus_v + gear.panel.drop_v) + p.charge_a)
                                .clamp(zero, port.rate_a);
                            p.spilled_a = V::select(now.charged_full.gt(c(0.5)), could, p.spilled_a);
                        }
                        let locked = now.frozen.gt(c(0.5));
                        sums.spilled_a_min = sums.spilled_a_min + V::select(locked, zero, p.spilled_a);
                        if shines {
                            sums.too_cold_min = sums.too_cold_min + V::one_if(locked);
                        }
                        s.minute(&mut now, &p, &port, units.charging);
                        let soc = s.soc(&now);
                        soc_low = soc_low.min(soc);
                        soc_high = soc_high.max(soc);
                        if minute % DayBlock::SOC_EVERY_MIN == 0 {
                            soc.put(&mut self.out.soc[minute / DayBlock::SOC_EVERY_MIN], at);
                        }
                        if minute as f64 <= sunset && sunset < minute as f64 + 1.0 {
                            soc_at_sunset = Some(soc);
                        }
                        p
                    }
                    None => {
                        switched = one;
                        let pump = V::only(may, one);
                        let demand = BusDemand { pump, motion, running, last_v: now.bus_v, alive: !no };
                        let inputs = gear.inputs(units, at, &cells, &demand);
                        let p = if shines {
                            on_panel(&inputs, units.fed_first)
                        } else {
                            on_panel_dark(gear.panel.drop_v, &demand)
                        };
                        now.bus_v = p.bus_v;
                        p
                    }
                };
                now.running = V::one_if(point.running);
                sums.book(&point, gear.panel.drop_v);

                // The jet: one that is held at the wished height by its bench counts, whatever rounding says.
                let jet = point.jet_m;
                let full_duty = point.duty.ge(c(units.pulse_counts_from) * switched);
                let counts = full_duty
                    & jet.ge(gear.pump.wish_jet_m * c(1.0 - 8.0 * V::EPSILON))
                    & point.duty.gt(zero);
                jet_hour = jet_hour + jet * point.duty;
                sums.pump_min = sums.pump_min + point.duty;
                let counted = V::only(counts, c(wanted));
                sums.jet_min = sums.jet_min + counted;
                let missing = c(wanted) - counted;
                let mut cause = zero;
                if missing.gt(zero).any() {
                    let mut lost_aim = no;
                    let mut hidden = no;
                    let has_battery = store.is_some();
                    if !has_battery && let Some(sun) = sun {
                        if let Some(l) = &lit {
                            let seeks = l.resting.lt(c(0.5));
                            let off_aim = if stuck {
                                turn(aim, target, band, gear.mount.speed_rad_min).wish
                            } else {
                                point.starved
                            };
                            if (off_aim & seeks).any() {
                                let towards = [sun.east, sun.north, sun.up];
                                let there =
                                    on_plane(&l.sky(), towards, target, gear.panel.b0, gear.albedo, open);
                                lost_aim = off_aim
                                    & seeks
                                    & self.carries(&gear, there.total_w_m2(), air_c, heating, at);
                            }
                        }
                        if shares.get(k).is_some_and(|share| *share < 1.0) {
                            let free = self.in_the_open::<V>(&gear, sun, k, (aim, target), at);
                            hidden = self.carries(&gear, free, air_c, heating, at);
                        }
                    }
                    let evidence = Evidence {
                        holds: [
                            V::Mask::splat(blocked),
                            dry,
                            windy,
                            off & now.frost_refused.gt(c(0.5)),
                            off,
                            lost_aim,
                            hidden,
                            point.duty.gt(zero) & !full_duty,
                            point.duty.gt(zero),
                        ],
                    };
                    cause = assign(missing, &evidence, &mut sums.cause_min);
                }

                // The run after sunset.
                if wanted > 0.0 && minute as f64 + 1.0 > sunset {
                    if minute as f64 <= sunset {
                        going = V::one_if(counts);
                        let after = (minute as f64 + 1.0 - sunset).min(wanted);
                        dusk_run = V::only(counts, c(after));
                    } else {
                        let goes = going.gt(c(0.5));
                        dusk_run = dusk_run + V::only(goes & counts, gap + c(wanted));
                        gap = V::select(counts, zero, gap + one);
                        going = V::select(gap.gt(c(BRIDGE_MIN)), zero, going);
                    }
                }

                if P::ON {
                    self.probe.minute(
                        at,
                        &MinuteView {
                            minute,
                            sun,
                            light: match sun {
                                Some(_) => {
                                    Some((V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at)))
                                }
                                None => None,
                            },
                            aim,
                            target: (kind != MountKind::Fixed && sun.is_some()).then_some(target),
                            plane,
                            point: &point,
                            battery: match &store {
                                Some(s) => Some((now.bus_v, s.soc(&now))),
                                None => None,
                            },
                            jet,
                            wanted,
                            counted,
                            cause,
                        },
                    );
                }

                // The mount turns.
                if let Some(t) = &turning
                    && point.moved.gt(zero).any()
                {
                    // A lane that stays must not feel that its neighbour turns, not even by rounding.
                    let moves = point.moved.gt(zero);
                    let (d, gone) = go(aim, target, t, point.moved, gear.mount.speed_rad_min);
                    [now.east, now.north, now.up] = pick(moves, d, aim);
                    sums.travel_rad = sums.travel_rad + V::only(moves, gone);
                    sums.moves = sums.moves + V::only(moves, one - now.moving);
                    now.moving = V::one_if(moves & gone.lt(t.angle_rad));
                } else {
                    now.moving = zero;
                }
            }
            if let Some(s) = &mut store {
                self.rest(s, &mut now, &gear, (step_to, to), at);
            }

            // The hour's water.
            let run_min = sums.pump_min;
            let steam = evaporation_l_h * (one + gear.water.spray_share * run_min * c(MINUTE_H));
            let drift = if run_min.gt(zero).any() {
                let jet = jet_hour / run_min.max(c(1e-9));
                flow(&gear.pump, jet)
                    * run_min
                    * lost_shares(&units.basins.lost, jet, wind * gear.water.wind_share, at)
            } else {
                zero
            };
            let endless = units.basins.top_up == TopUp::Always;
            let steam = if endless { steam } else { steam.min(now.water_l.max(zero)) };
            let left = (now.water_l - steam).max(zero);
            let drift = if endless { drift } else { drift.min(left) };
            water.lose(&mut now, steam, &mut self.out.evaporated_l);
            water.lose(&mut now, drift, &mut self.out.drifted_l);
            if endless {
                let more = gear.water.usable_l - now.water_l;
                water.fill(&mut now, more);
            }
            sums.hour(hour, self.out, at);
        }

        // The accounts close.
        let out = &mut *self.out;
        water.close(&now, out);
        if let Some(s) = &store {
            s.close(&now, out);
            let soc = s.soc(&now);
            soc_low.min(soc).put(&mut out.soc_low, at);
            soc_high.max(soc).put(&mut out.soc_high, at);
            soc_at_sunset.unwrap_or(soc).put(&mut out.soc_at_sunset, at);
        }
        dusk_run.put(&mut out.dusk_run_min, at);
        (V::of(&light.ghi_w_m2_min, at) * c(MINUTE_H)).put(&mut out.ghi_wh_m2, at);
        now.put(&mut self.state.rows, at);
    }

    /// The battery between two minutes in which nothing is stepped.
    #[inline(always)]
    fn rest<V: Lane>(
        &mut self,
        store: &mut BatteryDay<'_, V>,
        now: &mut StateLanes<V>,
        gear: &UnitLanes<V>,
        (from, to): (usize, usize),
        at: usize,
    ) {
        if from >= to {
            return;
        }
        let before = store.soc(now);
        let standby = store.rest(now, gear.loads.standby_a, (to - from) as f64);
        ledger::book_rest(standby, self.out, at);
        let after = store.soc(now);
        let every = DayBlock::SOC_EVERY_MIN;
        for minute in (from.next_multiple_of(every)..to).step_by(every) {
            let part = V::splat((minute - from) as f64 / (to - from) as f64);
            (before + (after - before) * part).put(&mut self.out.soc[minute / every], at);
        }
    }

    /// Whether a panel in this light would carry a jet that counts, with no motor turning.
    #[inline(always)]
    fn carries<V: Lane>(&self, gear: &UnitLanes<V>, plane: V, air_c: V, heating: V, at: usize) -> V::Mask {
        let cells: Cells<V> = gear.panel.under(plane * gear.panel.clean, air_c + heating * plane);
        let v = gear.pump.wish_v;
        let taken = self.input.units.pumps.at(&gear.pump, at, v).amps;
        cells.can_supply(v + gear.panel.drop_v, gear.loads.standby_s * v + gear.pump.wish_duty * taken)
    }

    /// Light on the panel in a minute, were there no skyline, W/m²: a fixed one at its place, a moving one where it would look.
    #[inline(always)]
    fn in_the_open<V: Lane>(
        &self,
        gear: &UnitLanes<V>,
        sun: &SunMinute,
        k: usize,
        (aim, target): ([V; 3], [V; 3]),
        at: usize,
    ) -> V {
        let DayInput { units, weather, .. } = self.input;
        let open = OpenSky::default();
        let terms = SunTerms::from(sun);
        let free = terms.sky(V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at));
        let best = match units.mounts.kind {
            MountKind::Fixed => aim,
            MountKind::SunFollowing => target,
            MountKind::LightSeeking => {
                let contrast = gear.mount.contrast;
                let head = units.mounts.head;
                let seen = balance(head, &free, terms.sun, terms.azimuth, gear.albedo, contrast, &open);
                units.mounts.within_reach(&gear.mount, seen.direction)
            }
        };
        on_plane(&free, terms.sun, best, gear.panel.b0, gear.albedo, &open).total_w_m2()
    }

    /// Evaporation of open water on this day, mm.
    #[inline(always)]
    fn evaporation<V: Lane>(&self, at: usize) -> V {
        let c = V::splat;
        let DayInput { scene, index, weather: w, light, .. } = self.input;
        let first = V::of(&w.air_c[0], at);
        let mut air = DayAir {
            max_c: first,
            min_c: first,
            vapour_kpa: c(0.0),
            wind_2m: c(0.0),
            sun_mj_m2: V::of(&light.ghi_w_m2_min, at) * c(60e-6),
        };
        for hour in 0..24 {
            let t = V::of(&w.air_c[hour], at);
            air.max_c = air.max_c.max(t);
            air.min_c = air.min_c.min(t);
            air.vapour_kpa =
                air.vapour_kpa + V::of(&w.humidity[hour], at) * saturation_kpa(t) * c(1.0 / 24.0);
            air.wind_2m = air.wind_2m + V::of(&w.wind_m_s[hour], at) * c(TWO_OF_TEN / 24.0);
        }
        penman_mm(&air, &scene.daylight[index])
    }
}
