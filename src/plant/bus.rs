//! Where panel, battery and loads meet: the operating point of one minute.
//!
//! The unknown is the panel's diode voltage V_d, from which current, bus voltage and loads follow without
//! another root search (see [`super::panel`]). For a bus held by a battery (or by a pump that pulses between two
//! voltages) and for one held by nothing the same function is solved:
//!
//! `F(V_d) = r (I_load(V) - I(V_d)) + w (V - v0)`, V = V_d - I R_s - drop
//!
//! with (r, w) = (R, 1) on a battery of rest voltage v0 and resistance R, (0, 1) at a held voltage, (1, 0)
//! for loads alone. F rises. On a battery it is convex as far as it matters, and Newton from above comes down without
//! overshoot. With loads alone a pump held at its highest voltage bends it the other way: there the root is kept
//! between two bounds, and a step that would leave them halves them instead. The number of steps is fixed, so that
//! lanes do not see one another.

use super::panel::Cells;
use super::pump::{PumpUnit, Pumps, hiccup_duty};
use super::rows::rows;
use crate::design::{Design, FedFirst, PumpKind};
use crate::lanes::{Lane, Mask};

/// Newton steps from the upper bound on a battery, and from where the last minute stood on loads alone.
const STEPS_BATTERY: usize = 3;
const STEPS_LOADS: usize = 9;

rows! {
    /// What hangs on the bus beside the pump.
    LoadRows / LoadUnit {
        /// Standby of electronics and sensor board on a battery, A.
        standby_a,
        /// The same on a panel alone: in proportion to the voltage, S.
        standby_s,
        /// Motors of the mount while they turn, A.
        motor_a,
        /// Voltage below which they stall, V.
        lowest_v,
    }
}

impl LoadUnit<f64> {
    /// From a drawn design. On a panel alone the standby draw is that of the label at the pump's last bench voltage.
    pub fn from_design(d: &Design<f64>) -> Self {
        let standby_a = d.electronics.standby_current_a + d.mount.standby_current_a;
        let rated_v = d.pump.bench.last().map_or(1.0, |p| p.voltage_v.max(0.1));
        LoadUnit {
            standby_a,
            standby_s: standby_a / rated_v,
            motor_a: d.mount.motor_current_a,
            lowest_v: d.mount.lowest_voltage_v,
        }
    }
}

/// The electrical side of one minute, as means over the minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point<V: Lane> {
    /// Voltage of bus (battery terminal), V.
    pub bus_v: V,
    /// Panel terminal voltage, V, and current, A.
    pub panel_v: V,
    pub panel_a: V,
    /// Current into the charger's output (the panel's own without a converter), A.
    pub fed_a: V,
    /// Lost in the converter, W.
    pub converter_w: V,
    /// Voltage at the pump while it runs, V; its current over the whole minute, A.
    pub pump_v: V,
    pub pump_a: V,
    /// Share of the minute the pump runs.
    pub duty: V,
    /// Motors' and standby current, A.
    pub motor_a: V,
    pub standby_a: V,
    /// Into the battery (negative: out), A.
    pub charge_a: V,
    /// Charge that panel and charger could have given and the battery refused: held at the charge voltage, full, or frozen; A.
    pub spilled_a: V,
    /// Share of the minute the mount moved.
    pub moved: V,
    /// Wanted to move and could not.
    pub starved: V::Mask,
    /// The pump turns at the end of the minute.
    pub running: V::Mask,
}

impl Point<f64> {
    /// A battery that is charged, with nothing else on the bus.
    pub fn charging(bus_v: f64, amps: f64) -> Self {
        Point {
            bus_v,
            panel_v: bus_v,
            panel_a: amps,
            fed_a: amps,
            converter_w: 0.0,
            pump_v: 0.0,
            pump_a: 0.0,
            duty: 0.0,
            motor_a: 0.0,
            standby_a: 0.0,
            charge_a: amps,
            spilled_a: 0.0,
            moved: 0.0,
            starved: false,
            running: false,
        }
    }
}

/// All that is drawn from a bus, over its voltage.
pub(crate) struct Draw<'a, V> {
    /// Whatever the voltage, A.
    pub fixed: V,
    /// In proportion to it, S.
    pub ohmic: V,
    /// Share of the minute the pump runs.
    pub share: V,
    /// The pump.
    pub pump: Option<(&'a Pumps, &'a PumpUnit<V>, usize)>,
}

