//! A string of cells some of which are covered: they limit the current of all.
//!
//! Bishop (1988), Solar Cells 25:73: all cells carry one current, and a cell that cannot give it in its light takes a voltage below
//! zero, at which it leaks. What it leaks through is its dark shunt, which does not follow the light and is no parameter of the label's curve. At the few volts that
//! the lit cells of a small string bring up, his avalanche term moves little (at most 3 % of the clean current, or of the clean power where a
//! tracking charger goes to low voltages, in the check values); it is left out. A bypass diode holds its group of cells at its own forward voltage.
//!
//! The free variable is the diode voltage of the string as if all its cells were lit ([`Cells`]): the current is that of the lit cells
//! at their share of it, and what the covered ones take follows from the current.

use super::cells::{Cells, Curve, Terminal};
use crate::design;
use crate::lanes::{Aside, Lane, Mask, math};
use crate::plant::record::rows::rows;

/// Forward voltage of a bypass diode, V (Schottky; common practice, no source).
const BYPASS_V: f64 = 0.4;
/// Voltage at which a cell's leak is stated, V.
const LEAK_V: f64 = 10.0;
/// Least conductance of a cell, as a share of its light current at 1 V: no cell is a perfect insulator.
const LEAST_LEAK: f64 = 1e-6;
/// Halvings in the search for the best voltage: to a millionth of the open circuit's.
const HALVINGS: usize = 21;

rows! {
    /// What covers cells of a panel, and how its cells leak.
    CoverRows / CoverUnit {
        /// Cells in series, and those that are covered: whole numbers.
        cells, covered,
        /// Share of their light that these lose.
        share,
        /// Dark shunt of a cell, S.
        leak_s,
        /// Share of the string that remains when bypass diodes carry the current past the groups of the covered cells, and voltage that
        /// they take, V; 0 without bypass diodes.
        beside, bypass_v,
    }
}

impl CoverUnit<f64> {
    /// Nothing covered on a panel of which this is known: cells in series, light current (A), leak of a cell (share at -10 V), bypass diodes.
    pub(crate) fn of_panel(p: &design::Panel<f64>) -> Self {
        let cells = f64::from(p.cells);
        let leak_s = p.cover.leak * p.short_circuit_current_a / LEAK_V;
        CoverUnit { cells, covered: 0.0, share: 0.0, leak_s, beside: 0.0, bypass_v: 0.0 }
    }

    /// The same with cells covered: `covered`, rounded to whole ones, lose the share of their light. Covered cells lie side by side.
    pub(crate) fn with(self, covered: f64, share: f64, bypass_diodes: u32) -> Self {
        let covered = libm::round(covered).clamp(0.0, self.cells);
        let diodes = f64::from(bypass_diodes);
        let (mut beside, mut bypass_v) = (0.0, 0.0);
        if bypass_diodes > 0 {
            let groups = libm::ceil(covered * diodes / self.cells);
            (beside, bypass_v) = (1.0 - groups / diodes, groups * BYPASS_V);
        }
        CoverUnit { covered, share, beside, bypass_v, ..self }
    }
}

/// A string under one light and temperature, some of its cells covered.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CoveredString<V: Lane> {
    /// The string as if nothing were covered.
    pub whole: Cells<V>,
    /// Whether anything is.
    pub any: V::Mask,
    /// Share of the cells that are lit, and how many are not.
    lit: V,
    covered: V,
    /// A covered cell.
    dim: OneCell<V>,
    /// As of [`CoverUnit`].
    beside: V,
    bypass_v: V,
}

/// A cell whose voltage is asked for at a current.
#[derive(Clone, Copy, Debug)]
struct OneCell<V> {
    /// Light current, and saturation current, A.
    i_l: V,
    i_o: V,
    /// Modified ideality, V.
    a: V,
    /// Shunt forward, and ln(I_o R_sh/a).
    ohm: V,
    ln_c: V,
    /// The same backward, where the current is more than the light gives.
    back_ohm: V,
    back_ln_c: V,
}

