//! The minute: the one description of how the parts of a unit act together.
#![allow(clippy::manual_map, reason = "a closure that is not inlined leaves the vectors' instruction set")]

use super::input::DayInput;
use super::lanes::{DayLanes, Given, HourLanes};
use super::ledger::HourSums;
use super::minute_parts::{BusMinute, MinuteJet, MinuteLight, MinuteWish};
use super::probe::{MinuteView, Probe};
use crate::design::MountKind;
use crate::lanes::{Lane, Mask};
use crate::plant::bus::OperatingPoint;
use crate::plant::light::MountLight;
use crate::plant::mount::{Direction, HUNTS_FROM, go, pick, turn};
use crate::plant::panel::Cells;
use crate::plant::record::DayBlock;
use crate::plant::rules::Ruled;
use crate::sky::on_plane;

impl<V: Lane> DayLanes<'_, V> {
    /// One minute, as its data flow.
    #[inline(always)]
    pub(crate) fn minute<P: Probe>(
        &mut self,
        hour: &mut HourLanes<V>,
        minute: usize,
        out: &mut DayBlock,
        probe: &mut P,
    ) {
        let light = self.given.light(self.state.aim(), hour, minute);
        self.light_switch(&light);
        let mut wish = self.wish(hour, &light, minute);
        self.control(&light, &mut wish);
        let bus = self.bus(hour, &light, &wish);
        self.book(hour, (&light, minute), &bus, out);
        let jet = self.given.jet(hour, &bus, &wish);
        let cause = self.attribute(hour, &light, &wish, &bus, &jet);
        self.dusk.minute(minute, self.given.day.dusk_share(minute), jet.counts);
        if probe.reads() {
            probe.minute(self.given.at, &self.view(hour, &light, &wish, &bus, (&jet, cause)));
        }
        self.turn(&light, &wish, &bus.point, &mut hour.sums);
    }

    /// What is wanted of the minute: the pump's share of it, and the mount's turn.
    #[inline(always)]
    fn wish(&self, hour: &HourLanes<V>, light: &MinuteLight<'_, V>, minute: usize) -> MinuteWish<V> {
        let Given { input, day, mount, stuck, blocked, .. } = &self.given;
        let zero = V::splat(0.0);
        let (mut wanted_turn, mut hunting, mut motion) = (None, zero, zero);
        if input.units.mounts.kind != MountKind::Fixed && !stuck {
            // A turn that has begun is completed.
            let band_rad = V::select(self.state.moving, zero, light.band_rad);
            let broken = self.state.mount_broken;
            // A broken mount is where it wants to be.
            let target = if broken.any() { pick(broken, light.aim, light.target) } else { light.target };
            let t = turn(light.aim, target, band_rad, mount.speed_rad_min);
            motion = t.share;
            if light.sun.is_some() && input.units.mounts.may_hunt {
                let seeks = hour.noise_share.max(mount.overshoot_share(light.band_rad));
                // Less is nothing to see, and would have the bus solved with motors in every minute.
                let hunts = seeks.ge(V::splat(HUNTS_FROM)) & !light.resting & !broken;
                hunting = V::only(hunts, seeks) * (V::splat(1.0) - t.share);
                motion = motion + hunting;
            }
            wanted_turn = Some(t);
        }
        let frozen = self.jet_is_frozen(hour);
        MinuteWish {
            minute,
            share: day.wanted_share(minute),
            run_share: day.wanted_run_share(minute),
            let_run: self.let_run(hour, minute),
            ruled: Ruled::none(),
            frozen,
            pump_may_run: !(hour.dry
                | hour.windy
                | V::Mask::splat(*blocked)
                | self.state.pump_broken
                | frozen),
            turn: wanted_turn,
            hunting,
            motion,
        }
    }

    /// The mount turns for the next minute, as far as the bus let its motors run.
    #[inline(always)]
    fn turn(
        &mut self,
        light: &MinuteLight<'_, V>,
        wish: &MinuteWish<V>,
        point: &OperatingPoint<V>,
        sums: &mut HourSums<V>,
    ) {
        let state = &mut self.state;
        let Some(t) = &wish.turn else {
            state.moving = V::Mask::splat(false);
            return;
        };
        sums.motors_min = sums.motors_min + point.moved;
        // Motors that hunt turn, too, but get nowhere.
        let moved = point.moved.min(t.share);
        let moves = moved.gt(V::splat(0.0));
        if self.given.input.units.mounts.may_hunt {
            let hunts = (point.moved - moved).ge(V::splat(HUNTS_FROM));
            sums.hunting_min = sums.hunting_min + V::one_if(hunts);
        }
        if moves.any() {
            // The bits of a lane that stays must not depend on whether its neighbour turns.
            let (to, gone_rad) = go(light.aim, light.target, t, moved, self.given.mount.speed_rad_min);
            [state.east, state.north, state.up] = pick(moves, to, light.aim);
            sums.travel_rad = sums.travel_rad + V::only(moves, gone_rad);
            sums.moves = sums.moves + V::one_if(moves & !state.moving);
            state.moving = moves & gone_rad.lt(t.angle_rad);
        } else {
            state.moving = V::Mask::splat(false);
        }
    }

    /// The minute as a probe sees it.
    #[inline(always)]
    fn view<'m>(
        &self,
        hour: &HourLanes<V>,
        light: &MinuteLight<'m, V>,
        wish: &MinuteWish<V>,
        bus: &BusMinute<V>,
        (jet, cause): (&MinuteJet<V>, V),
    ) -> MinuteView<'m, V> {
        let Given { input, at, .. } = &self.given;
        let dni_dhi = match light.sun {
            Some((_, k)) => {
                Some((V::of(&input.weather.dni_w_m2[k], *at), V::of(&input.weather.dhi_w_m2[k], *at)))
            }
            None => None,
        };
        let battery = match &self.battery {
            Some(battery) => Some((self.state.bus_v, battery.soc(&self.state))),
            None => None,
        };
        let seeks = input.units.mounts.kind != MountKind::Fixed && light.sun.is_some();
        MinuteView {
            minute: wish.minute,
            sun: match light.sun {
                Some((sun, _)) => Some(sun),
                None => None,
            },
            dni_dhi_w_m2: dni_dhi,
            aim: light.aim,
            target: seeks.then_some(light.target),
            hunting: (bus.point.moved - wish.motion + wish.hunting).max(V::splat(0.0)),
            plane_w_m2: light.plane_w_m2,
            open_v: light.cells.open_bound().min(light.cells.shunt_bound()),
            point: bus.point,
            battery_v_soc: battery,
            wanted: wish.share,
            counted_min: jet.counted_min,
            cause,
            pump_speed: wish.ruled.speed,
            rule: self.rule_at_work(hour, wish),
        }
    }
}

