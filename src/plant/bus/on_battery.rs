//! A bus held by a battery: where panel, loads and battery meet.
//!
//! The battery is a rest voltage v0 behind a resistance R. With the pump's current as a tangent, battery and loads are a
//! straight line over the panel's current, V = E + R' I, on which the panel's diode voltage (see [`panel`](crate::plant::panel)) solves
//!
//! `f(V_d) = V_d - (E + drop_v) - (R' + R_s) I(V_d) = 0`
//!
//! f rises and is convex, and its second slope costs nothing beside the first, for both hold the same exponential: Halley's step.
//! The pump is then asked once more at the voltage found, and the battery's voltage is what its own line says of the current
//! it gets. So the account closes to rounding, and what the root is off by stays on the curves of panel and pump: a test states
//! it for 0.005 to 300 ohm (the largest allowed, at -20 °C). A lane that has arrived stays as it is while its neighbours go on:
//! lanes must not see one another.

use super::point::{BatteryPort, BusDemand, BusInputs, LoadUnit, OperatingPoint};
use crate::lanes::{Lane, Mask, math};
use crate::plant::panel::{Cells, IvPoint};
use crate::plant::pump::PumpPoint;

/// Most Halley steps from the upper bound. Mostly one does.
const STEPS: usize = 40;
/// A step over which the curve bends by less than this is the last, V: Halley's error goes with a power more.
const ARRIVED_V: f64 = 1e-4;
/// Most tangents of the pump's current. Mostly one does.
const TANGENTS: usize = 40;
/// Tangents that are followed wherever they lead.
const FREE: usize = 2;
/// Battery and bus may differ by this before another is laid, V.
const TANGENT_V: f64 = 1e-4;

/// Battery and loads as the panel meets them.
#[derive(Clone, Copy, Debug)]
struct LoadLine<V> {
    /// Bus voltage without the panel, V.
    open_v: V,
    /// Its rise for each ampere of the panel, ohm.
    ohm: V,
}

/// Slope of a pump's tangent, S; level where a bench curve falls, for the bounds of the search rest on none that does.
#[inline(always)]
fn rising<V: Lane>(p: &PumpPoint<V>) -> V {
    p.slope_s.max(V::splat(0.0))
}

impl<V: Lane> LoadLine<V> {
    /// With the pump's tangent at a bus voltage.
    #[inline(always)]
    fn at(volts: V, p: &PumpPoint<V>, inputs: &BusInputs<'_, V>, port: &BatteryPort<V>) -> Self {
        let BusInputs { loads, demand, .. } = *inputs;
        let drawn = fixed_draw(loads, demand) + demand.pump * (p.amps - rising(p) * volts);
        let slope = demand.pump * rising(p);
        let share = V::splat(1.0) / (V::splat(1.0) + port.ohm * slope);
        LoadLine { open_v: share * (port.rest_v - port.ohm * drawn), ohm: share * port.ohm }
    }

    /// Current of a panel behind a diode of fixed drop that lets nothing back, A.
    #[inline(always)]
    fn fed_by(&self, cells: &Cells<V>, drop_v: V) -> V {
        let c = V::splat;
        let (zero, two) = (c(0.0), c(2.0));
        let end = self.open_v + drop_v;
        let ohm = self.ohm + cells.r_s;
        // No current exceeds the light current: an upper bound, and near the root on the flat of the curve.
        let mut vd = end + ohm * cells.i_l;
        let mut bent = cells.with_derivatives(vd);
        let mut open = V::Mask::splat(true);
        let beyond = bent.amps.lt(zero);
        if beyond.any() {
            // Beyond the open circuit: back to where the diode alone takes the light current, as far as the line goes. If it
            // ends there, nothing flows.
            let alone = math::ln_fast((cells.i_l / cells.i_o).max(c(V::SMALLEST))) / cells.per_a;
            vd = V::select(beyond, alone.max(end), vd);
            open = !(beyond & vd.le(end));
            if !open.any() {
                return zero;
            }
            if (beyond & open).any() {
                bent = cells.with_derivatives(vd);
            }
        }
        let mut amps = zero;
        for _ in 0..STEPS {
            let IvPoint { amps: i, slope_s: slope, bend_a_v2: bend, .. } = bent;
            let f = vd - end - ohm * i;
            let df = c(1.0) + ohm * slope;
            let square = df * df;
            let move_v = two * f * df / (two * square - f * (ohm * bend)).max(square);
            vd = V::select(open, vd - move_v, vd);
            // The current moves along its parabola; the last step is too small for more.
            amps = V::select(open, i + move_v * (slope - c(0.5) * bend * move_v), amps);
            open = open & (ohm * bend * (move_v * move_v)).ge(c(ARRIVED_V));
            if !open.any() {
                break;
            }
            bent = cells.with_derivatives(vd);
        }
        amps.max(zero)
    }
}

