//! A bus held by a battery: where panel, loads and battery meet.
//!
//! The battery is a rest voltage v0 behind a resistance R. With the pump's current as a tangent, battery and loads are a
//! straight line over the panel's current, V = E + R' I, on which the panel's diode voltage (see [`super::panel`]) solves
//!
//! `f(V_d) = V_d - (E + drop) - (R' + R_s) I(V_d) = 0`
//!
//! f rises and is convex, and its second slope costs nothing beside the first, for both hold the same exponential: Halley's step.
//! The pump is then asked once more at the voltage found, and the battery's voltage is what its own line says of the current
//! it gets. So the account closes to rounding, and what the root is off by stays on the curves of panel and pump: a test states
//! it for 0.005 to 300 ohm (the largest allowed, at -20 °C). A lane that has arrived stays as it is while its neighbours go on:
//! lanes must not see one another.

use super::bus::{LoadUnit, Point, Source, Wants, Wired};
use super::panel::{Bent, Cells};
use super::pump::Running;
use crate::lanes::{Lane, Mask, math};

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
struct Line<V> {
    /// Bus voltage without the panel, V.
    open_v: V,
    /// Its rise for each ampere of the panel, ohm.
    ohm: V,
}

/// Slope of a pump's tangent, S; level where a bench curve falls, for the bounds of the search rest on none that does.
#[inline(always)]
fn rising<V: Lane>(p: &Running<V>) -> V {
    p.slope.max(V::splat(0.0))
}

impl<V: Lane> Line<V> {
    /// With the pump's tangent at a bus voltage.
    #[inline(always)]
    fn at(volts: V, p: &Running<V>, wired: &Wired<'_, V>, source: &Source<V>) -> Self {
        let Wired { loads, wants, .. } = *wired;
        let drawn = fixed_draw(loads, wants) + wants.pump * (p.amps - rising(p) * volts);
        let slope = wants.pump * rising(p);
        let share = V::splat(1.0) / (V::splat(1.0) + source.ohm * slope);
        Line { open_v: share * (source.rest_v - source.ohm * drawn), ohm: share * source.ohm }
    }

    /// Current of a panel behind a diode of fixed drop that lets nothing back, A.
    #[inline(always)]
    fn fed_by(&self, cells: &Cells<V>, drop: V) -> V {
        let c = V::splat;
        let (zero, two) = (c(0.0), c(2.0));
        let end = self.open_v + drop;
        let ohm = self.ohm + cells.r_s;
        // No current exceeds the light current: an upper bound, and near the root on the flat of the curve.
        let mut vd = end + ohm * cells.i_l;
        let mut bent = cells.bent(vd);
        let mut open = V::Mask::splat(true);
        let beyond = bent.amps.lt(zero);
        if beyond.any() {
            // Beyond the open circuit: back to where the diode alone takes the light current, as far as the line goes. If it
            // ends there, nothing flows.
            let alone = math::ln_brief((cells.i_l / cells.i_o).max(c(V::SMALLEST))) / cells.per_a;
            vd = V::select(beyond, alone.max(end), vd);
            open = !(beyond & vd.le(end));
            if !open.any() {
                return zero;
            }
            if (beyond & open).any() {
                bent = cells.bent(vd);
            }
        }
        let mut amps = zero;
        for _ in 0..STEPS {
            let Bent { amps: i, slope, bend, .. } = bent;
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
            bent = cells.bent(vd);
        }
        amps.max(zero)
    }
}

/// Finds where a bus settles whose panel gives `fed` amperes on a line. The pump's tangent is laid at the rest voltage, and
/// again where the bus came out if pump and tangent differ there. A pump takes the more the higher the voltage, so the bus comes
/// out above a voltage tried exactly if it settles above it: from the third tangent on that bounds it, and one that leads out of
/// the bounds (across a knot of the bench curve, or the hold at the highest voltage) gives way to their middle.
#[inline(always)]
fn operating_point<V: Lane>(wired: &Wired<'_, V>, source: &Source<V>, fed: impl Fed<V>) -> Point<V> {
    let Wired { pumps, pump, at, wants, .. } = *wired;
    let c = V::splat;
    let zero = c(0.0);
    let fixed = fixed_draw(wired.loads, wants);
    if !wants.pump.gt(zero).any() {
        let line = Line { open_v: source.rest_v - source.ohm * fixed, ohm: source.ohm };
        return settled(fed.on(&line), (zero, zero), wired, source, fed);
    }
    let full_v = source.rest_v + source.ohm * source.limit_a;
    let mut open = V::Mask::splat(true);
    let (mut amps, mut volts) = (zero, source.rest_v);
    let mut p = Running { amps: zero, slope: zero, jet_m: zero };
    let (mut low, mut high) = (zero, zero);
    for tangent in 0..TANGENTS {
        // Asked anew rather than kept from below: mostly there is but one tangent, and its slope is all that is wanted there.
        let line = Line::at(volts, &pumps.at(pump, at, volts), wired, source);
        amps = V::select(open, fed.on(&line), amps);
        let came_out = (line.open_v + line.ohm * amps).min(full_v);
        let mut tried = came_out;
        let mut astray = V::Mask::splat(false);
        if tangent >= FREE {
            if tangent == FREE {
                // A volt beyond the farthest: it may settle there.
                low = (source.rest_v - source.ohm * fixed).min(zero) - c(1.0);
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
        let charge = (amps - fixed - wants.pump * p.amps).min(source.limit_a);
        let off = source.rest_v + source.ohm * charge - volts;
        // No nearer than the voltage across the resistance is told.
        let told = c(4.0 * V::EPSILON) * source.ohm * (amps + wants.pump * p.amps);
        open = open & (astray | off.abs().ge(c(TANGENT_V) + told));
        if !open.any() {
            break;
        }
    }
    settled(amps, (wants.pump * p.amps, p.jet_m), wired, source, fed)
}

/// What a panel gives, A. A trait and no closure: one that is not inlined would leave the vectors' instruction set.
trait Fed<V: Lane> {
    /// On a line.
    fn on(&self, line: &Line<V>) -> V;
    /// At a bus voltage, V, given what it gives, A, at one not below it: see [`Cells::near`].
    fn held_at(&self, volts: V, amps: V) -> V;
}

/// Through a blocking diode.
struct Diode<'a, V> {
    cells: &'a Cells<V>,
    drop: V,
}

impl<V: Lane> Fed<V> for Diode<'_, V> {
    #[inline(always)]
    fn on(&self, line: &Line<V>) -> V {
        line.fed_by(self.cells, self.drop)
    }
    #[inline(always)]
    fn held_at(&self, volts: V, amps: V) -> V {
        self.cells.near(volts + self.drop, amps)
    }
}

