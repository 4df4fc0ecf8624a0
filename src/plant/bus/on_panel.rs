//! A bus held by nothing but the panel: pump, motors and electronics share what it gives.
//!
//! The unknown is the panel's diode voltage V_d, from which current, bus voltage and loads follow without
//! another root search (see [`panel`](crate::plant::panel)). For loads alone and for a bus held at a voltage (by a pump that pulses between two)
//! the same function is solved:
//!
//! `F(V_d) = r (I_load(V) - I(V_d)) + w (V - v0)`, V = V_d - I R_s - drop_v
//!
//! with (r, w) = (1, 0) for loads alone, (0, 1) at a held voltage. F rises, but a pump held at its highest voltage bends it
//! both ways: the root is kept between two bounds, and a step that would leave them halves them instead. A lane that has arrived
//! stays as it is while its neighbours go on: lanes must not see one another.

use super::point::{BusDemand, BusInputs, OperatingPoint};
use crate::design::{FedFirst, PumpKind};
use crate::lanes::{Lane, Mask};
use crate::plant::panel::Cells;
use crate::plant::pump::{PumpPoint, PumpUnit, Pumps, hiccup_duty};

/// Most Newton steps from where the last minute stood. Mostly three do.
const STEPS: usize = 24;
/// A step below this is the last, V: the next would be below its square over twice the ideality, 1e-8 V in single precision, less
/// than it holds, and 1e-12 V in double.
const fn arrived_v<V: Lane>() -> f64 {
    if V::SINGLE { 1e-4 } else { 1e-6 }
}

/// All that is drawn from a bus, over its voltage.
pub(crate) struct BusLoad<'a, V> {
    /// Whatever the voltage, A.
    pub fixed: V,
    /// In proportion to it, S.
    pub ohmic: V,
    /// Share of the minute the pump runs.
    pub share: V,
    /// The pump.
    pub pump: Option<(&'a Pumps, &'a PumpUnit<V>, usize)>,
}

impl<V: Lane> BusLoad<'_, V> {
    /// An open circuit.
    pub fn nothing() -> Self {
        let zero = V::splat(0.0);
        BusLoad { fixed: zero, ohmic: zero, share: zero, pump: None }
    }

    /// Current and its slope.
    #[inline(always)]
    fn at(&self, volts: V) -> (V, V) {
        let (i, di) = match self.pump {
            Some((pumps, unit, at)) => {
                let p = pumps.at(unit, at, volts);
                (p.amps, p.slope_s)
            }
            None => (V::splat(0.0), V::splat(0.0)),
        };
        (self.fixed + self.ohmic * volts.max(V::splat(0.0)) + self.share * i, self.ohmic + self.share * di)
    }
}

/// Solves F from `first` on, between 0 and `bound`. Gives V_d and I.
#[inline(always)]
pub(crate) fn solve_diode_voltage<V: Lane>(
    cells: &Cells<V>,
    drop_v: V,
    (r, w, v0): (V, V, V),
    (first, bound): (V, V),
    load: &BusLoad<'_, V>,
) -> (V, V) {
    let c = V::splat;
    let mut vd = first;
    let (mut low, mut high) = (c(0.0), bound);
    let mut amps = c(0.0);
    let mut open = V::Mask::splat(true);
    for _ in 0..STEPS {
        let (i, slope) = cells.current(vd);
        let v = vd - i * cells.r_s - drop_v;
        let (taken, taken_slope) = load.at(v);
        let dv = c(1.0) + slope * cells.r_s;
        let f = r * (taken - i) + w * (v - v0);
        let df = r * (taken_slope * dv + slope) + w * dv;
        let step = f / df.max(c(1e-9));
        let above = f.ge(c(0.0));
        high = V::select(above, vd, high);
        low = V::select(above, low, vd);
        let next = vd - step;
        let stays = next.ge(low) & next.le(high);
        let step = V::select(stays, step, vd - c(0.5) * (low + high));
        vd = V::select(open, vd - step, vd);
        // The current moves along its tangent; the last step is too small for its bend.
        amps = V::select(open, i + slope * step, amps);
        open = open & step.abs().ge(c(arrived_v::<V>()));
        if !open.any() {
            break;
        }
    }
    (vd, amps)
}

/// A bus on the panel alone in the dark: nothing runs, and a mount that would move is starved.
#[inline(always)]
pub(crate) fn on_panel_dark<V: Lane>(drop_v: V, demand: &BusDemand<V>) -> OperatingPoint<V> {
    let zero = V::splat(0.0);
    OperatingPoint {
        bus_v: zero,
        panel_v: drop_v,
        panel_a: zero,
        fed_a: zero,
        converter_w: zero,
        pump_v: zero,
        pump_a: zero,
        jet_m: zero,
        duty: zero,
        motor_a: zero,
        standby_a: zero,
        charge_a: zero,
        spilled_a: zero,
        moved: zero,
        starved: demand.motion.gt(zero),
        running: V::Mask::splat(false),
    }
}

