//! A panel under one light and temperature: a single diode, in the form that needs no root search.
//!
//! De Soto, Klein & Beckman (2006), Solar Energy 80:78:
//! `I = I_L - I_o (e^{(V + I R_s)/a} - 1) - (V + I R_s)/R_sh`. With the diode's own voltage V_d = V + I R_s as the free variable (Bishop
//! 1988, Solar Cells 25:73) current and voltage are explicit, and every question about the panel
//! ("does it give this current at that voltage?") is one exponential.

use crate::lanes::{Lane, Mask, math};

/// A panel under one light and temperature.
#[derive(Clone, Copy, Debug)]
pub struct Cells<V> {
    /// Light current, A.
    pub i_l: V,
    /// Saturation current, A.
    pub i_o: V,
    /// 1/a, 1/V.
    pub per_a: V,
    /// Shunt conductance, S.
    pub g_sh: V,
    /// Series resistance, ohm.
    pub r_s: V,
}

/// A panel's current at a diode voltage, and how it changes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct IvPoint<V> {
    /// Current, A.
    pub amps: V,
    /// -dI/dV_d, S (positive).
    pub slope_s: V,
    /// -d²I/dV_d², A/V² (positive).
    pub bend_a_v2: V,
}

/// A panel at a diode voltage, as its terminals show it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Terminal<V> {
    /// Current, A.
    pub amps: V,
    /// -dI/dV_d, S (positive).
    pub slope_s: V,
    /// Voltage, V.
    pub volts: V,
    /// dV/dV_d (positive).
    pub rise: V,
}

/// A panel's curve by its diode voltage.
pub(crate) trait Curve<V: Lane> {
    /// Most steps of a root search on it.
    const STEPS: usize;
    /// What its terminals show at a diode voltage.
    fn terminal(&self, vd: V) -> Terminal<V>;
}

impl<V: Lane> Curve<V> for Cells<V> {
    /// From the last minute's voltage; usually three are enough.
    const STEPS: usize = 24;

    #[inline(always)]
    fn terminal(&self, vd: V) -> Terminal<V> {
        let (amps, slope_s) = self.current(vd);
        Terminal { amps, slope_s, volts: vd - amps * self.r_s, rise: V::splat(1.0) + slope_s * self.r_s }
    }
}

impl Cells<f64> {
    /// The same in each lane.
    pub(crate) fn splat<V: Lane>(&self) -> Cells<V> {
        let c = V::splat;
        Cells {
            i_l: c(self.i_l),
            i_o: c(self.i_o),
            per_a: c(self.per_a),
            g_sh: c(self.g_sh),
            r_s: c(self.r_s),
        }
    }
}

impl<V: Lane> Cells<V> {
    /// Current at a diode voltage, and its slope -dI/dV_d (positive).
    #[inline(always)]
    pub(crate) fn current(&self, vd: V) -> (V, V) {
        let IvPoint { amps, slope_s, .. } = self.with_derivatives(vd);
        (amps, slope_s)
    }

    /// Current at a diode voltage with its first and second derivative.
    #[inline(always)]
    pub(crate) fn with_derivatives(&self, vd: V) -> IvPoint<V> {
        let diode = self.i_o * math::exp_fast(vd * self.per_a);
        let e = diode * self.per_a;
        IvPoint {
            amps: self.i_l - (diode - self.i_o) - vd * self.g_sh,
            slope_s: e + self.g_sh,
            bend_a_v2: e * self.per_a,
        }
    }

    /// Whether the panel can supply a current at a terminal voltage. The curve falls everywhere, so the point (V, I) lies under it
    /// exactly if the current at the diode voltage V + I R_s reaches I.
    #[inline(always)]
    pub(crate) fn can_supply(&self, volts: V, amps: V) -> V::Mask {
        self.current(volts + amps * self.r_s).0.ge(amps)
    }

    /// Estimate of the current at a terminal voltage, A, never negative: two iterations of V_d = V + I R_s, from the light current
    /// down. Exact on the flat part of the curve, within a few per cent near the knee.
    #[inline(always)]
    pub(crate) fn current_estimate(&self, volts: V) -> V {
        let zero = V::splat(0.0);
        let first = self.current(volts + self.i_l * self.r_s).0.max(zero);
        self.current(volts + first * self.r_s).0.max(zero)
    }

    /// Current at a terminal voltage, A, never negative, refined by one Newton step from the current at a voltage that is not lower.
    /// Exact on the flat part of the curve, within about 5 % near the knee.
    #[inline(always)]
    pub(crate) fn current_refined(&self, volts: V, amps: V) -> V {
        let (i, slope) = self.current(volts + amps * self.r_s);
        (amps + (i - amps) / (V::splat(1.0) + slope * self.r_s)).max(V::splat(0.0))
    }

    /// Diode voltage without load and without shunt, V: an upper bound of every diode voltage.
    #[inline(always)]
    pub(crate) fn open_bound(&self) -> V {
        math::ln((self.i_l / self.i_o).max(V::splat(0.0)) + V::splat(1.0)) / self.per_a
    }

    /// The same, if the shunt took all: another bound, V.
    #[inline(always)]
    pub fn shunt_bound(&self) -> V {
        self.i_l / (self.g_sh + V::splat(1e-12))
    }

    /// Terminal voltage and current at the maximum power point behind a diode of fixed drop.
    /// Newton's method on dP/dV_d from the shunt-free point, until each lane has converged.
    #[inline(always)]
    pub fn max_power(&self, drop_v: V) -> (V, V) {
        let c = V::splat;
        // Without shunt and series resistance V_d,mp = a (x - ln(1 + x')), x = ln(I_L/I_o + 1).
        let x = math::ln_fast((self.i_l / self.i_o).max(c(0.0)) + c(1.0));
        let first = x - math::ln_fast(c(1.0) + x);
        let a = c(1.0) / self.per_a;
        let mut vd = (x - math::ln_fast(c(1.0) + first.max(c(0.0)))) * a;
        // In weak light the shunt may dominate: half of the voltage at which it takes all of the current.
        vd = vd.min(self.i_l / (c(2.0) * self.g_sh + c(1e-12)));
        let mut open = V::Mask::splat(true);
        for _ in 0..6 {
            let (i, slope) = self.current(vd);
            // I' = -slope, I'' = -e/a².
            let bend = (slope - self.g_sh) * self.per_a;
            let v = vd - i * self.r_s - drop_v;
            let dv = c(1.0) + slope * self.r_s;
            let p1 = dv * i - v * slope;
            let p2 = bend * self.r_s * i - c(2.0) * dv * slope - v * bend;
            let step = (p1 / p2.min(c(-1e-12))).clamp(c(-2.0) * a, c(2.0) * a);
            vd = V::select(open, vd - step, vd);
            // The power curve is flat at its top: after a step of a thousandth of `a` the next is a millionth, and changes no power.
            open = open & (step * self.per_a).abs().ge(c(1e-3));
            if !open.any() {
                break;
            }
        }
        let i = self.current(vd).0.max(c(0.0));
        (vd - i * self.r_s, i)
    }
}