impl<V: Lane> OneCell<V> {
    /// With these shunts forward and backward, S.
    #[inline(always)]
    fn new((i_l, i_o, a): (V, V, V), forward_s: V, backward_s: V) -> Self {
        let (one, least) = (V::splat(1.0), (i_l * V::splat(LEAST_LEAK)).max(V::splat(1e-12)));
        let (ohm, back_ohm) = (one / forward_s.max(least), one / backward_s.max(least));
        let ln_c = math::ln((i_o * ohm / a).max(V::splat(V::SMALLEST)));
        let back_ln_c = math::ln((i_o * back_ohm / a).max(V::splat(V::SMALLEST)));
        OneCell { i_l, i_o, a, ohm, ln_c, back_ohm, back_ln_c }
    }

    /// Voltage of its diode at a current, V, and -dV/dI, ohm. `I = I_L + I_o - I_o e^{x/a} - x/R` is, with
    /// J = (I_L + I_o - I) R and w = (I_o R/a) e^{x/a}, `w + ln w = ln(I_o R/a) + J/a`, `x = J - a w` (Lambert's W).
    #[inline(always)]
    fn at(&self, amps: V) -> (V, V) {
        let c = V::splat;
        let (one, least) = (c(1.0), c(V::SMALLEST));
        let backward = amps.gt(self.i_l);
        let ohm = V::select(backward, self.back_ohm, self.ohm);
        let ln_c = V::select(backward, self.back_ln_c, self.ln_c);
        let j = (self.i_l + self.i_o - amps) * ohm;
        let y = ln_c + j / self.a;
        let small = math::exp(y.min(one));
        let first = V::select(y.ge(one), y - math::ln(y.max(one)), small / (one + small));
        let mut w = first.max(least);
        // Newton's method: three steps are exact to rounding from this start.
        for _ in 0..3 {
            w = (w * ((one + y - math::ln(w)) / (one + w))).max(least);
        }
        // In forward direction J and a w are large and nearly the same: the logarithm says it without their difference.
        let forward = self.a * (math::ln(w) - ln_c);
        let volts = V::select(w.ge(one), forward, j - self.a * w);
        (volts, ohm / (one + w))
    }
}

impl<V: Lane> CoverUnit<V> {
    /// The string under the light and temperature for which `whole` holds.
    #[inline(always)]
    pub(crate) fn under(&self, whole: &Cells<V>) -> CoveredString<V> {
        V::aside(Under { unit: self, whole })
    }

    #[inline(always)]
    fn string(&self, whole: &Cells<V>) -> CoveredString<V> {
        let c = V::splat;
        let (zero, one) = (c(0.0), c(1.0));
        let a = one / (whole.per_a * self.cells);
        // Forward a covered cell leaks no less than it would if it were lit: so nothing is gained by a cover.
        let forward_s = (whole.g_sh * self.cells).max(self.leak_s);
        let light = ((one - self.share) * whole.i_l, whole.i_o, a);
        CoveredString {
            whole: *whole,
            any: self.covered.gt(zero) & self.share.gt(zero),
            lit: one - self.covered / self.cells,
            covered: self.covered,
            dim: OneCell::new(light, forward_s, self.leak_s),
            beside: self.beside,
            bypass_v: self.bypass_v,
        }
    }
}

impl<V: Lane> CoveredString<V> {
    /// Whether it can supply a current at a terminal voltage.
    #[inline(always)]
    pub(crate) fn can_supply(&self, volts: V, amps: V) -> V::Mask {
        let reached = V::aside(VoltsAt { string: self, amps });
        let covered = self.any & reached.ge(volts);
        covered | !self.any & self.whole.can_supply(volts, amps)
    }

    /// Terminal voltage at a current, V.
    #[inline(always)]
    fn volts_at(&self, amps: V) -> V {
        let Cells { i_l, i_o, per_a, g_sh, r_s } = self.whole;
        let all = OneCell::new((i_l, i_o, V::splat(1.0) / per_a), g_sh, g_sh);
        let (vd, _) = all.at(amps);
        let through = vd * self.lit + self.covered * self.dim.at(amps).0 - amps * r_s;
        let beside = self.beside * (vd - amps * r_s) - self.bypass_v;
        V::select(self.bypass_v.gt(V::splat(0.0)), through.max(beside), through)
    }

