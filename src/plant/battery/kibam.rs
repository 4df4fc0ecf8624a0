//! Lead-acid: charge that is available at once, and charge that becomes available slowly.
//!
//! Kinetic battery model, Manwell & McGowan (1993), Solar Energy 50:399: charge `q1` at hand and `q2` bound in two
//! wells of widths c and 1 - c that level out at rate k. For a constant current I over dt, with
//! e = e^(-k dt) and q0 = q1 + q2:
//!
//! `q1 <- q1 e + (q0 k c - I)(1 - e)/k - I c (k dt - 1 + e)/k`, and the rest is bound. It is written here as a change of q1,
//! `(k (c q0 - q1) - I)(1 - e)/k - I c (k dt - 1 + e)/k`, because a minute changes little.

use crate::lanes::{Lane, math};
use crate::plant::record::MINUTE_H;
use crate::plant::record::rows::rows;

rows! {
    /// The wells of one battery.
    KibamRows / Kibam {
        /// Share of the charge at hand.
        c,
        /// Rate, 1/h.
        k_per_h,
        /// Capacity of both wells, Ah.
        capacity_ah,
        /// (1 - e)/k of one minute, h.
        minute_f_h,
        /// (k dt - 1 + e)/k of one minute, h.
        minute_r_h,
    }
}

/// Share of the charge at hand, kept away from 0 and 1 so that neither well vanishes.
pub(super) fn at_hand(c: f64) -> f64 {
    c.clamp(0.01, 0.99)
}

impl KibamRows {
    /// Sets one trial's wells.
    pub(crate) fn set_from(&mut self, lane: usize, c: f64, k_per_h: f64, capacity_ah: f64) {
        let (c, k_per_h) = (at_hand(c), k_per_h.max(1e-6));
        let x = k_per_h * MINUTE_H;
        self.set(
            lane,
            Kibam {
                c,
                k_per_h,
                capacity_ah,
                minute_f_h: -libm::expm1(-x) / k_per_h,
                minute_r_h: (x + libm::expm1(-x)) / k_per_h,
            },
        );
    }
}

/// A span of time, with the two coefficients that depend on its length.
#[derive(Clone, Copy)]
struct Interval<V> {
    hours: V,
    /// (1 - e)/k, h.
    f_h: V,
    /// (k dt - 1 + e)/k, h.
    r_h: V,
}

impl<V: Lane> Kibam<V> {
    /// How the wells change in one minute at a current (A, positive out), both in Ah.
    #[inline(always)]
    pub(crate) fn minute(&self, q1_ah: V, q2_ah: V, amps: V) -> (V, V) {
        let minute = Interval { hours: V::splat(MINUTE_H), f_h: self.minute_f_h, r_h: self.minute_r_h };
        self.step(q1_ah, q2_ah, amps, minute)
    }

    /// How they change in some hours at a current.
    #[inline(always)]
    pub(crate) fn hours(&self, q1_ah: V, q2_ah: V, amps: V, hours: V) -> (V, V) {
        let c = V::splat;
        let x = self.k_per_h * hours;
        let e = math::exp(-x);
        // 1 - e^-x and x - 1 + e^-x lose their digits near 0: series there, to x^8.
        let near = x.lt(c(if V::SINGLE { 0.3 } else { 0.02 }));
        let mut series = c(1.0 / 40_320.0);
        for n in [5040.0, 720.0, 120.0, 24.0, 6.0, 2.0] {
            series = c(1.0 / n) - x * series;
        }
        let r = V::select(near, x * x * series, x - c(1.0) + e);
        let f = V::select(near, x - x * x * series, c(1.0) - e);
        self.step(q1_ah, q2_ah, amps, Interval { hours, f_h: f / self.k_per_h, r_h: r / self.k_per_h })
    }

    #[inline(always)]
    fn step(&self, q1_ah: V, q2_ah: V, amps: V, over: Interval<V>) -> (V, V) {
        let Interval { hours, f_h, r_h } = over;
        let d1 = (self.k_per_h * (self.c * (q1_ah + q2_ah) - q1_ah) - amps) * f_h - amps * self.c * r_h;
        (d1, -(amps * hours) - d1)
    }
}