impl<V: Lane> Draw<'_, V> {
    /// An open circuit.
    pub fn nothing() -> Self {
        let zero = V::splat(0.0);
        Draw { fixed: zero, ohmic: zero, share: zero, pump: None }
    }

    /// Current and its slope.
    #[inline(always)]
    fn at(&self, volts: V) -> (V, V) {
        let (i, di) = match self.pump {
            Some((pumps, unit, at)) => pumps.draw(unit, at, volts),
            None => (V::splat(0.0), V::splat(0.0)),
        };
        (self.fixed + self.ohmic * volts.max(V::splat(0.0)) + self.share * i, self.ohmic + self.share * di)
    }
}

/// Solves F from `first` on; `bound` is an upper bound. Gives V_d and I. With `DIODE` nothing flows back into the
/// panel; without, the root is kept between 0 and `bound`.
#[inline(always)]
pub(crate) fn meet<V: Lane, const STEPS: usize, const DIODE: bool>(
    cells: &Cells<V>,
    drop: V,
    (r, w, v0): (V, V, V),
    (first, bound): (V, V),
    load: &Draw<'_, V>,
) -> (V, V) {
    let c = V::splat;
    let mut vd = first;
    let (mut low, mut high) = (c(0.0), bound);
    let mut amps = c(0.0);
    for _ in 0..STEPS {
        let (mut i, mut slope) = cells.current(vd);
        if DIODE {
            // The blocking diode lets nothing back.
            let back = i.lt(c(0.0));
            slope = V::select(back, c(0.0), slope);
            i = i.max(c(0.0));
        }
        let v = vd - i * cells.r_s - drop;
        let (taken, taken_slope) = load.at(v);
        let dv = c(1.0) + slope * cells.r_s;
        let f = r * (taken - i) + w * (v - v0);
        let df = r * (taken_slope * dv + slope) + w * dv;
        let mut step = f / df.max(c(1e-9));
        if !DIODE {
            let above = f.ge(c(0.0));
            high = V::select(above, vd, high);
            low = V::select(above, low, vd);
            let next = vd - step;
            let stays = next.ge(low) & next.le(high);
            step = V::select(stays, step, vd - c(0.5) * (low + high));
        }
        vd = vd - step;
        // The current moves along its tangent; the last step is too small for its bend.
        amps = i + slope * step;
    }
    (vd, if DIODE { amps.max(c(0.0)) } else { amps })
}

/// What a battery is in this minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Source<V: Lane> {
    /// Rest voltage at the start of the minute, V.
    pub rest_v: V,
    /// Resistance, ohm, with half the minute's rise of the rest voltage in it: then V is that of mid-minute.
    pub ohm: V,
    /// Largest current it may be charged with, A.
    pub limit_a: V,
    /// The same were it empty and warm: what charger and chemistry let through, A.
    pub rate_a: V,
}

/// What is wanted of the bus in this minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wants<V: Lane> {
    /// Share of the minute the pump is switched on.
    pub pump: V,
    /// Share of the minute the mount would move.
    pub motion: V,
    /// The pump turned at the end of the last minute.
    pub running: V::Mask,
    /// Bus voltage of the last minute, V.
    pub last_v: V,
    /// The bus has anything to give at all (an empty battery's protection has not opened).
    pub alive: V::Mask,
}

/// What hangs on one bus in this minute.
#[derive(Clone, Copy)]
pub(crate) struct Wired<'a, V: Lane> {
    /// The panel under its light, and the drop of its blocking diode, V.
    pub cells: &'a Cells<V>,
    pub drop: V,
    /// Standby and motors.
    pub loads: &'a LoadUnit<V>,
    /// The pumps of the block, this lane group's, and where it stands in the block.
    pub pumps: &'a Pumps,
    pub pump: &'a PumpUnit<V>,
    pub at: usize,
    /// What is wanted.
    pub wants: &'a Wants<V>,
}

/// A bus on a battery, fed through a blocking diode (direct or PWM).
#[inline(always)]
pub(crate) fn on_battery<V: Lane>(wired: &Wired<'_, V>, source: &Source<V>) -> Point<V> {
    let Wired { cells, drop, loads, pumps, pump, at, wants } = *wired;
    let c = V::splat;
    let fixed = fixed_draw(loads, wants);
    let load = Draw { fixed, ohmic: c(0.0), share: wants.pump, pump: Some((pumps, pump, at)) };
    let start = source.rest_v + drop + cells.i_l * cells.r_s;
    let (vd, fed) = meet::<V, STEPS_BATTERY, true>(
        cells,
        drop,
        (source.ohm, c(1.0), source.rest_v),
        (start, start),
        &load,
    );
    let bus_v = V::select(fed.gt(c(0.0)), vd - fed * cells.r_s - drop, vd - drop);
    limited(bus_v, fed, wired, source)
}

