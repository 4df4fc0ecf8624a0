//! The functions of [`super`] over lanes of `f32`: the same methods with fewer terms.

use super::series;
use crate::lanes::lane::Lane;

/// ln 2 in two parts, the first with zeros at its end: exact when multiplied by an exponent.
const LN_2_HIGH: f64 = 0.693_359_375;
/// The rest of it.
const LN_2_LOW: f64 = std::f64::consts::LN_2 - LN_2_HIGH;
/// Up to this size of x, both e^x and e^-x are normal numbers.
const LARGEST: f64 = 87.0;

#[inline(always)]
pub(super) fn exp<V: Lane>(x: V) -> V {
    let c = V::splat;
    // As in double precision.
    let x = x.clamp(c(-LARGEST), c(LARGEST));
    let t = x * c(std::f64::consts::LOG2_E) + c(V::MAGIC + V::BIAS);
    let n = t - c(V::MAGIC + V::BIAS);
    let r = (x - n * c(LN_2_HIGH)) - n * c(LN_2_LOW);
    // Least largest relative error on |r| <= ln 2 / 2, 1.9e-9, coefficients as rounded.
    let r2 = r * r;
    let p23 = c(0.499_999_9) + r * c(0.166_664_2);
    let p45 = c(0.041_668_23) + r * c(0.008_374_857);
    let p = (c(1.0) + r) + r2 * (p23 + r2 * (p45 + r2 * c(0.001_383_679_3)));
    p * t.shift_to_exponent()
}

#[inline(always)]
pub(super) fn exp_fast<V: Lane>(x: V) -> V {
    let c = V::splat;
    let x = x.clamp(c(-LARGEST), c(LARGEST));
    let t = x * c(std::f64::consts::LOG2_E) + c(V::MAGIC + V::BIAS);
    let r = x - (t - c(V::MAGIC + V::BIAS)) * c(std::f64::consts::LN_2);
    // As above, 8e-8.
    let r2 = r * r;
    let p01 = c(1.000_000_1) + r * c(0.999_999_7);
    let p23 = c(0.499_988_9) + r * c(0.166_675_76);
    let p45 = c(0.041_915_63) + r * c(0.008_297_619);
    let p = p01 + r2 * (p23 + r2 * p45);
    p * t.shift_to_exponent()
}

/// Terms of 2 atanh s/s in s², s^8 to s^2; the fast logarithm begins at s^6.
const ATANH: [f64; 4] = [2.0 / 9.0, 2.0 / 7.0, 2.0 / 5.0, 2.0 / 3.0];

#[inline(always)]
pub(super) fn ln<V: Lane>(x: V) -> V {
    series::ln_series(x, &ATANH, [LN_2_HIGH, LN_2_LOW])
}

#[inline(always)]
pub(super) fn ln_fast<V: Lane>(x: V) -> V {
    series::ln_series(x, &ATANH[1..], [std::f64::consts::LN_2, 0.0])
}

/// Taylor to the 9th and 10th: 2e-9 of the next at pi/4.
const SINE: [f64; 4] = [1.0 / 362_880.0, -1.0 / 5040.0, 1.0 / 120.0, -1.0 / 6.0];
const COSINE: [f64; 4] = [-1.0 / 3_628_800.0, 1.0 / 40_320.0, -1.0 / 720.0, 1.0 / 24.0];

#[inline(always)]
pub(super) fn sin_cos<V: Lane>(x: V) -> (V, V) {
    let c = V::splat;
    let magic = c(V::MAGIC);
    // Quarter turns; pi/2 in three parts (Cody & Waite), the first two with zeros at their end.
    const HIGH: f64 = 1.570_312_5;
    const MIDDLE: f64 = 4.837_512_969_970_703e-4;
    let n = (x * c(std::f64::consts::FRAC_2_PI) + magic) - magic;
    let r = ((x - n * c(HIGH)) - n * c(MIDDLE)) - n * c(std::f64::consts::FRAC_PI_2 - HIGH - MIDDLE);
    series::turned(n, r, &SINE, &COSINE)
}

/// Terms of (arc tan s - s)/s³ in s².
pub(super) const ATAN: [f64; 3] = [-1.0 / 7.0, 1.0 / 5.0, -1.0 / 3.0];
