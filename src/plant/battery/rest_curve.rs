//! Rested open-circuit voltage of a battery over its state of charge.

use crate::design::Chemistry;
use crate::lanes::Lane;

/// States of charge of the rest curves, share.
const SOC: [f64; 13] = [0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0];

/// Rested open-circuit voltage of one cell at 25 °C, V, at [`SOC`]: own composite of handbook curves, from
/// memory (common practice, no source). `tests/it/trade_facts.rs` holds them to what the trade goes by.
const fn rest_volts(chemistry: Chemistry) -> [f64; 13] {
    match chemistry {
        Chemistry::LithiumIon => [3.0, 3.35, 3.45, 3.55, 3.6, 3.64, 3.69, 3.78, 3.88, 3.98, 4.08, 4.13, 4.19],
        Chemistry::LithiumIronPhosphate => {
            [2.6, 3.05, 3.18, 3.23, 3.26, 3.28, 3.29, 3.3, 3.315, 3.33, 3.335, 3.34, 3.42]
        }
        Chemistry::LeadAcid => {
            [1.94, 1.945, 1.952, 1.975, 1.998, 2.018, 2.035, 2.057, 2.078, 2.097, 2.112, 2.117, 2.122]
        }
        Chemistry::NickelMetalHydride => {
            [1.05, 1.17, 1.2, 1.235, 1.25, 1.26, 1.27, 1.28, 1.29, 1.305, 1.33, 1.35, 1.4]
        }
    }
}

/// The rest curve of a pack: straight lines between the points of the table.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RestCurve {
    volts: [f64; 13],
    /// V for a whole charge, by segment.
    slope: [f64; 12],
    /// Integral of the voltage from empty, V (times Ah: Wh).
    energy: [f64; 13],
}

/// The segment of the curve that a state of charge lies on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Segment<V> {
    /// From this state of charge ...
    pub lo: V,
    /// ... to this.
    pub hi: V,
    /// Voltage at `lo`, V.
    pub volts: V,
    /// V for a whole charge.
    pub slope: V,
}

impl<V: Lane> Segment<V> {
    /// Voltage, V.
    #[inline(always)]
    pub(crate) fn at(&self, soc: V) -> V {
        self.volts + self.slope * (soc - self.lo)
    }
    /// Lanes whose charge has left the segment.
    #[inline(always)]
    pub(crate) fn left(&self, soc: V) -> V::Mask {
        soc.lt(self.lo) | soc.ge(self.hi)
    }
}

impl RestCurve {
    /// Of `cells` in series.
    pub(crate) fn new(chemistry: Chemistry, cells: u32) -> Self {
        RestCurve::through(rest_volts(chemistry).map(|v| v * f64::from(cells)))
    }

    /// Through the voltages of a pack at [`SOC`].
    fn through(volts: [f64; 13]) -> Self {
        let (mut energy, mut slope) = ([0.0; 13], [0.0; 12]);
        for k in 1..13 {
            energy[k] = energy[k - 1] + 0.5 * (volts[k] + volts[k - 1]) * (SOC[k] - SOC[k - 1]);
            slope[k - 1] = (volts[k] - volts[k - 1]) / (SOC[k] - SOC[k - 1]);
        }
        RestCurve { volts, slope, energy }
    }

    /// A straight line from empty to full, V: for batteries with a closed form.
    pub(crate) fn straight(empty_v: f64, full_v: f64) -> Self {
        RestCurve::through(SOC.map(|soc| empty_v + (full_v - empty_v) * soc))
    }

    /// Voltage at full charge, V.
    pub(crate) fn full_v(&self) -> f64 {
        self.volts[12]
    }

    /// The segment at a state of charge in 0..=1; the last one reaches beyond 1.
    #[inline(always)]
    pub(crate) fn segment<V: Lane>(&self, soc: V) -> Segment<V> {
        let c = V::splat;
        let mut p = Segment { lo: c(0.0), hi: c(SOC[1]), volts: c(self.volts[0]), slope: c(self.slope[0]) };
        for k in 1..12 {
            let on = soc.ge(c(SOC[k]));
            let hi = if k == 11 { 2.0 } else { SOC[k + 1] };
            p.lo = V::select(on, c(SOC[k]), p.lo);
            p.hi = V::select(on, c(hi), p.hi);
            p.volts = V::select(on, c(self.volts[k]), p.volts);
            p.slope = V::select(on, c(self.slope[k]), p.slope);
        }
        p
    }

    /// Energy above empty for each Ah of capacity, Wh/Ah: the integral of the rest curve.
    #[inline(always)]
    pub(crate) fn energy<V: Lane>(&self, soc: V) -> V {
        let c = V::splat;
        let p = self.segment(soc);
        let mut base = c(0.0);
        #[expect(clippy::needless_range_loop, reason = "two tables side by side")]
        for k in 1..12 {
            base = V::select(soc.ge(c(SOC[k])), c(self.energy[k]), base);
        }
        let x = soc - p.lo;
        base + x * (p.volts + c(0.5) * p.slope * x)
    }
}
