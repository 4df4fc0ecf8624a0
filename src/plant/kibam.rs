//! Lead-acid: charge at hand and charge that has to seep out first.
//!
//! Kinetic battery model, Manwell & McGowan (1993), Solar Energy 50:399: charge `q1` at hand and `q2` bound in two
//! wells of widths c and 1 - c that level out at rate k. For a constant current I over dt, with
//! e = e^(-k dt) and q0 = q1 + q2:
//!
//! `q1 <- q1 e + (q0 k c - I)(1 - e)/k - I c (k dt - 1 + e)/k`, and the rest is bound.

use super::rows::rows;
use crate::lanes::{Lane, math};

rows! {
    /// The wells of one battery.
    KibamRows / Kibam {
        /// Share of the charge at hand.
        c,
        /// Rate, 1/h.
        k,
        /// Capacity of both wells, Ah.
        capacity_ah,
        /// e^(-k dt) of one minute.
        minute_e,
        /// (k dt - 1 + e)/k of one minute, h.
        minute_r,
    }
}

/// Share of the charge at hand, as the wells take it: neither may vanish.
pub(super) fn at_hand(c: f64) -> f64 {
    c.clamp(0.01, 0.99)
}

impl KibamRows {
    /// Sets one trial's wells.
    pub fn set_from(&mut self, lane: usize, c: f64, k_per_h: f64, capacity_ah: f64) {
        let (c, k) = (at_hand(c), k_per_h.max(1e-6));
        let x = k / 60.0;
        self.set(
            lane,
            Kibam { c, k, capacity_ah, minute_e: libm::exp(-x), minute_r: (x + libm::expm1(-x)) / k },
        );
    }
}

impl<V: Lane> Kibam<V> {
    /// The wells after one minute at a current (A, positive out), both in Ah.
    #[inline(always)]
    pub fn minute(&self, q1: V, q2: V, amps: V) -> (V, V) {
        self.step(q1, q2, amps, V::splat(1.0 / 60.0), self.minute_e, self.minute_r)
    }

    /// The wells after some hours at a current.
    #[inline(always)]
    pub fn hours(&self, q1: V, q2: V, amps: V, hours: V) -> (V, V) {
        let x = self.k * hours;
        let e = math::exp(-x);
        // x - 1 + e^-x loses its digits near 0: series there.
        let c = V::splat;
        let near = x * x * (c(0.5) - x * (c(1.0 / 6.0) - x * (c(1.0 / 24.0) - x * c(1.0 / 120.0))));
        let r = V::select(x.lt(c(0.02)), near, x - c(1.0) + e) / self.k;
        self.step(q1, q2, amps, hours, e, r)
    }

    #[inline(always)]
    fn step(&self, q1: V, q2: V, amps: V, hours: V, e: V, r: V) -> (V, V) {
        let one = V::splat(1.0);
        let q0 = q1 + q2;
        let n1 = q1 * e + (q0 * self.k * self.c - amps) * ((one - e) / self.k) - amps * self.c * r;
        (n1, q0 - amps * hours - n1)
    }
}
