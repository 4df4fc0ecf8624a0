//! The day's energy account: every flow from its own voltage and current, and the residual.
//!
//! What the panel gave equals what pump, motors and standby took, what diode, charger and battery lost, and what
//! was stored. Each is booked from its own voltage and current; only the battery's loss is what went in
//! at its terminals less what its rest curve says it now holds more (resistance, coulombic loss, self-discharge,
//! wells levelling out, and the rest voltage's bend within a minute). So the residual tests the
//! booking: Kirchhoff's law at the bus, and that nothing is left out or counted twice. It does not test the operating points, which
//! balance whatever their error is; `tests/it/operating_point.rs` does.
//!
//! Beside the account stands a bound: what the panel gave beyond its label's share of the light is added up, and is nothing.
//!
//! Minutes are added up in lanes for an hour, hours in double precision in the day's rows.

use crate::lanes::{Lane, Mask};
use crate::plant::bus::OperatingPoint;
use crate::plant::record::{Cause, DayBlock, Flow, MINUTE_H};

/// What an hour adds up to.
pub(crate) struct HourSums<V> {
    /// W minutes by [`Flow`], without the two that come from the battery's stored energy.
    flow_w_min: [V; Flow::COUNT],
    /// Minutes by [`Cause`].
    pub cause_min: [V; Cause::COUNT],
    pub jet_min: V,
    pub pump_min: V,
    pub moves: V,
    /// Angle the mount travelled.
    pub travel_rad: V,
    /// Minutes in which it hunts, and for which its motors run.
    pub hunting_min: V,
    pub motors_min: V,
    /// Irradiation on the panel, W/m² minutes.
    pub plane_w_m2_min: V,
    /// Charge refused, A minutes.
    pub spilled_a_min: V,
    /// Minutes of daylight in which frost forbids charging.
    pub too_cold_min: V,
    /// What the panel gave beyond label times light, W minutes: none.
    over_label_w_min: V,
}

impl<V: Lane> HourSums<V> {
    #[inline(always)]
    pub(crate) fn new() -> Self {
        let zero = V::splat(0.0);
        HourSums {
            flow_w_min: [zero; Flow::COUNT],
            cause_min: [zero; Cause::COUNT],
            jet_min: zero,
            pump_min: zero,
            moves: zero,
            travel_rad: zero,
            hunting_min: zero,
            motors_min: zero,
            plane_w_m2_min: zero,
            spilled_a_min: zero,
            too_cold_min: zero,
            over_label_w_min: zero,
        }
    }

    #[inline(always)]
    fn add(&mut self, flow: Flow, watts: V) {
        self.flow_w_min[flow as usize] = self.flow_w_min[flow as usize] + watts;
    }

    /// Books a minute; `label_w` is the most the panel's label says it gives.
    #[inline(always)]
    pub fn book(&mut self, p: &OperatingPoint<V>, drop_v: V, label_w: V, behind_socket: bool) {
        let panel_w = p.panel_v * p.panel_a;
        self.add(Flow::Panel, panel_w);
        self.over_label_w_min = self.over_label_w_min + (panel_w - label_w).max(V::splat(0.0));
        self.add(Flow::Diode, drop_v * p.panel_a);
        if behind_socket {
            self.book_behind_socket(p);
            return;
        }
        // The hold at the pump's highest voltage is part of the electronics.
        let at_pump = p.bus_v.min(p.pump_v.max(V::splat(0.0)));
        let at_pump = V::select(p.duty.gt(V::splat(0.0)), at_pump, p.bus_v);
        self.add(Flow::Charger, p.converter_w + (p.bus_v - at_pump) * p.pump_a);
        self.add(Flow::Pump, at_pump * p.pump_a);
        self.add(Flow::Motors, p.bus_v * p.motor_a);
        self.add(Flow::Standby, p.bus_v * p.standby_a);
    }

    /// Books loads behind a socket: its converter's loss is the charger's, as is the hold at the pump's highest voltage.
    #[inline(always)]
    fn book_behind_socket(&mut self, p: &OperatingPoint<V>) {
        let pump_w = p.pump_v * p.pump_a;
        let (motors_w, board_w) = (p.socket_v * p.motor_a, p.socket_v * p.board_a);
        self.add(Flow::Charger, p.converter_w + (p.bus_v * p.socket_a - pump_w - motors_w - board_w));
        self.add(Flow::Pump, pump_w);
        self.add(Flow::Motors, motors_w);
        self.add(Flow::Standby, p.bus_v * p.standby_a + board_w);
    }

    /// Adds the hour to the day's rows.
    #[inline(always)]
    pub(crate) fn close(self, hour: usize, out: &mut DayBlock, at: usize) {
        let c = V::splat;
        for (k, &flow) in self.flow_w_min.iter().enumerate() {
            if k != Flow::Stored as usize && k != Flow::Battery as usize {
                out.flow_wh[k].add(at, flow * c(MINUTE_H));
            }
        }
        for (cause, row) in out.cause_min.iter_mut().enumerate() {
            let minutes = self.cause_min[cause];
            // Most causes hold nowhere in most hours.
            if minutes.gt(c(0.0)).any() {
                row.add(at, minutes);
            }
        }
        self.jet_min.put(&mut out.jet_by_hour_min[hour], at);
        out.jet_min.add(at, self.jet_min);
        out.pump_h.add(at, self.pump_min * c(MINUTE_H));
        out.moves.add(at, self.moves);
        out.hunting_min.add(at, self.hunting_min);
        out.motors_h.add(at, self.motors_min * c(MINUTE_H));
        out.travel_deg.add(at, self.travel_rad * c(180.0 / std::f64::consts::PI));
        out.plane_wh_m2.add(at, self.plane_w_m2_min * c(MINUTE_H));
        out.spilled_ah.add(at, self.spilled_a_min * c(MINUTE_H));
        out.too_cold_h.add(at, self.too_cold_min * c(MINUTE_H));
        out.over_label_wh.add(at, self.over_label_w_min * c(MINUTE_H));
    }
}

/// Standby energy of a battery that rests, Wh.
#[inline(always)]
pub(crate) fn book_rest<V: Lane>(standby_wh: V, out: &mut DayBlock, at: usize) {
    out.flow_wh[Flow::Standby as usize].add(at, standby_wh);
}

/// Closes the day of all lanes: the residual of the energy account.
pub(crate) fn close(out: &mut DayBlock) {
    for (lane, left) in out.residual_wh.0.iter_mut().enumerate() {
        *left = out.flow_wh[Flow::Panel as usize].0[lane];
        for (k, flow) in out.flow_wh.iter().enumerate() {
            if k != Flow::Panel as usize {
                *left -= flow.0[lane];
            }
        }
    }
}
