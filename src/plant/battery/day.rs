//! The battery through the minutes and hours of a day: charge in and out, cut-off, cold, night.
#![allow(clippy::manual_map, reason = "a closure that is not inlined leaves the vectors' instruction set")]

use super::kibam::Kibam;
use super::pack::{Batteries, BatteryUnit, Thermal};
use super::rest_curve::Segment;
use crate::design::{Charging, Chemistry};
use crate::lanes::{Compensated, Lane, Mask, RowF64};
use crate::plant::ageing::calendar;
use crate::plant::bus::{BatteryPort, OperatingPoint};
use crate::plant::record::{DayBlock, Flow, MINUTE_H};
use crate::plant::state::StateLanes;

/// Direct charging is connected again when the voltage has fallen by this share (common practice, no source).
const FULL_AGAIN: f64 = 0.97;
/// Direct charging ends within this of the charge voltage, V: the current that holds it is rounded.
const HELD_V: f64 = 1e-5;
/// A pump that was cut off because the charge within reach was used up is connected again at this share of charge above that.
const REACH_AGAIN: f64 = 0.02;

/// The batteries of some lanes on one day.
pub(crate) struct BatteryDay<'a, V: Lane> {
    all: &'a Batteries,
    /// Place of the lanes in their block.
    at: usize,
    pub unit: BatteryUnit<V>,
    kibam: Option<Kibam<V>>,
    /// Capacity at hand, Ah; one over it, and over the whole capacity, 1/Ah.
    head_ah: V,
    per_head_ah: V,
    per_capacity_ah: V,
    segment: Segment<V>,
    thermal: Thermal<V>,
    /// Charge through the terminals less self-discharge since the start of the day, Ah: the charge account.
    booked_ah: Compensated<V>,
    /// Charge at hand and bound, and energy, at the start of the day.
    start_ah: [Compensated<V>; 2],
    start_wh: RowF64,
    /// Energy that went in at the terminals, Wh.
    into_wh: Compensated<V>,
    /// Hours at 25 °C that age it as much as the day so far.
    shelf_h: V,
}

impl<'a, V: Lane> BatteryDay<'a, V> {
    #[inline(always)]
    pub(crate) fn new(all: &'a Batteries, at: usize, now: &StateLanes<V>) -> Self {
        let unit = BatteryUnit::<V>::of(&all.rows, at);
        let kibam = match &all.kibam {
            Some(k) => Some(Kibam::<V>::of(k, at)),
            None => None,
        };
        let one = V::splat(1.0);
        let head_ah = match &kibam {
            Some(k) => k.c * unit.capacity_ah,
            None => unit.capacity_ah,
        };
        let per_head_ah = one / head_ah;
        let mut store = BatteryDay {
            all,
            at,
            unit,
            kibam,
            head_ah,
            per_head_ah,
            per_capacity_ah: one / unit.capacity_ah,
            segment: all.rest.segment(now.q1_ah * per_head_ah),
            thermal: all.at(&unit, now.battery_c),
            booked_ah: Compensated::zero(),
            start_ah: [now.at_hand(), now.bound()],
            start_wh: RowF64::default(),
            into_wh: Compensated::zero(),
            shelf_h: V::splat(0.0),
        };
        store.start_wh = store.energy_wh(now);
        store
    }

    /// Energy above empty, Wh: the integral of the rest curve over each well. In double precision, because a day changes little of it.
    #[inline(always)]
    fn energy_wh(&self, now: &StateLanes<V>) -> RowF64 {
        let (mut q1, mut q2, mut wh) = (RowF64::default(), RowF64::default(), RowF64::default());
        now.at_hand().put(&mut q1, self.at);
        now.bound().put(&mut q2, self.at);
        for lane in self.at..self.at + V::N {
            let capacity_ah = self.all.rows.capacity_ah.0[lane];
            // Energy in a well of this size.
            let well = |ah: f64, q: f64| if ah > 0.0 { ah * self.all.rest.energy(q / ah) } else { 0.0 };
            let at_hand = self.all.kibam.as_ref().map_or(1.0, |k| k.c.0[lane]);
            let bound_ah = (1.0 - at_hand) * capacity_ah;
            wh.0[lane] = well(at_hand * capacity_ah, q1.0[lane]) + well(bound_ah, q2.0[lane]);
        }
        wh
    }

