//! Elementary functions over lanes, the same bits on every processor and width.
//!
//! Polynomials are evaluated without fused multiply-add. Accuracies are measured in the tests
//! against `libm` and stated at each function, those of single precision in brackets.

mod double;
mod series;
mod single;

use super::lane::Lane;
pub use series::floor;
use series::polynomial;

/// e^x for x in -708..=709 (-87..=87), clamped outside; relative error below 4e-16 (2e-7).
#[inline(always)]
pub(crate) fn exp<V: Lane>(x: V) -> V {
    if V::SINGLE { single::exp(x) } else { double::exp(x) }
}

/// e^x for x in -600..=600 (-87..=87), clamped outside; relative error below 3e-14 (1e-6 for each 20 of x): what an operating point
/// needs, at two thirds of the cost of [`exp`].
#[inline(always)]
pub(crate) fn exp_fast<V: Lane>(x: V) -> V {
    if V::SINGLE { single::exp_fast(x) } else { double::exp_fast(x) }
}

/// Natural logarithm of a positive normal number; absolute error below 3e-11 (1e-6 for |ln x| up to 14, 8e-6 at the ends).
#[inline(always)]
pub(crate) fn ln_fast<V: Lane>(x: V) -> V {
    if V::SINGLE { single::ln_fast(x) } else { double::ln_fast(x) }
}

/// Natural logarithm of a positive normal number; within 3 units in the last place.
#[inline(always)]
pub(crate) fn ln<V: Lane>(x: V) -> V {
    if V::SINGLE { single::ln(x) } else { double::ln(x) }
}

/// Sine and cosine of an angle in radians, |x| <= 1e5 (1e3); absolute error below 3e-16 (2e-7).
#[inline(always)]
pub(crate) fn sin_cos<V: Lane>(x: V) -> (V, V) {
    if V::SINGLE { single::sin_cos(x) } else { double::sin_cos(x) }
}

/// Angle of the point (x, y) in radians, -pi..=pi; absolute error below 4e-16 (3e-7 in single precision).
#[inline(always)]
pub(crate) fn atan2<V: Lane>(y: V, x: V) -> V {
    let c = V::splat;
    let (ax, ay) = (x.abs(), y.abs());
    let steep = ay.gt(ax);
    let (big, small) = (V::select(steep, ay, ax), V::select(steep, ax, ay));
    let empty = big.lt(c(V::SMALLEST));
    let t = V::select(empty, c(0.0), small / big.max(c(V::SMALLEST)));
    let a = atan_unit(t);
    let a = V::select(steep, c(std::f64::consts::FRAC_PI_2) - a, a);
    let a = V::select(x.lt(c(0.0)), c(std::f64::consts::PI) - a, a);
    V::select(y.lt(c(0.0)), -a, a)
}

/// Arc tangent on 0..=1: two reductions (tan(pi/16) steps) and an odd series.
#[inline(always)]
fn atan_unit<V: Lane>(t: V) -> V {
    let c = V::splat;
    // atan t = atan k + atan((t - k)/(1 + k t)) with k the nearest of 0, 1/4, 1/2, 3/4, 1.
    let k = floor(t * c(4.0) + c(0.5)) * c(0.25);
    let base = V::select(
        k.lt(c(0.125)),
        c(0.0),
        V::select(
            k.lt(c(0.375)),
            c(0.244_978_663_126_864_15),
            V::select(
                k.lt(c(0.625)),
                c(0.463_647_609_000_806_1),
                V::select(k.lt(c(0.875)), c(0.643_501_108_793_284_4), c(std::f64::consts::FRAC_PI_4)),
            ),
        ),
    );
    let s = (t - k) / (c(1.0) + k * t);
    let z = s * s;
    let p = if V::SINGLE { polynomial(z, &single::ATAN) } else { polynomial(z, &double::ATAN) };
    base + (s + s * (z * p))
}

/// x^p for x > 0.
#[inline(always)]
pub(crate) fn pow<V: Lane>(x: V, p: V) -> V {
    exp(p * ln(x))
}
