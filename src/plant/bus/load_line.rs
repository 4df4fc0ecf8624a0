//! Battery and loads as a straight line, and the current a panel gives on it.
//!
//! The battery is a rest voltage v0 behind a resistance R. With the pump's current as a tangent, battery and loads are a
//! straight line over the panel's current, V = E + R' I. On it the panel's diode voltage (see [`panel`](crate::plant::panel)) solves
//!
//! `f(V_d) = V_d - (E + drop) - (R' + R_s) I(V_d) = 0`
//!
//! f rises and is convex, and its second derivative costs nothing beside the first, because both hold the same exponential:
//! Halley's method.

use super::point::{BatteryPort, BusDemand, BusInputs, LoadUnit};
use crate::lanes::{Lane, Mask, math};
use crate::plant::panel::{Cells, IvPoint};
use crate::plant::pump::PumpPoint;

/// Most Halley steps from the upper bound. Usually one is enough.
const STEPS: usize = 40;
/// A step over which the curve bends by less than this is the last, V: the error of Halley's method is of higher order.
const CONVERGED_V: f64 = 1e-4;

/// Battery and loads as the panel meets them.
#[derive(Clone, Copy, Debug)]
pub(super) struct LoadLine<V> {
    /// Bus voltage without the panel, V.
    pub open_v: V,
    /// Its rise for each ampere of the panel, ohm.
    pub ohm: V,
}

/// Slope of a pump's tangent, S; 0 where a bench curve falls, because the bounds of the search need a current that does not.
#[inline(always)]
fn rising<V: Lane>(p: &PumpPoint<V>) -> V {
    p.slope_s.max(V::splat(0.0))
}

impl<V: Lane> LoadLine<V> {
    /// With the pump's tangent at a bus voltage.
    #[inline(always)]
    pub fn at(volts: V, p: &PumpPoint<V>, inputs: &BusInputs<'_, V>, port: &BatteryPort<V>) -> Self {
        let BusInputs { loads, demand, .. } = *inputs;
        let drawn = fixed_draw_a(loads, demand) + demand.pump * (p.amps - rising(p) * volts);
        let slope = demand.pump * rising(p);
        let share = V::splat(1.0) / (V::splat(1.0) + port.ohm * slope);
        LoadLine { open_v: share * (port.rest_v - port.ohm * drawn), ohm: share * port.ohm }
    }

    /// Current of a panel behind a diode of fixed drop that lets nothing back, A.
    #[inline(always)]
    pub fn panel_current_a(&self, cells: &Cells<V>, drop_v: V) -> V {
        let c = V::splat;
        let (zero, two) = (c(0.0), c(2.0));
        let end = self.open_v + drop_v;
        let ohm = self.ohm + cells.r_s;
        // No current exceeds the light current: this is an upper bound, close to the root on the flat part of the curve.
        let mut vd = end + ohm * cells.i_l;
        let mut point = cells.with_derivatives(vd);
        let mut open = V::Mask::splat(true);
        let beyond = point.amps.lt(zero);
        if beyond.any() {
            // Beyond the open-circuit voltage: start where the diode alone takes the light current, but not below the line's own
            // end. At that end no current flows.
            let alone = math::ln_fast((cells.i_l / cells.i_o).max(c(V::SMALLEST))) / cells.per_a;
            vd = V::select(beyond, alone.max(end), vd);
            open = !(beyond & vd.le(end));
            if !open.any() {
                return zero;
            }
            if (beyond & open).any() {
                point = cells.with_derivatives(vd);
            }
        }
        let mut amps = zero;
        for _ in 0..STEPS {
            let IvPoint { amps: i, slope_s: slope, bend_a_v2: bend, .. } = point;
            let f = vd - end - ohm * i;
            let df = c(1.0) + ohm * slope;
            let square = df * df;
            let move_v = two * f * df / (two * square - f * (ohm * bend)).max(square);
            vd = V::select(open, vd - move_v, vd);
            // The current follows its parabola: the last step is too small for higher terms to count.
            amps = V::select(open, i + move_v * (slope - c(0.5) * bend * move_v), amps);
            open = open & (ohm * bend * (move_v * move_v)).ge(c(CONVERGED_V));
            if !open.any() {
                break;
            }
            point = cells.with_derivatives(vd);
        }
        amps.max(zero)
    }
}

/// Current of electronics and motors, A.
#[inline(always)]
pub(super) fn fixed_draw_a<V: Lane>(loads: &LoadUnit<V>, demand: &BusDemand<V>) -> V {
    V::only(demand.alive, loads.standby_a + loads.motor_a * demand.motion)
}
