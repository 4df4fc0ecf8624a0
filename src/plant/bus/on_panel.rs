//! A bus without a battery: pump, motors and electronics share what the panel gives.

use super::covered::covered_bus_v;
use super::diode_voltage::{BusLoad, Target, solve_diode_voltage};
use super::point::{BusDemand, BusInputs, OperatingPoint};
use crate::design::{FedFirst, PumpKind};
use crate::lanes::{Lane, Mask};
use crate::plant::pump::{PumpPoint, hiccup_duty};

/// A bus on the panel alone in the dark: nothing runs, and a mount that would move is starved.
#[inline(always)]
pub(crate) fn on_panel_dark<V: Lane>(drop_v: V, demand: &BusDemand<V>) -> OperatingPoint<V> {
    OperatingPoint { panel_v: drop_v, starved: demand.motion.gt(V::splat(0.0)), ..OperatingPoint::nothing() }
}

/// How a pump on a panel alone spends a minute; if none of these, it stands and takes no current.
#[derive(Clone, Copy)]
struct PumpMode<V: Lane> {
    /// It turns for the whole minute.
    runs: V::Mask,
    /// It starts and stops again and again: the panel starts it but does not carry it.
    pulsing: V::Mask,
    /// It stands with its winding across the bus (brushed motors).
    stalled: V::Mask,
}

impl<V: Lane> PumpMode<V> {
    /// By the panel's curve. A pump that turned runs on; from rest it has to start first.
    #[inline(always)]
    fn of(inputs: &BusInputs<'_, V>) -> Self {
        let BusInputs { loads, pumps, pump, at, demand, .. } = *inputs;
        let none = V::Mask::splat(false);
        let s = loads.standby_s;
        let connected = demand.pump.gt(V::splat(0.0));
        let stop_a = s * pump.stop_v + pumps.at(pump, at, pump.stop_v).amps;
        let carries = inputs.can_supply(pump.stop_v, stop_a);
        match pumps.kind {
            PumpKind::Electronic => {
                let starts = inputs.can_supply(pump.start_v, s * pump.start_v) & connected;
                let runs = (demand.running & connected | starts) & carries;
                PumpMode { runs, pulsing: starts & !carries, stalled: none }
            }
            PumpKind::Brushed => {
                // At rest a brushed motor is its winding.
                let away_v = pump.break_away_a / pump.rest_s;
                let starts = inputs.can_supply(away_v, pump.break_away_a + s * away_v);
                let runs = connected & carries & (demand.running | starts);
                PumpMode { runs, pulsing: none, stalled: connected & !runs }
            }
        }
    }
}

/// Whether the bus holds the mount's lowest voltage with its motors turning: the share of the minute it moves, and whether it
/// wanted to move and could not.
#[inline(always)]
fn mount_motion<V: Lane>(inputs: &BusInputs<'_, V>, mode: &PumpMode<V>, fed_first: FedFirst) -> (V, V::Mask) {
    let BusInputs { loads, pumps, pump, at, demand, .. } = *inputs;
    let zero = V::splat(0.0);
    let wish = demand.motion.gt(zero);
    if !wish.any() {
        return (zero, V::Mask::splat(false));
    }
    let low = match fed_first {
        FedFirst::Pump => V::select(mode.pulsing, loads.lowest_v.max(pump.pulse_v), loads.lowest_v),
        FedFirst::Mount => loads.lowest_v,
    };
    let mut amps = loads.standby_s * low + loads.motor_a;
    let mut able = wish;
    if fed_first == FedFirst::Pump {
        let beside = V::only(mode.runs, pumps.at(pump, at, low).amps);
        amps = amps + beside + V::only(mode.stalled, pump.rest_s * low);
        // A pump that pulses lets the bus rise no higher than its own voltages.
        able = able & !(mode.pulsing & loads.lowest_v.gt(pump.pulse_v));
    }
    able = able & inputs.can_supply(low, amps);
    (V::only(able, demand.motion), wish & !able)
}

