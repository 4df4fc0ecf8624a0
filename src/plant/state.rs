//! What sixteen units carry from minute to minute and from day to day.
//!
//! The state before the run-in comes from [`UnitBlock::start_state`](super::UnitBlock::start_state).

use super::record::rows::rows;
use super::surface::SurfaceState;
use crate::lanes::{BLOCK, Compensated, Lane};

rows! {
    /// What a unit carries from minute to minute and day to day.
    StateRows / StateLanes {
        /// Charge at hand and bound, Ah (bound: lead-acid only).
        q1_ah, q2_ah,
        /// Rounding error of them, carried along ([`Compensated`](crate::lanes::Compensated)).
        q1_carry_ah, q2_carry_ah,
        /// Temperature of the battery, °C.
        battery_c,
        /// Bus voltage of the last minute, V.
        bus_v,
        /// Where the panel looks: east, north, up.
        east, north, up,
        /// Share of the panel's height under snow.
        snow,
        /// Water above the low-water mark, L, and its rounding error.
        water_l, water_carry_l,
        /// Temperature of the water, °C, and its ice, m; hours of hard frost in which the pump has rested.
        water_c, ice_m, cold_h,
        /// Minutes since the rule of rest began its interval, and for which the mount has stood on its target.
        rest_min, settled_min,
    } flags {
        /// The pump is not cut off.
        connected,
        /// The pump turned at the end of the last minute.
        running,
        /// Frost forbids charging.
        frozen,
        /// Frost has refused charge since the pump was last connected.
        frost_refused,
        /// Direct charging has cut the panel off because the battery is full.
        charged_full,
        /// The battery was too low for the socket, and it has not come back.
        socket_off,
        /// The light switch lets the pump run.
        lit,
        /// The mount has begun a turn and is not there yet.
        moving,
        /// The rules of second and third speed, of rest and of the reserve act.
        slow, slower, resting, reserving,
        /// The hold of this morning is over.
        hold_done,
        /// The pump or the mount is broken: whoever counts their wear says so ([`State::break_pump`]).
        pump_broken, mount_broken,
    }
}

impl<V: Lane> StateLanes<V> {
    /// Where the panel looks.
    #[inline(always)]
    pub(crate) fn aim(&self) -> [V; 3] {
        [self.east, self.north, self.up]
    }

    /// Charge at hand, Ah.
    #[inline(always)]
    pub(crate) fn at_hand(&self) -> Compensated<V> {
        Compensated { value: self.q1_ah, carry: self.q1_carry_ah }
    }

    /// Charge bound, Ah.
    #[inline(always)]
    pub(crate) fn bound(&self) -> Compensated<V> {
        Compensated { value: self.q2_ah, carry: self.q2_carry_ah }
    }

    /// Water above the low-water mark, L.
    #[inline(always)]
    pub(crate) fn water(&self) -> Compensated<V> {
        Compensated { value: self.water_l, carry: self.water_carry_l }
    }

    /// Changes the charge at hand and the charge bound, Ah.
    #[inline(always)]
    pub(crate) fn charge(&mut self, d1: V, d2: Option<V>) {
        let at_hand = self.at_hand().plus(d1);
        (self.q1_ah, self.q1_carry_ah) = (at_hand.value, at_hand.carry);
        if let Some(d2) = d2 {
            let bound = self.bound().plus(d2);
            (self.q2_ah, self.q2_carry_ah) = (bound.value, bound.carry);
        }
    }

    /// Changes the water, L.
    #[inline(always)]
    pub(crate) fn pour(&mut self, litres: V) {
        let water = self.water().plus(litres);
        (self.water_l, self.water_carry_l) = (water.value, water.carry);
    }
}

/// What sixteen units carry from one day to the next.
#[derive(Clone, Debug)]
pub struct State {
    pub(crate) rows: StateRows,
    /// What lies on the panels.
    pub(crate) surface: [SurfaceState; BLOCK],
}

impl State {
    /// Takes over what a unit of another block carries.
    pub fn take(&mut self, lane: usize, from: &State, from_lane: usize) {
        self.rows.take(lane, &from.rows, from_lane);
        self.surface[lane] = from.surface[from_lane];
    }

    /// Charge in a battery, Ah; 0 without one.
    pub fn charge_ah(&self, lane: usize) -> f64 {
        self.rows.q1_ah.0[lane] + self.rows.q2_ah.0[lane]
    }

    /// Multiplies the charge in a battery by `factor` (0..=1).
    pub fn drain(&mut self, lane: usize, factor: f64) {
        self.rows.q1_ah.0[lane] *= factor;
        self.rows.q2_ah.0[lane] *= factor;
    }

    /// Breaks a unit's pump, or mends it: a broken one does not run.
    pub fn break_pump(&mut self, lane: usize, broken: bool) {
        self.rows.pump_broken.0[lane] = f64::from(u8::from(broken));
    }

    /// Breaks a unit's mount, or mends it: a broken one stays where it looks, and its motors take nothing.
    pub fn break_mount(&mut self, lane: usize, broken: bool) {
        self.rows.mount_broken.0[lane] = f64::from(u8::from(broken));
    }

    /// Turns the panel to a direction (east, north, up; of length 1).
    pub fn aim_at(&mut self, lane: usize, [east, north, up]: [f64; 3]) {
        self.rows.east.0[lane] = east;
        self.rows.north.0[lane] = north;
        self.rows.up.0[lane] = up;
        self.rows.moving.0[lane] = 0.0;
    }
}
