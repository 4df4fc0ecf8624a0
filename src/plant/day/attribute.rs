//! Gathers the evidence for the cause of a minute without a jet that counts.
//!
//! "The panel would have carried it" asks the panel's own curve one question: does it give, at the voltage where the jet counts,
//! the current that pump and electronics take there?

use super::causes::{Evidence, assign};
use super::lanes::{DayLanes, Given, HourLanes};
use super::minute_parts::{BusMinute, MinuteJet, MinuteLight, MinuteWish};
use crate::design::MountKind;
use crate::lanes::{Lane, Mask};
use crate::plant::light::MountLight;
use crate::plant::mount::turn;
use crate::sky::{OpenSky, SunMinute, SunTerms, balance, on_plane};

impl<V: Lane> DayLanes<'_, V> {
    /// Attributes the wanted minutes without a jet that counts; gives the number of the cause.
    #[inline(always)]
    pub(super) fn attribute(
        &self,
        hour: &mut HourLanes<V>,
        light: &MinuteLight<'_, V>,
        wish: &MinuteWish<V>,
        bus: &BusMinute<V>,
        jet: &MinuteJet<V>,
    ) -> V {
        let zero = V::splat(0.0);
        let missing_min = V::splat(wish.share) - jet.counted_min;
        if !missing_min.gt(zero).any() {
            return zero;
        }
        let mut mount_starved = V::Mask::splat(false);
        let mut behind_skyline = V::Mask::splat(false);
        let mut covered = V::Mask::splat(false);
        if self.battery.is_none()
            && let Some((sun, k)) = light.sun
        {
            let starved = match &wish.turn {
                // A head that only hunts is on its target.
                Some(turn) => bus.point.starved & turn.wish,
                None => V::Mask::splat(false),
            };
            mount_starved = self.mount_starved(hour, light, starved, (sun, k));
            if self.given.hidden_by_skyline(k) {
                let open_w_m2 = self.given.in_the_open_w_m2(light, sun, k);
                behind_skyline = self.given.would_carry(hour, open_w_m2);
            }
            if self.given.cover.is_some() || self.given.washed.is_some() {
                covered = self.given.would_carry_clean(hour, light.plane_w_m2);
            }
        }
        let runs = bus.point.duty.gt(zero);
        let evidence = Evidence {
            blocked: V::Mask::splat(self.given.blocked) | self.state.pump_broken,
            frozen: wish.frozen,
            low_water: hour.dry,
            wind: hour.windy,
            too_cold: bus.battery_flat & self.state.frost_refused,
            battery_flat: bus.battery_flat,
            held_back: bus.switched_on.lt(V::splat(wish.share)),
            mount_starved,
            behind_skyline,
            covered,
            pulsing: runs & !jet.full_duty,
            too_low: runs,
        };
        assign(missing_min, &evidence, &mut hour.sums.cause_min)
    }

    /// Whether a mount is off its target because it cannot turn, and the panel would have carried the jet if it were on target.
    #[inline(always)]
    fn mount_starved(
        &self,
        hour: &HourLanes<V>,
        light: &MinuteLight<'_, V>,
        starved: V::Mask,
        (sun, k): (&SunMinute, usize),
    ) -> V::Mask {
        let no = V::Mask::splat(false);
        let given = &self.given;
        if given.input.units.mounts.kind == MountKind::Fixed {
            return no;
        }
        let stuck = V::Mask::splat(given.stuck) | self.state.mount_broken;
        let off_target = if stuck.any() {
            let off = turn(light.aim, light.target, light.band_rad, given.mount.speed_rad_min).wish;
            stuck & off | !stuck & starved
        } else {
            starved
        };
        let seeks_in_vain = off_target & !light.resting;
        if !seeks_in_vain.any() {
            return no;
        }
        let on_mount = MountLight::<V>::of(&given.input.light.on_mount[k], given.at);
        let towards = [sun.east, sun.north, sun.up];
        let open = given.input.scene.open(given.input.index);
        let there = on_plane(&on_mount.sky(), towards, light.target, given.panel.b0, given.albedo, open);
        seeks_in_vain & given.would_carry(hour, there.total_w_m2())
    }
}

impl<V: Lane> Given<'_, V> {
    /// Whether the skyline hides any of the sun in the k-th minute with the sun up.
    #[inline(always)]
    fn hidden_by_skyline(&self, k: usize) -> bool {
        let shares = &self.input.scene.sun_shares[usize::from(self.day.day_of_year)];
        shares.get(k).is_some_and(|share| share[0] < 1.0)
    }

    /// Whether a panel under this irradiance, W/m², would carry a jet that counts, with no motor turning.
    #[inline(always)]
    fn would_carry(&self, hour: &HourLanes<V>, plane_w_m2: V) -> V::Mask {
        let cells = self.cells(hour, plane_w_m2);
        let (volts, amps) = self.wished_point();
        match &self.cover {
            Some(cover) => cover.under(&cells).can_supply(volts, amps),
            None => cells.can_supply(volts, amps),
        }
    }

    /// The same if nothing lay on the panel that can be taken away.
    #[inline(always)]
    fn would_carry_clean(&self, hour: &HourLanes<V>, plane_w_m2: V) -> V::Mask {
        let clean = match self.washed {
            Some(washed) => washed,
            None => self.panel.clean,
        };
        let cell_c = hour.air_c + hour.heating_k_m2_w * plane_w_m2;
        let (volts, amps) = self.wished_point();
        self.panel.under(plane_w_m2 * clean, cell_c).can_supply(volts, amps)
    }

    /// Voltage of the panel, V, and current, A, that pump and electronics take where the jet counts.
    #[inline(always)]
    fn wished_point(&self) -> (V, V) {
        let volts = self.pump.wish_v;
        let pump_a = self.input.units.pumps.at(&self.pump, self.at, volts).amps;
        (volts + self.panel.drop_v, self.loads.standby_s * volts + self.pump.wish_duty * pump_a)
    }

    /// Light on the panel in a minute, were there no skyline, W/m²: a fixed one at its place, a moving one where it would look.
    #[inline(always)]
    fn in_the_open_w_m2(&self, light: &MinuteLight<'_, V>, sun: &SunMinute, k: usize) -> V {
        let (units, weather) = (self.input.units, self.input.weather);
        let open = OpenSky::default();
        let terms = SunTerms::from(sun);
        let free = terms.sky(V::of(&weather.dni_w_m2[k], self.at), V::of(&weather.dhi_w_m2[k], self.at));
        let best = match units.mounts.kind {
            MountKind::Fixed => light.aim,
            MountKind::SunFollowing => light.target,
            MountKind::LightSeeking => {
                let head = units.mounts.head;
                let seen = balance(head, &self.mount.optics(), &free, &terms, self.albedo, &open);
                units.mounts.within_reach(&self.mount, seen.direction)
            }
        };
        on_plane(&free, terms.sun, best, self.panel.b0, self.albedo, &open).total_w_m2()
    }
}