/// A bus on a battery, fed by a converter that holds the panel at its maximum power point.
#[inline(always)]
pub(crate) fn on_battery_mppt<V: Lane>(wired: &Wired<'_, V>, efficiency: V, source: &Source<V>) -> Point<V> {
    let Wired { cells, drop, loads, pumps, pump, at, wants } = *wired;
    let c = V::splat;
    let (panel_v, panel_a) = cells.max_power(drop);
    let watts = efficiency * ((panel_v - drop) * panel_a).max(c(0.0));
    let fixed = fixed_draw(loads, wants);
    // V = v0 + R (P/V - I_load(V)): nearly a straight line.
    let mut v = source.rest_v;
    for _ in 0..4 {
        let (i, di) = pumps.draw(pump, at, v);
        let inverse = c(1.0) / v.max(c(0.1));
        let fed = watts * inverse;
        let f = source.ohm * (fixed + wants.pump * i - fed) + (v - source.rest_v);
        let df = source.ohm * (wants.pump * di + fed * inverse) + c(1.0);
        v = v - f / df;
    }
    let fed = watts / v.max(c(0.1));
    let mut p = limited(v, fed, wired, source);
    // What the converter takes from the panel: all, or what it may pass on.
    let out = p.fed_a * p.bus_v;
    let part = V::select(watts.gt(c(0.0)), out / watts.max(c(1e-12)), c(0.0));
    p.panel_v = panel_v;
    p.panel_a = panel_a * part;
    p.converter_w = (panel_v - drop) * p.panel_a - out;
    p
}

/// A bus on a battery in the dark: the blocking diode, or the converter, lets nothing back into the panel.
#[inline(always)]
pub(crate) fn on_battery_dark<V: Lane>(wired: &Wired<'_, V>, source: &Source<V>) -> Point<V> {
    let Wired { loads, pumps, pump, at, wants, .. } = *wired;
    let fixed = fixed_draw(loads, wants);
    let mut v = source.rest_v;
    for _ in 0..STEPS_BATTERY {
        let (i, di) = pumps.draw(pump, at, v);
        let f = source.ohm * (fixed + wants.pump * i) + (v - source.rest_v);
        v = v - f / (source.ohm * (wants.pump * di) + V::splat(1.0));
    }
    limited(v, V::splat(0.0), wired, source)
}

#[inline(always)]
fn fixed_draw<V: Lane>(loads: &LoadUnit<V>, wants: &Wants<V>) -> V {
    V::select(wants.alive, loads.standby_a + loads.motor_a * wants.motion, V::splat(0.0))
}

/// Holds the battery to its charging limit: what it may not take, the panel is not asked for.
#[inline(always)]
fn limited<V: Lane>(bus_v: V, fed: V, wired: &Wired<'_, V>, source: &Source<V>) -> Point<V> {
    let Wired { drop, loads, pumps, pump, at, wants, .. } = *wired;
    let c = V::splat;
    let fixed = fixed_draw(loads, wants);
    let pump_a = wants.pump * pumps.draw(pump, at, bus_v).0;
    let charge = fed - fixed - pump_a;
    let over = charge.gt(source.limit_a);
    let (mut bus_v, mut fed, mut pump_a, mut charge_a, mut spilled) = (bus_v, fed, pump_a, charge, c(0.0));
    if over.any() {
        let held_v = source.rest_v + source.ohm * source.limit_a;
        let held_a = wants.pump * pumps.draw(pump, at, held_v).0;
        bus_v = V::select(over, held_v, bus_v);
        pump_a = V::select(over, held_a, pump_a);
        charge_a = V::select(over, source.limit_a, charge_a);
        fed = V::select(over, source.limit_a + fixed + held_a, fed);
        // What the charger would not have passed on anyway is not refused by the battery.
        spilled = V::select(over, (charge.min(source.rate_a) - source.limit_a).max(c(0.0)), c(0.0));
    }
    Point {
        bus_v,
        panel_v: bus_v + drop,
        panel_a: fed,
        fed_a: fed,
        converter_w: c(0.0),
        pump_v: V::select(wants.pump.gt(c(0.0)), bus_v.min(pump.highest_v), c(0.0)),
        pump_a,
        duty: wants.pump,
        motor_a: V::select(wants.alive, loads.motor_a * wants.motion, c(0.0)),
        standby_a: V::select(wants.alive, loads.standby_a, c(0.0)),
        charge_a,
        spilled_a: spilled,
        moved: wants.motion,
        starved: V::Mask::splat(false),
        running: wants.pump.gt(c(0.0)),
    }
}