/// Finds where a bus settles whose panel gives `fed` amperes on a line. The pump's tangent is laid at the rest voltage, and
/// again where the bus came out if pump and tangent differ there. A pump takes the more the higher the voltage, so the bus comes
/// out above a voltage tried exactly if it settles above it: from the third tangent on that bounds it, and one that leads out of
/// the bounds (across a knot of the bench curve, or the hold at the highest voltage) gives way to their middle.
#[inline(always)]
fn operating_point<V: Lane>(
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
    fed: impl PanelFeed<V>,
) -> OperatingPoint<V> {
    let BusInputs { pumps, pump, at, demand, .. } = *inputs;
    let c = V::splat;
    let zero = c(0.0);
    let fixed = fixed_draw(inputs.loads, demand);
    if !demand.pump.gt(zero).any() {
        let line = LoadLine { open_v: port.rest_v - port.ohm * fixed, ohm: port.ohm };
        return finish_point(fed.on(&line), (zero, zero), inputs, port, fed);
    }
    let full_v = port.rest_v + port.ohm * port.limit_a;
    let mut open = V::Mask::splat(true);
    let (mut amps, mut volts) = (zero, port.rest_v);
    let mut p = PumpPoint { amps: zero, slope_s: zero, jet_m: zero };
    let (mut low, mut high) = (zero, zero);
    for tangent in 0..TANGENTS {
        // Asked anew rather than kept from below: mostly there is but one tangent, and its slope is all that is wanted there.
        let line = LoadLine::at(volts, &pumps.at(pump, at, volts), inputs, port);
        amps = V::select(open, fed.on(&line), amps);
        let came_out = (line.open_v + line.ohm * amps).min(full_v);
        let mut tried = came_out;
        let mut astray = V::Mask::splat(false);
        if tangent >= FREE {
            if tangent == FREE {
                // A volt beyond the farthest: it may settle there.
                low = (port.rest_v - port.ohm * fixed).min(zero) - c(1.0);
                high = full_v + c(1.0);
            }
            let (above, below) = (came_out.gt(volts), came_out.lt(volts));
            (low, high) = (V::select(above, volts.max(low), low), V::select(above, high, volts.min(high)));
            astray = (above | below) & (came_out.le(low) | came_out.ge(high));
            tried = V::select(astray, c(0.5) * (low + high), came_out);
        }
        volts = V::select(open, tried, volts);
        p = pumps.at(pump, at, volts);
        // What the battery's own line says of the current it gets.
        let charge = (amps - fixed - demand.pump * p.amps).min(port.limit_a);
        let off = port.rest_v + port.ohm * charge - volts;
        // No nearer than the voltage across the resistance is told.
        let told = c(4.0 * V::EPSILON) * port.ohm * (amps + demand.pump * p.amps);
        open = open & (astray | off.abs().ge(c(TANGENT_V) + told));
        if !open.any() {
            break;
        }
    }
    finish_point(amps, (demand.pump * p.amps, p.jet_m), inputs, port, fed)
}

/// What a panel gives, A. A trait and no closure: one that is not inlined would leave the vectors' instruction set.
trait PanelFeed<V: Lane> {
    /// On a line.
    fn on(&self, line: &LoadLine<V>) -> V;
    /// At a bus voltage, V, given what it gives, A, at one not below it: see [`Cells::current_refined`].
    fn held_at(&self, volts: V, amps: V) -> V;
}

/// Through a blocking diode.
struct DiodeFeed<'a, V> {
    cells: &'a Cells<V>,
    drop_v: V,
}

impl<V: Lane> PanelFeed<V> for DiodeFeed<'_, V> {
    #[inline(always)]
    fn on(&self, line: &LoadLine<V>) -> V {
        line.fed_by(self.cells, self.drop_v)
    }
    #[inline(always)]
    fn held_at(&self, volts: V, amps: V) -> V {
        self.cells.current_refined(volts + self.drop_v, amps)
    }
}

/// Through a converter that passes on this power, W.
struct ConverterFeed<V> {
    watts: V,
}

