//! Sixteen drawn units side by side, and what they carry from day to day.

use super::aim::Mounts;
use super::battery::Batteries;
use super::bus::{LoadRows, LoadUnit};
use super::panel::{PanelRows, PanelUnit};
use super::pump::Pumps;
use super::rows::rows;
use super::water::Basins;
use crate::design::{Charging, Design, FedFirst, MountKind};
use crate::lanes::{BLOCK, Compensated, Lane, RowF64};

/// State of charge a battery starts the run-in with, share.
const START_SOC: f64 = 0.8;
/// Temperature a battery starts the run-in with, °C.
const START_C: f64 = 15.0;

/// Sixteen units of one design, each from its own draw of the parts.
#[derive(Clone, Debug)]
pub struct UnitBlock {
    pub(crate) panel: PanelRows,
    pub(crate) mounts: Mounts,
    pub(crate) loads: LoadRows,
    pub(crate) batteries: Option<Batteries>,
    pub(crate) charging: Charging,
    pub(crate) fed_first: FedFirst,
    pub(crate) pumps: Pumps,
    pub(crate) blocked_from_day: Option<u16>,
    pub(crate) pulse_counts_from: f64,
    pub(crate) basins: Basins,
    pub(crate) albedo: RowF64,
}

impl UnitBlock {
    /// Packs 1 to 16 drawn designs of one structure (same kinds, same number of bench points, all or none with
    /// a battery); fewer than 16 repeat the last. Panics on none.
    pub fn new(designs: &[Design<f64>]) -> UnitBlock {
        let last = designs.len().min(BLOCK) - 1;
        let filled: Vec<&Design<f64>> = (0..BLOCK).map(|k| &designs[k.min(last)]).collect();
        let first = filled[0];
        let mut panel = PanelRows::default();
        let mut loads = LoadRows::default();
        let mut albedo = RowF64::default();
        let mut fitted = PanelUnit::from_design(&first.panel);
        for (lane, d) in filled.iter().enumerate() {
            // A label is fitted once if the draws are alike.
            if lane > 0 && d.panel != filled[lane - 1].panel {
                fitted = PanelUnit::from_design(&d.panel);
            }
            panel.set(lane, fitted);
            loads.set(lane, LoadUnit::from_design(d));
            albedo.0[lane] = d.site.albedo;
        }
        UnitBlock {
            panel,
            mounts: Mounts::new(&filled),
            loads,
            batteries: Batteries::new(&filled),
            charging: first.electronics.charging,
            fed_first: first.electronics.fed_first,
            pumps: Pumps::new(&filled),
            blocked_from_day: first.pump.blocked_from_day,
            pulse_counts_from: first.wish.pulse_counts_from,
            basins: Basins::new(&filled),
            albedo,
        }
    }

    /// The state before the run-in: battery at 80 %, basin full, mount where it waits for morning.
    pub fn start_state(&self) -> State {
        let mut rows = StateRows::default();
        let one = RowF64::splat(1.0);
        if let Some(b) = &self.batteries {
            for lane in 0..BLOCK {
                let charge = START_SOC * b.rows.capacity_ah.0[lane];
                let at_hand = b.kibam.as_ref().map_or(1.0, |k| k.c.0[lane]);
                rows.q1_ah.0[lane] = charge * at_hand;
                rows.q2_ah.0[lane] = charge - charge * at_hand;
            }
            rows.bus_v = b.rows.reconnect_v;
            rows.connected = one;
        }
        rows.battery_c = RowF64::splat(START_C);
        let m = &self.mounts.rows;
        (rows.east, rows.north, rows.up) = match self.mounts.kind {
            MountKind::Fixed => (m.fixed_e, m.fixed_n, m.fixed_u),
            _ => (m.rest_e, m.rest_n, m.rest_u),
        };
        rows.water_l = self.basins.rows.usable_l;
        State { rows }
    }
}

rows! {
    /// What a unit carries from minute to minute and day to day. Yes and no are 1 and 0.
    StateRows / StateLanes {
        /// Charge at hand and bound, Ah (bound: lead-acid only).
        q1_ah, q2_ah,
        /// What rounding has kept out of them ([`Compensated`](crate::lanes::Compensated)).
        q1_carry_ah, q2_carry_ah,
        /// Temperature of the battery, °C.
        battery_c,
        /// The pump is not cut off.
        connected,
        /// The pump turned at the end of the last minute.
        running,
        /// Frost forbids charging.
        frozen,
        /// Frost has refused charge since the pump was last connected.
        frost_refused,
        /// Direct charging has cut the panel off, for the battery is full.
        charged_full,
        /// Bus voltage of the last minute, V.
        bus_v,
        /// Where the panel looks: east, north, up.
        east, north, up,
        /// The mount has begun a turn and is not there yet.
        moving,
        /// Water above the low-water mark, L, and what rounding has kept out of it.
        water_l, water_carry_l,
    }
}

impl<V: Lane> StateLanes<V> {
    /// Charge at hand, Ah.
    #[inline(always)]
    pub fn at_hand(&self) -> Compensated<V> {
        Compensated { value: self.q1_ah, carry: self.q1_carry_ah }
    }

    /// Charge bound, Ah.
    #[inline(always)]
    pub fn bound(&self) -> Compensated<V> {
        Compensated { value: self.q2_ah, carry: self.q2_carry_ah }
    }

    /// Water above the low-water mark, L.
    #[inline(always)]
    pub fn water(&self) -> Compensated<V> {
        Compensated { value: self.water_l, carry: self.water_carry_l }
    }

    /// Changes the charge at hand and the charge bound, Ah.
    #[inline(always)]
    pub fn charge(&mut self, d1: V, d2: Option<V>) {
        let at_hand = self.at_hand().plus(d1);
        (self.q1_ah, self.q1_carry_ah) = (at_hand.value, at_hand.carry);
        if let Some(d2) = d2 {
            let bound = self.bound().plus(d2);
            (self.q2_ah, self.q2_carry_ah) = (bound.value, bound.carry);
        }
    }

    /// Changes the water, L.
    #[inline(always)]
    pub fn pour(&mut self, litres: V) {
        let water = self.water().plus(litres);
        (self.water_l, self.water_carry_l) = (water.value, water.carry);
    }
}

/// What sixteen units carry from one day to the next.
#[derive(Clone, Debug)]
pub struct State {
    pub(crate) rows: StateRows,
}