    /// State of charge, share.
    #[inline(always)]
    pub(crate) fn soc(&self, now: &StateLanes<V>) -> V {
        (now.q1_ah + now.q2_ah) * self.per_capacity_ah
    }

    /// Rest voltage, V.
    #[inline(always)]
    fn rest_v(&mut self, now: &StateLanes<V>) -> V {
        let x = now.q1_ah * self.per_head_ah;
        if self.segment.left(x).any() {
            self.segment = self.all.rest.segment(x);
        }
        self.segment.at(x)
    }

    /// Whether the sun warms its box.
    #[inline(always)]
    pub(crate) fn box_in_sun(&self) -> bool {
        self.all.box_in_sun
    }

    /// A new hour: the battery's temperature follows that around it, and frost forbids or allows charging.
    #[inline(always)]
    pub(crate) fn hour(&mut self, now: &mut StateLanes<V>, around_c: V) {
        now.battery_c = self.all.follow(&self.unit, now.battery_c, around_c, 1.0);
        self.thermal = self.all.at(&self.unit, now.battery_c);
        self.shelf_h = self.shelf_h + calendar::rate(self.all.chemistry, now.battery_c, self.soc(now));
        if self.all.is_lithium() {
            let frozen = now.battery_c.lt(self.unit.frost_lock_c);
            let thawed = now.battery_c.ge(self.unit.frost_unlock_c);
            now.frozen = frozen | now.frozen & !thawed;
        }
    }

    /// Whether the protection still lets anything out.
    #[inline(always)]
    pub(crate) fn alive(&self, now: &StateLanes<V>) -> V::Mask {
        (now.q1_ah * self.per_head_ah).gt(self.unit.reserve_share)
    }

    /// Whether the voltage would hold with a current, A, drawn on top of the last minute's.
    #[inline(always)]
    pub(crate) fn holds(&self, now: &StateLanes<V>, amps: V, lowest_v: V) -> V::Mask {
        (now.bus_v - amps * self.thermal.r_ohm).ge(lowest_v)
    }

    /// The battery as the bus meets it in a minute.
    #[inline(always)]
    pub(crate) fn port(&mut self, now: &StateLanes<V>) -> BatteryPort<V> {
        let c = V::splat;
        let rest_v = self.rest_v(now);
        // Rise of the rest voltage by mid-minute for each ampere.
        let rise = c(0.5 * MINUTE_H) * self.segment.slope * self.per_head_ah;
        let ohm = self.thermal.r_ohm + rise;
        let room = (self.head_ah - now.q1_ah).max(c(0.0));
        let mut limit = self.unit.charge_max_a.min(room * c(60.0));
        if self.all.chemistry == Chemistry::LeadAcid {
            // Ampere-hour law: no more amperes than ampere-hours missing (Woodbridge, after Vinal; from memory).
            limit = limit.min((self.unit.capacity_ah - now.q1_ah - now.q2_ah).max(c(0.0)));
        }
        // Constant voltage: the current that just holds it.
        let hold = ((self.thermal.charge_v - rest_v) / ohm.max(c(1e-6))).max(c(0.0));
        limit = limit.min(hold);
        limit = V::select(now.frozen, c(0.0), limit);
        BatteryPort { rest_v, ohm, limit_a: limit, rate_a: self.unit.charge_max_a }
    }

