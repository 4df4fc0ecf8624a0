//! Rested open-circuit voltage of a battery over its state of charge.

use crate::design::{Chemistry, REST_CHARGES as SOC};
use crate::lanes::Lane;

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
        RestCurve::through(chemistry.rest_volts().map(|v| v * f64::from(cells)))
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
