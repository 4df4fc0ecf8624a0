//! One day of sixteen units, minute by minute: the one description of the plant.
//!
//! A day is walked hour by hour. Minutes between [`SceneDay::step_from`] and [`SceneDay::step_to`] are stepped;
//! before and after them the battery rests in closed form. In each minute the light falls on the panel where the
//! mount stands, the bus finds its point, the pump throws its jet, and the mount turns for the next minute.
//!
//! [`SceneDay::step_from`]: super::SceneDay::step_from
//! [`SceneDay::step_to`]: super::SceneDay::step_to
#![allow(clippy::manual_map, reason = "a closure that is not inlined leaves the vectors' instruction set")]

use super::aim::{MountUnit, dot, go, pick, pulled, turn};
use super::bus::{self, LoadUnit, Point, Wants};
use super::causes::{Evidence, assign};
use super::ledger::Sums;
use super::outcome::{DayBlock, Flow};
use super::panel::{Cells, PanelUnit};
use super::probe::{Glimpse, Probe};
use super::pump::{PumpUnit, flow};
use super::scene::Scene;
use super::store::Store;
use super::units::{Now, State, Units};
use super::water::{DayAir, TWO_OF_TEN, WaterUnit, penman_mm, saturation_kpa};
use crate::design::{Charging, FedFirst, MountKind, TopUp};
use crate::lanes::{BLOCK, Kernel, Lane, Mask, Row};
use crate::sky::{OpenSky, SunTerms, balance, on_plane};
use crate::weather::BlockDay;

/// A stop of the jet after sunset up to this long is bridged, min.
const BRIDGE_MIN: f64 = 5.0;

/// One day as a kernel.
pub(crate) struct DayKernel<'a, P> {
    pub scene: &'a Scene,
    pub index: usize,
    pub units: &'a Units,
    pub weather: &'a BlockDay,
    pub state: &'a mut State,
    pub out: &'a mut DayBlock,
    pub probe: &'a mut P,
}

impl<P: Probe> Kernel for DayKernel<'_, P> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(mut self) {
        self.out.clear();
        for at in (0..BLOCK).step_by(V::N) {
            self.lanes::<V>(at);
        }
    }
}

/// The parts of some lanes' units.
struct Gear<V> {
    panel: PanelUnit<V>,
    mount: MountUnit<V>,
    loads: LoadUnit<V>,
    pump: PumpUnit<V>,
    water: WaterUnit<V>,
    albedo: V,
}

impl<V: Lane> Gear<V> {
    /// What hangs on the bus in a minute, beside these cells.
    #[inline(always)]
    fn wired<'w>(
        &'w self,
        units: &'w Units,
        at: usize,
        cells: &'w Cells<V>,
        wants: &'w Wants<V>,
    ) -> bus::Wired<'w, V> {
        bus::Wired {
            cells,
            drop: self.panel.drop,
            loads: &self.loads,
            pumps: &units.pumps,
            pump: &self.pump,
            at,
            wants,
        }
    }
}

/// Where the mount would look in a minute.
struct Target<V: Lane> {
    direction: [V; 3],
    band: V,
    /// It goes to where it waits, rather than after the light.
    resting: V::Mask,
}

