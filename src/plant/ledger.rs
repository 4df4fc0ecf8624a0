//! The day's accounts: every flow from its own voltage and current, and what is left over.
//!
//! What the panel gave equals what pump, motors and standby took, what diode, charger and battery lost, and what
//! was stored. Each is booked from its own voltage and current; only the battery's loss is what went in
//! at its terminals less what its rest curve says it now holds more (resistance, coulombic loss, self-discharge,
//! wells levelling out, and the rest voltage's bend within a minute). So the residual tests the
//! booking: Kirchhoff's law at the bus, and that nothing is left out or counted twice. It does not test the operating points, which
//! keep the account whatever they are off by; `tests/it/operating_point.rs` does.

use super::bus::Point;
use super::outcome::{DayBlock, Flow};
use crate::lanes::Lane;

const MINUTE_H: f64 = 1.0 / 60.0;

/// Sums of a day.
pub(crate) struct Sums<V> {
    /// Wh by [`Flow`].
    pub flow: [V; Flow::COUNT],
    pub jet_min: V,
    pub pump_min: V,
    pub moves: V,
    /// rad.
    pub travel: V,
    /// W/m² minutes.
    pub plane: V,
    /// A minutes.
    pub spilled: V,
    /// Minutes.
    pub too_cold: V,
}

impl<V: Lane> Sums<V> {
    #[inline(always)]
    pub fn new() -> Self {
        let zero = V::splat(0.0);
        Sums {
            flow: [zero; Flow::COUNT],
            jet_min: zero,
            pump_min: zero,
            moves: zero,
            travel: zero,
            plane: zero,
            spilled: zero,
            too_cold: zero,
        }
    }

    #[inline(always)]
    fn add(&mut self, flow: Flow, watts: V) {
        self.flow[flow as usize] = self.flow[flow as usize] + watts * V::splat(MINUTE_H);
    }

    /// Books a minute.
    #[inline(always)]
    pub fn book(&mut self, p: &Point<V>, drop: V) {
        self.add(Flow::Panel, p.panel_v * p.panel_a);
        self.add(Flow::Diode, drop * p.panel_a);
        // The hold at the pump's highest voltage is part of the electronics.
        let at_pump = p.bus_v.min(p.pump_v.max(V::splat(0.0)));
        let at_pump = V::select(p.duty.gt(V::splat(0.0)), at_pump, p.bus_v);
        self.add(Flow::Charger, p.converter_w + (p.bus_v - at_pump) * p.pump_a);
        self.add(Flow::Pump, at_pump * p.pump_a);
        self.add(Flow::Motors, p.bus_v * p.motor_a);
        self.add(Flow::Standby, p.bus_v * p.standby_a);
    }

    /// Closes the day.
    #[inline(always)]
    pub fn close(mut self, stored_wh: V, lost_wh: V, ghi_w_m2_min: V, out: &mut DayBlock, at: usize) {
        let c = V::splat;
        self.flow[Flow::Stored as usize] = stored_wh;
        self.flow[Flow::Battery as usize] = lost_wh;
        let mut left = self.flow[Flow::Panel as usize];
        for (k, flow) in self.flow.iter().enumerate() {
            flow.put(&mut out.flow_wh[k], at);
            if k != Flow::Panel as usize {
                left = left - *flow;
            }
        }
        left.put(&mut out.residual_wh, at);
        self.jet_min.put(&mut out.jet_min, at);
        (self.pump_min * c(MINUTE_H)).put(&mut out.pump_h, at);
        self.moves.put(&mut out.moves, at);
        (self.travel * c(180.0 / std::f64::consts::PI)).put(&mut out.travel_deg, at);
        (self.plane * c(MINUTE_H)).put(&mut out.plane_wh_m2, at);
        (ghi_w_m2_min * c(MINUTE_H)).put(&mut out.ghi_wh_m2, at);
        (self.spilled * c(MINUTE_H)).put(&mut out.spilled_ah, at);
        (self.too_cold * c(MINUTE_H)).put(&mut out.too_cold_h, at);
    }
}