impl<V: Lane> PanelFeed<V> for ConverterFeed<V> {
    #[inline(always)]
    fn on(&self, line: &LoadLine<V>) -> V {
        // V = E + R' P/V, a square.
        let half = V::splat(0.5) * line.open_v;
        let volts = half + (half * half + line.ohm * self.watts).max(V::splat(0.0)).sqrt();
        self.watts / volts.max(V::splat(0.1))
    }
    #[inline(always)]
    fn held_at(&self, volts: V, _: V) -> V {
        self.watts / volts.max(V::splat(0.1))
    }
}

/// Not at all: in the dark.
struct NoFeed;

impl<V: Lane> PanelFeed<V> for NoFeed {
    #[inline(always)]
    fn on(&self, _: &LoadLine<V>) -> V {
        V::splat(0.0)
    }
    #[inline(always)]
    fn held_at(&self, _: V, _: V) -> V {
        V::splat(0.0)
    }
}

/// Fed through a blocking diode (direct or PWM).
#[inline(always)]
pub(crate) fn on_battery<V: Lane>(inputs: &BusInputs<'_, V>, port: &BatteryPort<V>) -> OperatingPoint<V> {
    operating_point(inputs, port, DiodeFeed { cells: inputs.cells, drop_v: inputs.drop_v })
}

/// Fed by a converter that holds the panel at its maximum power point.
#[inline(always)]
pub(crate) fn on_battery_mppt<V: Lane>(
    inputs: &BusInputs<'_, V>,
    efficiency: V,
    port: &BatteryPort<V>,
) -> OperatingPoint<V> {
    let BusInputs { cells, drop_v, .. } = *inputs;
    let c = V::splat;
    let (panel_v, panel_a) = cells.max_power(drop_v);
    let watts = efficiency * ((panel_v - drop_v) * panel_a).max(c(0.0));
    let mut p = operating_point(inputs, port, ConverterFeed { watts });
    // What the converter takes from the panel: all, or what it may pass on.
    let out = p.fed_a * p.bus_v;
    let part = V::only(watts.gt(c(0.0)), out / watts.max(c(1e-12)));
    p.panel_v = panel_v;
    p.panel_a = panel_a * part;
    p.converter_w = (panel_v - drop_v) * p.panel_a - out;
    p
}

/// In the dark: the blocking diode, or the converter, lets nothing back into the panel.
#[inline(always)]
pub(crate) fn on_battery_dark<V: Lane>(
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
) -> OperatingPoint<V> {
    operating_point(inputs, port, NoFeed)
}

#[inline(always)]
fn fixed_draw<V: Lane>(loads: &LoadUnit<V>, demand: &BusDemand<V>) -> V {
    V::only(demand.alive, loads.standby_a + loads.motor_a * demand.motion)
}

/// The minute with these currents of panel and pump, A, and this jet, m, as far as the battery may take it: what it may
/// not, the panel is not asked for.
#[inline(always)]
fn finish_point<V: Lane>(
    amps: V,
    (pump_a, jet_m): (V, V),
    inputs: &BusInputs<'_, V>,
    port: &BatteryPort<V>,
    fed: impl PanelFeed<V>,
) -> OperatingPoint<V> {
    let BusInputs { drop_v, loads, pump, demand, .. } = *inputs;
    let zero = V::splat(0.0);
    let on = demand.pump.gt(zero);
    let fixed = fixed_draw(loads, demand);
    let charge = amps - fixed - pump_a;
    let over = charge.gt(port.limit_a);
    let charge_a = charge.min(port.limit_a);
    let bus_v = port.rest_v + port.ohm * charge_a;
    let fed_a = V::select(over, port.limit_a + fixed + pump_a, amps);
    let mut spilled_a = zero;
    if over.any() {
        // At the voltage it is held at the panel could give this. What the charger would not have passed on anyway is not
        // refused by the battery.
        let could = (fed.held_at(bus_v, amps) - fixed - pump_a).min(port.rate_a);
        spilled_a = V::only(over, (could - port.limit_a).max(zero));
    }
    OperatingPoint {
        bus_v,
        panel_v: bus_v + drop_v,
        panel_a: fed_a,
        fed_a,
        pump_v: V::only(on, bus_v.min(pump.highest_v)),
        pump_a,
        jet_m,
        duty: demand.pump,
        motor_a: V::only(demand.alive, loads.motor_a * demand.motion),
        standby_a: V::only(demand.alive, loads.standby_a),
        charge_a,
        spilled_a,
        moved: demand.motion,
        running: on,
        ..OperatingPoint::nothing()
    }
}