/// Through a converter that passes on this power, W.
struct Converter<V> {
    watts: V,
}

impl<V: Lane> Fed<V> for Converter<V> {
    #[inline(always)]
    fn on(&self, line: &Line<V>) -> V {
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
struct Nothing;

impl<V: Lane> Fed<V> for Nothing {
    #[inline(always)]
    fn on(&self, _: &Line<V>) -> V {
        V::splat(0.0)
    }
    #[inline(always)]
    fn held_at(&self, _: V, _: V) -> V {
        V::splat(0.0)
    }
}

/// Fed through a blocking diode (direct or PWM).
#[inline(always)]
pub(crate) fn on_battery<V: Lane>(wired: &Wired<'_, V>, source: &Source<V>) -> Point<V> {
    operating_point(wired, source, Diode { cells: wired.cells, drop: wired.drop })
}

/// Fed by a converter that holds the panel at its maximum power point.
#[inline(always)]
pub(crate) fn on_battery_mppt<V: Lane>(wired: &Wired<'_, V>, efficiency: V, source: &Source<V>) -> Point<V> {
    let Wired { cells, drop, .. } = *wired;
    let c = V::splat;
    let (panel_v, panel_a) = cells.max_power(drop);
    let watts = efficiency * ((panel_v - drop) * panel_a).max(c(0.0));
    let mut p = operating_point(wired, source, Converter { watts });
    // What the converter takes from the panel: all, or what it may pass on.
    let out = p.fed_a * p.bus_v;
    let part = V::only(watts.gt(c(0.0)), out / watts.max(c(1e-12)));
    p.panel_v = panel_v;
    p.panel_a = panel_a * part;
    p.converter_w = (panel_v - drop) * p.panel_a - out;
    p
}

/// In the dark: the blocking diode, or the converter, lets nothing back into the panel.
#[inline(always)]
pub(crate) fn on_battery_dark<V: Lane>(wired: &Wired<'_, V>, source: &Source<V>) -> Point<V> {
    operating_point(wired, source, Nothing)
}

#[inline(always)]
fn fixed_draw<V: Lane>(loads: &LoadUnit<V>, wants: &Wants<V>) -> V {
    V::only(wants.alive, loads.standby_a + loads.motor_a * wants.motion)
}

/// The minute with these currents of panel and pump, A, and this jet, m, as far as the battery may take it: what it may
/// not, the panel is not asked for.
#[inline(always)]
fn settled<V: Lane>(
    amps: V,
    (pump_a, jet_m): (V, V),
    wired: &Wired<'_, V>,
    source: &Source<V>,
    fed: impl Fed<V>,
) -> Point<V> {
    let Wired { drop, loads, pump, wants, .. } = *wired;
    let zero = V::splat(0.0);
    let on = wants.pump.gt(zero);
    let fixed = fixed_draw(loads, wants);
    let charge = amps - fixed - pump_a;
    let over = charge.gt(source.limit_a);
    let charge_a = charge.min(source.limit_a);
    let bus_v = source.rest_v + source.ohm * charge_a;
    let fed_a = V::select(over, source.limit_a + fixed + pump_a, amps);
    let mut spilled_a = zero;
    if over.any() {
        // At the voltage it is held at the panel could give this. What the charger would not have passed on anyway is not
        // refused by the battery.
        let could = (fed.held_at(bus_v, amps) - fixed - pump_a).min(source.rate_a);
        spilled_a = V::only(over, (could - source.limit_a).max(zero));
    }
    Point {
        bus_v,
        panel_v: bus_v + drop,
        panel_a: fed_a,
        fed_a,
        converter_w: zero,
        pump_v: V::only(on, bus_v.min(pump.highest_v)),
        pump_a,
        jet_m,
        duty: wants.pump,
        motor_a: V::only(wants.alive, loads.motor_a * wants.motion),
        standby_a: V::only(wants.alive, loads.standby_a),
        charge_a,
        spilled_a,
        moved: wants.motion,
        starved: V::Mask::splat(false),
        running: on,
    }
}