    /// Terminal voltage through the covered cells and past them, at a diode voltage.
    #[inline(always)]
    fn both(&self, vd: V) -> (Terminal<V>, Terminal<V>) {
        let (amps, slope_s) = self.whole.current(vd);
        let r_s = self.whole.r_s;
        let (dim_v, dim_ohm) = self.dim.at(amps);
        let through = Terminal {
            amps,
            slope_s,
            volts: vd * self.lit + self.covered * dim_v - amps * r_s,
            rise: self.lit + slope_s * (self.covered * dim_ohm + r_s),
        };
        let beside = Terminal {
            volts: self.beside * (vd - amps * r_s) - self.bypass_v,
            rise: self.beside * (V::splat(1.0) + slope_s * r_s),
            ..through
        };
        (through, beside)
    }

    /// Terminal voltage and current at the maximum power point behind a diode of fixed drop. With bypass diodes there are two maxima; this
    /// is the higher one, though a charger may stay on the other.
    #[inline(always)]
    pub(crate) fn max_power(&self, drop_v: V) -> (V, V) {
        V::aside(MaxPower { string: self, drop_v })
    }

    #[inline(always)]
    fn highest_power(&self, drop_v: V) -> (V, V) {
        let through = self.best(drop_v, false);
        let mut best = through;
        if self.bypass_v.gt(V::splat(0.0)).any() {
            let beside = self.best(drop_v, true);
            let better = self.bypass_v.gt(V::splat(0.0))
                & ((beside.0 - drop_v) * beside.1).gt((through.0 - drop_v) * through.1);
            best = (V::select(better, beside.0, through.0), V::select(better, beside.1, through.1));
        }
        if !(!self.any).any() {
            return best;
        }
        let clean = self.whole.max_power(drop_v);
        (V::select(self.any, best.0, clean.0), V::select(self.any, best.1, clean.1))
    }

    /// The maximum through the covered cells, or past them. The power over the current is bent inwards: its slope is halved down to 0.
    #[inline(always)]
    fn best(&self, drop_v: V, past: bool) -> (V, V) {
        let c = V::splat;
        let zero = c(0.0);
        let (mut low, mut high) = (zero, self.whole.open_bound().min(self.whole.shunt_bound()));
        for _ in 0..HALVINGS {
            let middle = c(0.5) * (low + high);
            let (through, beside) = self.both(middle);
            let t = if past { beside } else { through };
            let rises = (t.amps * t.rise).gt((t.volts - drop_v) * t.slope_s);
            (low, high) = (V::select(rises, middle, low), V::select(rises, high, middle));
        }
        let (through, beside) = self.both(low);
        let t = if past { beside } else { through };
        (t.volts, t.amps.max(zero))
    }
}

/// The questions about a covered string, out of line: few scenes ask them, and they are large.
struct Under<'a, V: Lane> {
    unit: &'a CoverUnit<V>,
    whole: &'a Cells<V>,
}

impl<V: Lane> Aside for Under<'_, V> {
    type Out = CoveredString<V>;
    #[inline(always)]
    fn work(self) -> CoveredString<V> {
        self.unit.string(self.whole)
    }
}

struct VoltsAt<'a, V: Lane> {
    string: &'a CoveredString<V>,
    amps: V,
}

impl<V: Lane> Aside for VoltsAt<'_, V> {
    type Out = V;
    #[inline(always)]
    fn work(self) -> V {
        self.string.volts_at(self.amps)
    }
}

struct MaxPower<'a, V: Lane> {
    string: &'a CoveredString<V>,
    drop_v: V,
}

impl<V: Lane> Aside for MaxPower<'_, V> {
    type Out = (V, V);
    #[inline(always)]
    fn work(self) -> (V, V) {
        self.string.highest_power(self.drop_v)
    }
}

impl<V: Lane> Curve<V> for CoveredString<V> {
    /// Bends of covered cells send more steps back to the middle.
    const STEPS: usize = 60;

    #[inline(always)]
    fn terminal(&self, vd: V) -> Terminal<V> {
        let (through, beside) = self.both(vd);
        // The current takes the way on which the voltage is higher.
        let past = self.bypass_v.gt(V::splat(0.0)) & beside.volts.gt(through.volts);
        Terminal {
            volts: V::select(past, beside.volts, through.volts),
            rise: V::select(past, beside.rise, through.rise),
            ..through
        }
    }
}