/// A bus on the panel alone in the dark: nothing runs, and a mount that would move is starved.
#[inline(always)]
pub(crate) fn on_panel_dark<V: Lane>(drop: V, wants: &Wants<V>) -> Point<V> {
    let zero = V::splat(0.0);
    Point {
        bus_v: zero,
        panel_v: drop,
        panel_a: zero,
        fed_a: zero,
        converter_w: zero,
        pump_v: zero,
        pump_a: zero,
        duty: zero,
        motor_a: zero,
        standby_a: zero,
        charge_a: zero,
        spilled_a: zero,
        moved: zero,
        starved: wants.motion.gt(zero),
        running: V::Mask::splat(false),
    }
}

/// A bus on the panel alone: the pump starts, runs, pulses or stands; the mount moves if its voltage holds.
#[inline(always)]
pub(crate) fn on_panel<V: Lane>(wired: &Wired<'_, V>, fed_first: FedFirst) -> Point<V> {
    let Wired { cells, drop, loads, pumps, pump, at, wants } = *wired;
    let c = V::splat;
    let nowhere = V::Mask::splat(false);
    let s = loads.standby_s;
    let connected = wants.pump.gt(c(0.0));
    let carries = cells.reaches(pump.stop_v + drop, s * pump.stop_v + pumps.draw(pump, at, pump.stop_v).0);
    // Runs on if it turned; from rest it has to start first. At rest a brushed motor is its winding.
    let (runs, pulsing, stalled) = match pumps.kind {
        PumpKind::Electronic => {
            let starts = cells.reaches(pump.start_v + drop, s * pump.start_v) & connected;
            let runs = (wants.running & connected | starts) & carries;
            (runs, starts & !carries, nowhere)
        }
        PumpKind::Brushed => {
            let away_v = pump.break_away_a / pump.rest_s;
            let starts = cells.reaches(away_v + drop, pump.break_away_a + s * away_v);
            let runs = connected & carries & (wants.running | starts);
            (runs, nowhere, connected & !runs)
        }
    };
    // Does the bus hold the mount's lowest voltage with its motors turning?
    let wish = wants.motion.gt(c(0.0));
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
            let beside = V::select(runs, pumps.draw(pump, at, low).0, c(0.0));
            amps = amps + beside + V::select(stalled, pump.rest_s * low, c(0.0));
            // A pump that pulses lets the bus rise no higher than its own voltages.
            able = able & !(pulsing & loads.lowest_v.gt(pump.pulse_v));
        }
        able = able & cells.reaches(low + drop, amps);
        moved = V::select(able, wants.motion, c(0.0));
        starved = wish & !able;
    }
    let plugged = match fed_first {
        FedFirst::Pump => wants.pump,
        FedFirst::Mount => wants.pump.min(c(1.0) - moved),
    };
    let motor_a = loads.motor_a * moved;
    let run_share = V::select(runs, plugged, c(0.0));
    let rest_s = s + V::select(stalled, pump.rest_s * plugged, c(0.0));
    let load = Draw { fixed: motor_a, ohmic: rest_s, share: run_share, pump: Some((pumps, pump, at)) };
    let held = V::one_if(pulsing);
    let bound =
        V::select(pulsing, pump.pulse_v + drop + cells.i_l * cells.r_s, c(1e9)).min(cells.open_bound());
    // Mostly the light has changed little; after a night nothing is known.
    let lately = load.at(wants.last_v).0.min(cells.i_l);
    let first = (wants.last_v + drop + lately * cells.r_s).min(bound);
    let first = V::select(wants.last_v.gt(c(0.0)), first, bound);
    let (vd, amps) = meet::<V, STEPS_LOADS, false>(
        cells,
        drop,
        (c(1.0) - held, held, pump.pulse_v),
        (first, bound),
        &load,
    );
    let bus_v = V::select(pulsing, pump.pulse_v, (vd - amps * cells.r_s - drop).max(c(0.0)));
    let standby_a = s * bus_v;
    let taken = pumps.draw(pump, at, bus_v).0;
    // Pulsing: what the panel has left over carries the pump for part of the time it is plugged in.
    let left = (amps - standby_a - motor_a).max(c(0.0)).min((amps - standby_a).max(c(0.0)) * plugged);
    let duty = V::select(pulsing, hiccup_duty(left, taken), run_share);
    let pump_a = duty * taken + V::select(stalled, pump.rest_s * plugged * bus_v, c(0.0));
    // What the loads take, not the panel's side of the root: the account then closes to rounding, and what the
    // root is off by (see the tests) stays on the panel's curve.
    let panel_a = standby_a + motor_a + pump_a;
    let on = runs | pulsing;
    Point {
        bus_v,
        panel_v: bus_v + drop,
        panel_a,
        fed_a: panel_a,
        converter_w: c(0.0),
        pump_v: V::select(on, bus_v.min(pump.highest_v), c(0.0)),
        pump_a,
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
