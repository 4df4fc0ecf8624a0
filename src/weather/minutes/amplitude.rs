//! How much the light of an hour varies: Skartveit & Olseth 1992, Solar Energy 49:477.
//!
//! The expected standard deviation of the 5-minute clear-sky index within an hour follows from its
//! mean k and those of its neighbours; the actual one is Weibull about it. Clouds that only switch
//! the beam on and off would vary too much, since many hours have a thin veil.
//!
//! The law is for all hours together. Those whose sky stays as it is through the hour vary much less, the others
//! somewhat more ([`super::broken_sky`]).

use crate::lanes::{Lane, math};

/// σ₃: rms difference of an hour's index k to the hours before and after.
#[inline(always)]
pub fn difference_to_neighbours<V: Lane>(before: V, k: V, after: V) -> V {
    let (a, b) = (k - before, k - after);
    (V::splat(0.5) * (a * a + b * b)).sqrt()
}

/// σ* = 0.87 k² (1 - k) + 0.39 √k σ₃.
#[inline(always)]
pub fn expected_sd<V: Lane>(k: V, sigma3: V) -> V {
    let c = V::splat;
    // The formula is for indices up to 1; beyond it the first term would be negative.
    let first = c(0.87) * k * k * (c(1.0) - k).max(c(0.0));
    first + c(0.39) * k.max(c(0.0)).sqrt() * sigma3
}

/// Shape of the Weibull law of σ/σ*: 0.88 + 42 σ*².
#[inline(always)]
pub fn weibull_shape<V: Lane>(expected: V) -> V {
    V::splat(0.88) + V::splat(42.0) * expected * expected
}

/// A drawn standard deviation: Weibull quantile of mean σ* at `u` in (0, 1).
#[inline(always)]
pub fn drawn_sd<V: Lane>(expected: V, u: V) -> V {
    let c = V::splat;
    let inverse = c(1.0) / weibull_shape(expected);
    // The largest u drawn is 1 less half of 2^-32, which rounds to 1 in single precision.
    let e = -math::ln((c(1.0) - u).max(c(0.5 / 4_294_967_296.0)));
    expected * math::pow(e.max(c(V::SMALLEST)), inverse) / gamma_1_plus(inverse)
}

/// Γ(1 + x) for 0 <= x <= 1.2, relative error below 1e-6: Abramowitz & Stegun 1964, 6.1.36 (|ε| <= 3e-7
/// on 0..=1), with Γ(1 + x) = x Γ(x) above 1.
#[inline(always)]
pub fn gamma_1_plus<V: Lane>(x: V) -> V {
    let c = V::splat;
    let above = x.gt(c(1.0));
    let y = V::select(above, x - c(1.0), x);
    let mut p = c(0.035_868_343);
    for a in [
        -0.193_527_818,
        0.482_199_394,
        -0.756_704_078,
        0.918_206_857,
        -0.897_056_937,
        0.988_205_891,
        -0.577_191_652,
        1.0,
    ] {
        p = p * y + c(a);
    }
    V::select(above, x * p, p)
}

/// Standard deviation of the 5-minute sunlit share within an hour of sunlit share f, for clouds that
/// switch fully: x = √(f (1 - f)) times a share that falls toward the ends, where clouds and
/// gaps are shorter than five minutes. Fit to the Monte Carlo of the hour split at 5.76 m/s
/// (`tests/computed/data/10m_downscale_demo.csv`), within 2 %.
#[inline(always)]
pub fn switching_sd<V: Lane>(f: V) -> V {
    let c = V::splat;
    let x = (f * (c(1.0) - f)).max(c(0.0)).sqrt();
    let share = c(2.413) * x - c(0.006) - c(1.963) * x * x + c(0.175) * (f - c(0.5));
    x * share.max(c(0.0))
}