/// A bus on the panel alone: the pump starts, runs, pulses or stands; the mount moves if its voltage holds.
#[inline(always)]
pub(crate) fn on_panel<V: Lane>(inputs: &BusInputs<'_, V>, fed_first: FedFirst) -> OperatingPoint<V> {
    let BusInputs { loads, pumps, pump, at, demand, .. } = *inputs;
    let c = V::splat;
    let mode = PumpMode::of(inputs);
    let (moved, starved) = mount_motion(inputs, &mode, fed_first);
    let plugged = match fed_first {
        FedFirst::Pump => demand.pump,
        FedFirst::Mount => demand.pump.min(c(1.0) - moved),
    };
    let motor_a = loads.motor_a * moved;
    let run_share = V::only(mode.runs, plugged);
    let load = BusLoad {
        fixed_a: motor_a,
        ohmic_s: loads.standby_s + V::only(mode.stalled, pump.rest_s * plugged),
        pump_share: run_share,
        pump: Some((pumps, pump, at)),
    };
    let (bus_v, amps) = bus_voltage(inputs, mode.pulsing, &load);
    let standby_a = loads.standby_s * bus_v;
    let PumpPoint { amps: taken_a, jet_m, .. } = pumps.at(pump, at, bus_v);
    // Pulsing: what the panel has left over carries the pump for part of the time it is plugged in.
    let left_a = (amps - standby_a - motor_a).max(c(0.0)).min((amps - standby_a).max(c(0.0)) * plugged);
    let duty = V::select(mode.pulsing, hiccup_duty(left_a, taken_a), run_share);
    let pump_a = duty * taken_a + V::only(mode.stalled, pump.rest_s * plugged * bus_v);
    // The sum of the loads, not the panel's side of the root: so the energy account closes to rounding, and the solver's error
    // shows up in the panel's curve (see the tests).
    let panel_a = standby_a + motor_a + pump_a;
    let on = mode.runs | mode.pulsing;
    OperatingPoint {
        bus_v,
        panel_v: bus_v + inputs.drop_v,
        panel_a,
        fed_a: panel_a,
        pump_v: V::only(on, bus_v.min(pump.highest_v)),
        pump_a,
        jet_m,
        duty,
        motor_a,
        standby_a,
        moved,
        starved,
        running: mode.runs & bus_v.ge(pump.stop_v),
        ..OperatingPoint::nothing()
    }
}

/// Voltage of the bus under its loads, or held by a pump that pulses, V; and the panel's current, A.
#[inline(always)]
fn bus_voltage<V: Lane>(inputs: &BusInputs<'_, V>, pulsing: V::Mask, load: &BusLoad<'_, V>) -> (V, V) {
    let BusInputs { cells, drop_v, pump, demand, .. } = *inputs;
    let c = V::splat;
    let held_bound = pump.pulse_v + drop_v + cells.i_l * cells.r_s;
    let bound = V::select(pulsing, held_bound, c(1e9)).min(cells.open_bound());
    // Usually the light has changed little since the last minute; after a night the search starts from the bound.
    let lately_a = load.at(demand.last_v).0.min(cells.i_l);
    let first = (demand.last_v + drop_v + lately_a * cells.r_s).min(bound);
    let first = V::select(demand.last_v.gt(c(0.0)), first, bound);
    let target = Target::held_where(pulsing, pump.pulse_v);
    let (vd, amps) = solve_diode_voltage(cells, drop_v, target, (first, bound), load);
    let settled_v = (vd - amps * cells.r_s - drop_v).max(c(0.0));
    let clean = (V::select(pulsing, pump.pulse_v, settled_v), amps);
    let Some(string) = inputs.cover else { return clean };
    let (settled_v, amps) = covered_bus_v(string, drop_v, target, load);
    let settled_v = settled_v.max(c(0.0));
    let volts = V::select(pulsing, pump.pulse_v, settled_v);
    (V::select(string.any, volts, clean.0), V::select(string.any, amps, clean.1))
}