/// A bus on the panel alone: the pump starts, runs, pulses or stands; the mount moves if its voltage holds.
#[inline(always)]
pub(crate) fn on_panel<V: Lane>(inputs: &BusInputs<'_, V>, fed_first: FedFirst) -> OperatingPoint<V> {
    let BusInputs { cells, drop_v, loads, pumps, pump, at, demand } = *inputs;
    let c = V::splat;
    let nowhere = V::Mask::splat(false);
    let s = loads.standby_s;
    let connected = demand.pump.gt(c(0.0));
    let carries =
        cells.can_supply(pump.stop_v + drop_v, s * pump.stop_v + pumps.at(pump, at, pump.stop_v).amps);
    // Runs on if it turned; from rest it has to start first. At rest a brushed motor is its winding.
    let (runs, pulsing, stalled) = match pumps.kind {
        PumpKind::Electronic => {
            let starts = cells.can_supply(pump.start_v + drop_v, s * pump.start_v) & connected;
            let runs = (demand.running & connected | starts) & carries;
            (runs, starts & !carries, nowhere)
        }
        PumpKind::Brushed => {
            let away_v = pump.break_away_a / pump.rest_s;
            let starts = cells.can_supply(away_v + drop_v, pump.break_away_a + s * away_v);
            let runs = connected & carries & (demand.running | starts);
            (runs, nowhere, connected & !runs)
        }
    };
    // Does the bus hold the mount's lowest voltage with its motors turning?
    let wish = demand.motion.gt(c(0.0));
    let mut moved = c(0.0);
    let mut starved = nowhere;
    if wish.any() {
        let low = match fed_first {
            FedFirst::Pump => V::select(pulsing, loads.lowest_v.max(pump.pulse_v), loads.lowest_v),
            FedFirst::Mount => loads.lowest_v,
        };
        let mut amps = s * low + loads.motor_a;
        let mut able = wish;
        if fed_first == FedFirst::Pump {
            let beside = V::only(runs, pumps.at(pump, at, low).amps);
            amps = amps + beside + V::only(stalled, pump.rest_s * low);
            // A pump that pulses lets the bus rise no higher than its own voltages.
            able = able & !(pulsing & loads.lowest_v.gt(pump.pulse_v));
        }
        able = able & cells.can_supply(low + drop_v, amps);
        moved = V::only(able, demand.motion);
        starved = wish & !able;
    }
    let plugged = match fed_first {
        FedFirst::Pump => demand.pump,
        FedFirst::Mount => demand.pump.min(c(1.0) - moved),
    };
    let motor_a = loads.motor_a * moved;
    let run_share = V::only(runs, plugged);
    let rest_s = s + V::only(stalled, pump.rest_s * plugged);
    let load = BusLoad { fixed: motor_a, ohmic: rest_s, share: run_share, pump: Some((pumps, pump, at)) };
    let held = V::one_if(pulsing);
    let bound =
        V::select(pulsing, pump.pulse_v + drop_v + cells.i_l * cells.r_s, c(1e9)).min(cells.open_bound());
    // Mostly the light has changed little; after a night nothing is known.
    let lately = load.at(demand.last_v).0.min(cells.i_l);
    let first = (demand.last_v + drop_v + lately * cells.r_s).min(bound);
    let first = V::select(demand.last_v.gt(c(0.0)), first, bound);
    let (vd, amps) =
        solve_diode_voltage(cells, drop_v, (c(1.0) - held, held, pump.pulse_v), (first, bound), &load);
    let bus_v = V::select(pulsing, pump.pulse_v, (vd - amps * cells.r_s - drop_v).max(c(0.0)));
    let standby_a = s * bus_v;
    let PumpPoint { amps: taken, jet_m, .. } = pumps.at(pump, at, bus_v);
    // Pulsing: what the panel has left over carries the pump for part of the time it is plugged in.
    let left = (amps - standby_a - motor_a).max(c(0.0)).min((amps - standby_a).max(c(0.0)) * plugged);
    let duty = V::select(pulsing, hiccup_duty(left, taken), run_share);
    let pump_a = duty * taken + V::only(stalled, pump.rest_s * plugged * bus_v);
    // What the loads take, not the panel's side of the root: the account then closes to rounding, and what the
    // root is off by (see the tests) stays on the panel's curve.
    let panel_a = standby_a + motor_a + pump_a;
    let on = runs | pulsing;
    OperatingPoint {
        bus_v,
        panel_v: bus_v + drop_v,
        panel_a,
        fed_a: panel_a,
        converter_w: c(0.0),
        pump_v: V::only(on, bus_v.min(pump.highest_v)),
        pump_a,
        jet_m,
        duty,
        motor_a,
        standby_a,
        charge_a: c(0.0),
        spilled_a: c(0.0),
        moved,
        starved,
        running: runs & bus_v.ge(pump.stop_v),
    }
}