    /// Books a minute: charge, cut-off and reconnect on the terminal voltage.
    #[inline(always)]
    pub(crate) fn minute(
        &mut self,
        now: &mut StateLanes<V>,
        p: &OperatingPoint<V>,
        port: &BatteryPort<V>,
        charging: Charging,
    ) {
        let c = V::splat;
        let i = p.charge_a;
        self.into_wh = self.into_wh.plus((port.rest_v + port.ohm * i) * i * c(MINUTE_H));
        let worth = V::select(i.gt(c(0.0)), i * self.unit.coulombic_efficiency, i);
        let lost = self.thermal.self_per_h * c(MINUTE_H);
        let leaked = (now.q1_ah * lost, now.q2_ah * lost);
        match &self.kibam {
            None => now.charge(worth * c(MINUTE_H) - leaked.0, None),
            Some(k) => {
                let (d1, d2) = k.minute(now.q1_ah - leaked.0, now.q2_ah - leaked.1, -worth);
                now.charge(d1 - leaked.0, Some(d2 - leaked.1));
            }
        }
        self.booked_ah = self.booked_ah.plus(worth * c(MINUTE_H) - (leaked.0 + leaked.1));
        let x = now.q1_ah * self.per_head_ah;
        let reach = self.thermal.out_of_reach_share;
        let cut = p.bus_v.lt(self.unit.cut_off_v) | x.lt(reach);
        let again = p.bus_v.ge(self.unit.reconnect_v) & x.ge(reach + c(REACH_AGAIN));
        now.connected = (now.connected | again) & !cut;
        // Frost is to blame from the first charge it refuses until the pump is connected again.
        let refusing = now.frozen & p.spilled_a.gt(c(0.0));
        now.frost_refused = refusing | now.frost_refused & !again;
        if charging == Charging::Direct {
            let topped = p.bus_v.ge(self.thermal.charge_v - c(HELD_V));
            let sunk = p.bus_v.lt(self.thermal.charge_v * c(FULL_AGAIN));
            now.charged_full = topped | now.charged_full & !sunk;
        }
        now.bus_v = p.bus_v;
    }

    /// Rests for some minutes with only the standby drawn; gives the standby energy, Wh. Stops at the protection.
    #[inline(always)]
    pub(crate) fn rest(&mut self, now: &mut StateLanes<V>, standby_a: V, minutes: f64) -> V {
        let c = V::splat;
        let hours = minutes * MINUTE_H;
        let rest_v = self.rest_v(now);
        let lost = (self.thermal.self_per_h * c(hours)).min(c(1.0));
        let leaked = (now.q1_ah * lost, now.q2_ah * lost);
        let (q1, q2) = (now.q1_ah - leaked.0, now.q2_ah - leaked.1);
        let reserve = self.unit.reserve_share * self.head_ah;
        let amps = standby_a.min((q1 - reserve).max(c(0.0)) * c(1.0 / hours));
        match &self.kibam {
            None => now.charge(-(amps * c(hours)) - leaked.0, None),
            Some(k) => {
                let (d1, d2) = k.hours(q1, q2, amps, c(hours));
                now.charge(d1 - leaked.0, Some(d2 - leaked.1));
            }
        }
        self.booked_ah = self.booked_ah.plus(-(amps * c(hours)) - (leaked.0 + leaked.1));
        let volts = rest_v - amps * self.thermal.r_ohm;
        let wh = volts * amps * c(hours);
        self.into_wh = self.into_wh.plus(-wh);
        let x = now.q1_ah * self.per_head_ah;
        let cut = volts.lt(self.unit.cut_off_v) | x.lt(self.thermal.out_of_reach_share);
        now.connected = now.connected & !cut;
        now.running = V::Mask::splat(false);
        now.charged_full = V::Mask::splat(false);
        now.bus_v = volts;
        wh
    }

    /// Closes the day: energy stored and lost, residual of the charge account, ageing.
    #[inline(always)]
    pub(crate) fn close(&self, now: &StateLanes<V>, out: &mut DayBlock) {
        let (end_wh, mut into_wh) = (self.energy_wh(now), RowF64::default());
        self.into_wh.put(&mut into_wh, self.at);
        for lane in self.at..self.at + V::N {
            let stored_wh = end_wh.0[lane] - self.start_wh.0[lane];
            out.flow_wh[Flow::Stored as usize].0[lane] = stored_wh;
            out.flow_wh[Flow::Battery as usize].0[lane] = into_wh.0[lane] - stored_wh;
        }
        // Differences first: they are small against the sums.
        let charge = now.at_hand().minus(self.start_ah[0]) + now.bound().minus(self.start_ah[1]);
        (self.booked_ah.value - charge).put(&mut out.charge_residual_ah, self.at);
        self.shelf_h.put(&mut out.shelf_h, self.at);
    }
}