impl<P: Probe> DayKernel<'_, P> {
    #[inline(always)]
    fn lanes<V: Lane>(&mut self, at: usize) {
        let c = V::splat;
        let (zero, one) = (c(0.0), c(1.0));
        let no = V::Mask::splat(false);
        let (scene, units, weather) = (self.scene, self.units, self.weather);
        let day = &scene.days[self.index];
        let calendar = &scene.calendar.days[usize::from(day.day_of_year)];
        let shares = &scene.sun_shares[usize::from(day.day_of_year)];
        let open = &scene.open;
        let no_skyline = OpenSky::default();
        let gear = Gear {
            panel: PanelUnit::<V>::of(&units.panel, at),
            mount: MountUnit::of(&units.mounts.rows, at),
            loads: LoadUnit::of(&units.loads, at),
            pump: units.pumps.lanes(at),
            water: WaterUnit::of(&units.basins.rows, at),
            albedo: V::of(&units.albedo, at),
        };
        let kind = units.mounts.kind;
        let head = units.mounts.head;
        let stuck = units.mounts.stuck_from_day.is_some_and(|d| day.season_day >= i32::from(d));
        let blocked = units.blocked_from_day.is_some_and(|d| day.season_day >= i32::from(d));
        let mut now = Now::<V>::of(&self.state.rows, at);
        // No closures over lanes below: one that is not inlined would leave the vectors' instruction set.
        let mut store = match &units.batteries {
            Some(b) => Some(Store::new(b, at, &now)),
            None => None,
        };
        let mut sums = Sums::<V>::new();

        // Water: the day's evaporation is known from its weather; filled up in the morning.
        let evaporation_l_h =
            gear.water.area_m2 * gear.water.factor * self.evaporation::<V>(at) * c(1.0 / 24.0);
        let water_start = now.water_l;
        let rain = (V::of(&weather.rain_mm, at) * gear.water.area_m2)
            .min((gear.water.usable_l - now.water_l).max(zero));
        let mut filled = rain;
        now.water_l = now.water_l + rain;
        if let TopUp::Every(days) = units.basins.top_up
            && day.season_day.rem_euclid(i32::from(days.max(1))) == 0
        {
            let more = (gear.water.usable_l - now.water_l).max(zero);
            filled = filled + more;
            now.water_l = now.water_l + more;
        }
        let (mut evaporated, mut drifted) = (zero, zero);

        // The run after sunset.
        let sunset = day.sunset_min.unwrap_or(f64::INFINITY);
        let (mut going, mut gap, mut dusk_run) = (zero, zero, zero);
        let mut soc_at_sunset = None;
        let (mut soc_low, mut soc_high) = (c(2.0), c(-1.0));

        for hour in 0..24 {
            let air_c = V::of(&weather.air_c[hour], at);
            let wind = V::of(&weather.wind_m_s[hour], at);
            let heating = gear.panel.heating(wind);
            let patchy = V::of(&weather.patchy[hour], at);
            let patched = kind == MountKind::LightSeeking && (patchy * gear.mount.pull).gt(zero).any();
            let windy = match units.basins.wind_cut_off_m_s {
                Some(limit) => wind.ge(c(limit)),
                None => no,
            };
            let dry = match units.basins.top_up {
                TopUp::Always => no,
                _ => now.water_l.le(zero),
            };
            if let Some(s) = &mut store {
                s.hour(&mut now, air_c);
            }
            let (from, to) = (60 * hour, 60 * hour + 60);
            let (step_from, step_to) = (day.step_from.clamp(from, to), day.step_to.clamp(from, to));
            if let Some(s) = &mut store {
                self.rest(s, &mut now, &gear, &mut sums, (from, step_from), at);
            }
            let (mut jet_hour, mut run_hour, mut jet_min_hour) = (zero, zero, zero);
            for minute in step_from..step_to {
                // Light on the panel.
                let aim = [now.east, now.north, now.up];
                let k = minute.wrapping_sub(calendar.first);
                let sun = calendar.minutes.get(k);
                let mut plane = zero;
                let mut target = Target { direction: gear.mount.rest(), band: gear.mount.step, resting: !no };
                let mut sky_now = None;
                if let Some(sun) = sun {
                    let terms = SunTerms::from(sun);
                    let (dni, dhi) = (V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at));
                    let share = shares.get(k).copied().unwrap_or(1.0);
                    let sky = terms.sky_behind(dni, dhi, open, share);
                    plane = on_plane(&sky, terms.sun, aim, gear.panel.b0, gear.albedo, open).total();
                    sums.ghi = sums.ghi + (dni * c(sun.up) + dhi);
                    let flat = [now.flat_e, now.flat_n];
                    match kind {
                        MountKind::Fixed => {}
                        MountKind::SunFollowing => {
                            let d = units.mounts.within_reach(
                                &gear.mount,
                                [c(terms.sun[0]), c(terms.sun[1]), c(terms.sun[2])],
                                flat,
                            );
                            target = Target { direction: d, band: gear.mount.step, resting: no };
                        }
                        MountKind::LightSeeking => {
                            let seen = balance(
                                head,
                                &sky,
                                terms.sun,
                                terms.azimuth,
                                gear.albedo,
                                gear.mount.contrast,
                                open,
                            );
                            let mut d = seen.direction;
                            if patched {
                                let pull = &weather.pull[minute / 10];
                                let spread = gear.mount.pull * patchy;
                                let across = spread * V::of(&pull[0], at);
                                let along = spread * V::of(&pull[1], at);
                                // Even a pull of nothing rounds: a lane must not feel that its neighbour is pulled.
                                d = pick(spread.gt(zero), pulled(d, flat, across, along), d);
                            }
                            let d = units.mounts.within_reach(&gear.mount, d, flat);
                            let dim = !(seen.light_w_m2.ge(gear.mount.dim) & seen.found);
                            target = Target {
                                direction: pick(dim, gear.mount.rest(), d),
                                band: V::select(dim, gear.mount.step, gear.mount.band().under(head, &sky)),
                                resting: dim,
                            };
                        }
                    }
                    sky_now = Some((terms, sky, dni, dhi, share));
                }
                sums.plane = sums.plane + plane;
                let lit = sun.is_some();
                let cells = if lit {
                    gear.panel.under(plane * gear.panel.clean, air_c + heating * plane)
                } else {
                    gear.panel.dark()
                };

                // What the mount would do.
                let mut turning = None;
                let mut motion = zero;
                if kind != MountKind::Fixed && !stuck {
                    // A turn once begun goes all the way.
                    let band = target.band * (one - now.moving);
                    let t = turn(aim, target.direction, band, gear.mount.speed);
                    motion = t.share;
                    turning = Some(t);
                }

                // The bus.
                let wanted = day.wanted_share(minute);
                let may = !(dry | windy | V::Mask::splat(blocked));
                let running = now.running.gt(c(0.5));
                let switched; // share of the minute the pump is let run
                let mut off = no; // battery: cut off, or too weak for the pump
                let point: Point<V> = match &mut store {
                    Some(s) => {
                        let alive = s.alive(&now);
                        let able = alive & s.holds(&now, gear.loads.motor_a, gear.loads.lowest_v);
                        let moved = V::select(able, motion, zero);
                        let spins =
                            now.bus_v.ge(gear.pump.start_v) | running & now.bus_v.ge(gear.pump.stop_v);
                        let fed = now.connected.gt(c(0.5)) & alive & spins;
                        off = !fed;
                        switched = c(wanted);
                        let mut pump = V::select(fed & may, switched, zero);
                        if units.fed_first == FedFirst::Mount {
                            pump = pump.min(one - moved);
                        }
                        let wants = Wants { pump, motion: moved, running, last_v: now.bus_v, alive };
                        let source = s.source(&now);
                        let mut feeding = cells;
                        if units.charging == Charging::Direct {
                            feeding.i_l = V::select(now.full.gt(c(0.5)), zero, cells.i_l);
                        }
                        let wired = gear.wired(units, at, &feeding, &wants);
                        let mut p = if !lit {
                            bus::on_battery_dark(&wired, &source)
                        } else if units.charging == Charging::Mppt {
                            bus::on_battery_mppt(&wired, s.unit.charger, &source)
                        } else {
                            bus::on_battery(&wired, &source)
                        };
                        p.starved = motion.gt(zero) & !able;
                        if units.charging == Charging::Direct && now.full.gt(c(0.5)).any() {
                            // The panel is cut off: what it would have charged with beside the loads.
                            let could = (cells.about(p.bus_v + gear.panel.drop) + p.charge_a)
                                .clamp(zero, source.rate_a);
                            p.spilled_a = V::select(now.full.gt(c(0.5)), could, p.spilled_a);
                        }
                        let locked = now.locked.gt(c(0.5));
                        sums.spilled = sums.spilled + V::select(locked, zero, p.spilled_a);
                        if lit {
                            sums.too_cold = sums.too_cold + V::one_if(locked);
                        }
                        s.minute(&mut now, &p, &source, units.charging);
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
                        let pump = V::select(may, one, zero);
                        let wants = Wants { pump, motion, running, last_v: now.bus_v, alive: !no };
                        let wired = gear.wired(units, at, &cells, &wants);
                        let p = if lit {
                            bus::on_panel(&wired, units.fed_first)
                        } else {
                            bus::on_panel_dark(gear.panel.drop, &wants)
                        };
                        now.bus_v = p.bus_v;
                        p
                    }
                };
                now.running = V::one_if(point.running);
                sums.book(&point, gear.panel.drop);

                // The jet.
                let jet = units.pumps.jet(&gear.pump, at, point.pump_v);
                let full_duty = point.duty.ge(c(units.pulse_counts_from) * switched);
                let counts = full_duty & jet.ge(gear.pump.wish_jet_m) & point.duty.gt(zero);
                jet_hour = jet_hour + jet * point.duty;
                run_hour = run_hour + point.duty;
                let counted = V::select(counts, c(wanted), zero);
                jet_min_hour = jet_min_hour + counted;
                let missing = c(wanted) - counted;
                let mut cause = zero;
                if missing.gt(zero).any() {
                    let mut lost_aim = no;
                    let mut hidden = no;
                    let has_battery = store.is_some();
                    if !has_battery && let Some((terms, sky, dni, dhi, share)) = &sky_now {
                        if kind != MountKind::Fixed {
                            let off_aim = if stuck {
                                turn(aim, target.direction, target.band, gear.mount.speed).wish
                            } else {
                                point.starved
                            };
                            if (off_aim & !target.resting).any() {
                                let there = on_plane(
                                    sky,
                                    terms.sun,
                                    target.direction,
                                    gear.panel.b0,
                                    gear.albedo,
                                    open,
                                );
                                lost_aim = off_aim
                                    & !target.resting
                                    & self.carries(&gear, there.total(), air_c, heating, at);
                            }
                        }
                        if *share < 1.0 {
                            let free = terms.sky(*dni, *dhi);
                            let best = match kind {
                                MountKind::Fixed => aim,
                                MountKind::SunFollowing => target.direction,
                                MountKind::LightSeeking => {
                                    let seen = balance(
                                        head,
                                        &free,
                                        terms.sun,
                                        terms.azimuth,
                                        gear.albedo,
                                        gear.mount.contrast,
                                        &no_skyline,
                                    );
                                    let flat = [now.flat_e, now.flat_n];
                                    units.mounts.within_reach(&gear.mount, seen.direction, flat)
                                }
                            };
                            let there =
                                on_plane(&free, terms.sun, best, gear.panel.b0, gear.albedo, &no_skyline);
                            hidden = self.carries(&gear, there.total(), air_c, heating, at);
                        }
                    }
                    let evidence = Evidence {
                        holds: [
                            V::Mask::splat(blocked),
                            dry,
                            windy,
                            off & now.refused.gt(c(0.5)),
                            off,
                            lost_aim,
                            hidden,
                            point.duty.gt(zero) & !full_duty,
                            point.duty.gt(zero),
                        ],
                    };
                    cause = assign(missing, &evidence, at, &mut self.out.cause_min);
                }

                // The run after sunset.
                if wanted > 0.0 && minute as f64 + 1.0 > sunset {
                    if minute as f64 <= sunset {
                        going = V::one_if(counts);
                        let after = (minute as f64 + 1.0 - sunset).min(wanted);
                        dusk_run = V::select(counts, c(after), zero);
                    } else {
                        let goes = going.gt(c(0.5));
                        dusk_run = dusk_run + V::select(goes & counts, gap + c(wanted), zero);
                        gap = V::select(counts, zero, gap + one);
                        going = V::select(gap.gt(c(BRIDGE_MIN)), zero, going);
                    }
                }

                if P::ON {
                    self.probe.minute(
                        at,
                        &Glimpse {
                            minute,
                            sun,
                            light: match &sky_now {
                                Some(s) => Some((s.2, s.3)),
                                None => None,
                            },
                            aim,
                            target: (kind != MountKind::Fixed && sun.is_some()).then_some(target.direction),
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
                    let (d, gone) = go(aim, target.direction, t, point.moved, gear.mount.speed);
                    let d = pick(moves, d, aim);
                    [now.east, now.north, now.up] = d;
                    let level2 = d[0] * d[0] + d[1] * d[1];
                    let swings = moves & level2.ge(c(1e-6));
                    let inverse = one / level2.max(c(1e-6)).sqrt();
                    now.flat_e = V::select(swings, d[0] * inverse, now.flat_e);
                    now.flat_n = V::select(swings, d[1] * inverse, now.flat_n);
                    sums.travel = sums.travel + V::select(moves, gone, zero);
                    sums.moves = sums.moves + V::select(moves, one - now.moving, zero);
                    now.moving = V::one_if(moves & gone.lt(t.angle));
                } else {
                    now.moving = zero;
                }
            }
            if let Some(s) = &mut store {
                self.rest(s, &mut now, &gear, &mut sums, (step_to, to), at);
            }

            // The hour's water.
            sums.pump_min = sums.pump_min + run_hour;
            sums.jet_min = sums.jet_min + jet_min_hour;
            jet_min_hour.put(&mut self.out.jet_by_hour_min[hour], at);
            let steam = evaporation_l_h * (one + gear.water.spray * run_hour * c(1.0 / 60.0));
            let drift = if run_hour.gt(zero).any() {
                let jet = jet_hour / run_hour.max(c(1e-9));
                flow(&gear.pump, jet) * run_hour * self.lost_share(jet, wind * gear.water.wind_share, at)
            } else {
                zero
            };
            let steam = if units.basins.top_up == TopUp::Always { steam } else { steam.min(now.water_l) };
            let left = now.water_l - steam;
            let drift = if units.basins.top_up == TopUp::Always { drift } else { drift.min(left) };
            now.water_l = left - drift;
            evaporated = evaporated + steam;
            drifted = drifted + drift;
            if units.basins.top_up == TopUp::Always {
                filled = filled + (gear.water.usable_l - now.water_l);
                now.water_l = gear.water.usable_l;
            }
        }

        // The accounts close.
        let out = &mut *self.out;
        evaporated.put(&mut out.evaporated_l, at);
        drifted.put(&mut out.drifted_l, at);
        now.water_l.put(&mut out.water_l, at);
        (water_start + filled - evaporated - drifted - now.water_l).put(&mut out.water_residual_l, at);
        let (mut stored, mut lost) = (zero, zero);
        if let Some(s) = &store {
            let charge_residual;
            (stored, lost, charge_residual) = s.close(&now);
            charge_residual.put(&mut out.charge_residual_ah, at);
            s.shelf_h.put(&mut out.shelf_h, at);
            let soc = s.soc(&now);
            soc_low.min(soc).put(&mut out.soc_low, at);
            soc_high.max(soc).put(&mut out.soc_high, at);
            soc_at_sunset.unwrap_or(soc).put(&mut out.soc_at_sunset, at);
        }
        dusk_run.put(&mut out.dusk_run_min, at);
        sums.close(stored, lost, out, at);
        now.put(&mut self.state.rows, at);
    }

    /// The battery between two minutes in which nothing is stepped.
    #[inline(always)]
    fn rest<V: Lane>(
        &mut self,
        store: &mut Store<'_, V>,
        now: &mut Now<V>,
        gear: &Gear<V>,
        sums: &mut Sums<V>,
        (from, to): (usize, usize),
        at: usize,
    ) {
        if from >= to {
            return;
        }
        let before = store.soc(now);
        let standby = store.rest(now, gear.loads.standby_a, (to - from) as f64);
        sums.flow[Flow::Standby as usize] = sums.flow[Flow::Standby as usize] + standby;
        let after = store.soc(now);
        let every = DayBlock::SOC_EVERY_MIN;
        for minute in (from.next_multiple_of(every)..to).step_by(every) {
            let part = V::splat((minute - from) as f64 / (to - from) as f64);
            (before + (after - before) * part).put(&mut self.out.soc[minute / every], at);
        }
    }

    /// Whether a panel in this light would carry a jet that counts, with no motor turning.
    #[inline(always)]
    fn carries<V: Lane>(&self, gear: &Gear<V>, plane: V, air_c: V, heating: V, at: usize) -> V::Mask {
        let cells: Cells<V> = gear.panel.under(plane * gear.panel.clean, air_c + heating * plane);
        let v = gear.pump.wish_v;
        let taken = self.units.pumps.draw(&gear.pump, at, v).0;
        cells.reaches(v + gear.panel.drop, gear.loads.standby_s * v + gear.pump.wish_duty * taken)
    }

    /// Evaporation of open water on this day, mm.
    #[inline(always)]
    fn evaporation<V: Lane>(&self, at: usize) -> V {
        let c = V::splat;
        let w = self.weather;
        let day = &self.scene.calendar.days[usize::from(self.scene.days[self.index].day_of_year)];
        let mut sun = c(0.0);
        for ((dni, dhi), m) in w.dni_w_m2.iter().zip(&w.dhi_w_m2).zip(&day.minutes) {
            sun = sun + (V::of(dni, at) * c(m.up) + V::of(dhi, at));
        }
        let first = V::of(&w.air_c[0], at);
        let mut air = DayAir {
            max_c: first,
            min_c: first,
            vapour_kpa: c(0.0),
            wind_2m: c(0.0),
            sun_mj_m2: sun * c(60e-6),
        };
        for hour in 0..24 {
            let t = V::of(&w.air_c[hour], at);
            air.max_c = air.max_c.max(t);
            air.min_c = air.min_c.min(t);
            air.vapour_kpa =
                air.vapour_kpa + V::of(&w.humidity[hour], at) * saturation_kpa(t) * c(1.0 / 24.0);
            air.wind_2m = air.wind_2m + V::of(&w.wind_m_s[hour], at) * c(TWO_OF_TEN / 24.0);
        }
        penman_mm(&air, &self.scene.daylight[self.index])
    }

    /// Share of the flow lost over the rim.
    #[inline(always)]
    fn lost_share<V: Lane>(&self, jet_m: V, wind_m_s: V, at: usize) -> V {
        let (mut jets, mut winds) = (Row::default(), Row::default());
        jet_m.put(&mut jets, at);
        wind_m_s.put(&mut winds, at);
        for lane in at..at + V::N {
            jets.0[lane] = self.units.basins.lost[lane].at(jets.0[lane], winds.0[lane]);
        }
        V::of(&jets, at)
    }
}

/// Angle between two directions, rad.
#[inline(always)]
pub(crate) fn between<V: Lane>(a: [V; 3], b: [V; 3]) -> V {
    crate::lanes::math::acos(dot(a, b))
}
