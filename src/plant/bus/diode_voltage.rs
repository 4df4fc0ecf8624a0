//! The root search for a bus on the panel alone, by the panel's diode voltage.
//!
//! The unknown is the panel's diode voltage V_d, from which current, bus voltage and loads follow without another root search
//! (see [`panel`](crate::plant::panel)). A bus that settles under its loads and a bus held at a voltage (by a pump that pulses
//! between two) are roots of the same function:
//!
//! `F(V_d) = r (I_load(V) - I(V_d)) + w (V - v0)`, V = V_d - I R_s - drop
//!
//! with (r, w) = (1, 0) under loads, (0, 1) at a held voltage v0. F rises, but a pump held at its highest voltage bends it
//! both ways: the root is kept between two bounds, and a step that would leave them halves them instead. A lane that has
//! converged keeps its value while its neighbours go on: lanes must not see one another.

use crate::lanes::{Lane, Mask};
use crate::plant::panel::{Curve, Terminal};
use crate::plant::pump::{PumpUnit, Pumps};

/// A step below this is the last, V: the next would be below its square over twice the ideality, 1e-8 V in single precision, less
/// than it holds, and 1e-12 V in double.
const fn converged_v<V: Lane>() -> f64 {
    if V::SINGLE { 1e-4 } else { 1e-6 }
}

/// Everything that draws current from a bus, as a function of its voltage.
pub(crate) struct BusLoad<'a, V: Lane> {
    /// Current that does not depend on the voltage, A.
    pub fixed_a: V,
    /// Conductance, for current in proportion to the voltage, S.
    pub ohmic_s: V,
    /// Share of the minute the pump runs.
    pub pump_share: V,
    /// The pump: the block's, this lane group's, and where the group stands in the block.
    pub pump: Option<(&'a Pumps, &'a PumpUnit<V>, usize)>,
}

impl<V: Lane> BusLoad<'_, V> {
    /// An open circuit.
    pub(crate) fn nothing() -> Self {
        let zero = V::splat(0.0);
        BusLoad { fixed_a: zero, ohmic_s: zero, pump_share: zero, pump: None }
    }

    /// Current, A, and its slope, S, at a bus voltage.
    #[inline(always)]
    pub(crate) fn at(&self, volts: V) -> (V, V) {
        let (pump_a, pump_s) = match self.pump {
            Some((pumps, unit, at)) => {
                let p = pumps.at(unit, at, volts);
                (p.amps, p.slope_s)
            }
            None => (V::splat(0.0), V::splat(0.0)),
        };
        let amps = self.fixed_a + self.ohmic_s * volts.max(V::splat(0.0)) + self.pump_share * pump_a;
        (amps, self.ohmic_s + self.pump_share * pump_s)
    }
}

/// What the diode voltage is sought for.
#[derive(Clone, Copy)]
pub(crate) struct Target<V> {
    /// Weight r of the loads' current, 0 or 1; along a line its resistance, ohm.
    current: V,
    /// Weight w of the held voltage, 1 or 0.
    voltage: V,
    /// The held voltage v0, V.
    held_v: V,
}

impl<V: Lane> Target<V> {
    /// The bus settles under its loads.
    #[inline(always)]
    pub(crate) fn loads() -> Self {
        Target { current: V::splat(1.0), voltage: V::splat(0.0), held_v: V::splat(0.0) }
    }

    /// A bus whose voltage rises in a straight line with the panel's current, which is all that is connected: `V = open_v + ohm I`.
    #[inline(always)]
    pub(crate) fn along(open_v: V, ohm: V) -> Self {
        Target { current: ohm, voltage: V::splat(1.0), held_v: open_v }
    }

    /// The bus is held at a voltage where `held` says so, and settles under its loads elsewhere.
    #[inline(always)]
    pub(crate) fn held_where(held: V::Mask, held_v: V) -> Self {
        let voltage = V::one_if(held);
        Target { current: V::splat(1.0) - voltage, voltage, held_v }
    }
}

/// Solves F from `first_v` on, between 0 and `bound_v`. Gives V_d, V, and the panel's current, A.
#[inline(always)]
pub(crate) fn solve_diode_voltage<V: Lane, C: Curve<V>>(
    curve: &C,
    drop_v: V,
    target: Target<V>,
    (first_v, bound_v): (V, V),
    load: &BusLoad<'_, V>,
) -> (V, V) {
    let c = V::splat;
    let Target { current: r, voltage: w, held_v } = target;
    let mut vd = first_v;
    let (mut low, mut high) = (c(0.0), bound_v);
    let mut amps = c(0.0);
    let mut open = V::Mask::splat(true);
    for _ in 0..C::STEPS {
        let Terminal { amps: i, slope_s: slope, volts, rise: dv } = curve.terminal(vd);
        let v = volts - drop_v;
        let (taken, taken_slope) = load.at(v);
        let f = r * (taken - i) + w * (v - held_v);
        let df = r * (taken_slope * dv + slope) + w * dv;
        let step = f / df.max(c(1e-9));
        let above = f.ge(c(0.0));
        high = V::select(above, vd, high);
        low = V::select(above, low, vd);
        let next = vd - step;
        let stays = next.ge(low) & next.le(high);
        let step = V::select(stays, step, vd - c(0.5) * (low + high));
        vd = V::select(open, vd - step, vd);
        // The current follows its tangent: the last step is too small for the curvature to count.
        amps = V::select(open, i + slope * step, amps);
        open = open & step.abs().ge(c(converged_v::<V>()));
        if !open.any() {
            break;
        }
    }
    (vd, amps)
}