impl<'a, V: Lane> Given<'a, V> {
    /// The light on a panel that looks this way; it is added to the hour's sums.
    #[inline(always)]
    fn light(&self, aim: Direction<V>, hour: &mut HourLanes<V>, minute: usize) -> MinuteLight<'a, V> {
        let DayInput { scene, index, units, light, .. } = self.input;
        let k = minute.wrapping_sub(self.calendar.first);
        let Some(sun) = self.calendar.minutes.get(k) else {
            let zero = V::splat(0.0);
            return MinuteLight {
                sun: None,
                resting: V::Mask::splat(false),
                aim,
                // In the dark a moving mount goes to its waiting position.
                target: self.mount.rest(),
                band_rad: self.mount.step_rad,
                plane_w_m2: zero,
                cells: self.panel.dark(),
                label_w: zero,
            };
        };
        let (resting, target, band_rad, plane_w_m2) = match units.mounts.kind {
            MountKind::Fixed => {
                (V::Mask::splat(false), aim, V::splat(0.0), V::of(&light.plane_w_m2[k], self.at))
            }
            MountKind::SunFollowing | MountKind::LightSeeking => {
                let l = MountLight::<V>::of(&light.on_mount[k], self.at);
                let towards = [sun.east, sun.north, sun.up];
                let on_panel =
                    on_plane(&l.sky(), towards, aim, self.panel.b0, self.albedo, scene.open(index));
                (l.resting, [l.to_e, l.to_n, l.to_u], l.band_rad, on_panel.total_w_m2())
            }
        };
        hour.sums.plane_w_m2_min = hour.sums.plane_w_m2_min + plane_w_m2;
        let cells = self.cells(hour, plane_w_m2);
        let cell_c = hour.air_c + hour.heating_k_m2_w * plane_w_m2;
        let label_w = self.panel.label_w(plane_w_m2 * self.panel.clean, cell_c);
        MinuteLight { sun: Some((sun, k)), resting, aim, target, band_rad, plane_w_m2, cells, label_w }
    }

    /// The panel in light of this irradiance, W/m².
    #[inline(always)]
    pub(super) fn cells(&self, hour: &HourLanes<V>, plane_w_m2: V) -> Cells<V> {
        self.panel.under(plane_w_m2 * self.panel.clean, hour.air_c + hour.heating_k_m2_w * plane_w_m2)
    }

    /// Whether the jet counts; it is added to the hour's sums.
    #[inline(always)]
    fn jet(&self, hour: &mut HourLanes<V>, bus: &BusMinute<V>, wish: &MinuteWish<V>) -> MinuteJet<V> {
        let c = V::splat;
        let OperatingPoint { jet_m, duty, .. } = bus.point;
        let full_duty = duty.ge(c(self.input.units.pulse_counts_from) * bus.switched_on);
        // A jet whose bench curve ends at exactly the wished height counts: the tolerance allows for rounding.
        let high = jet_m.ge(self.pump.wish_jet_m * c(1.0 - 8.0 * V::EPSILON));
        let counts = full_duty & high & duty.gt(c(0.0));
        let counted_min = V::only(counts, c(wish.run_share));
        hour.jet_m_min = hour.jet_m_min + jet_m * duty;
        hour.sums.pump_min = hour.sums.pump_min + duty;
        hour.sums.jet_min = hour.sums.jet_min + counted_min;
        MinuteJet { full_duty, counts, counted_min }
    }
}
