//! The series that both precisions share, and rounding down.

use crate::lanes::lane::Lane;

/// A polynomial from its terms, highest first (Horner).
#[inline(always)]
pub(super) fn polynomial<V: Lane>(x: V, terms: &[f64]) -> V {
    let mut p = V::splat(terms[0]);
    for term in &terms[1..] {
        p = p * x + V::splat(*term);
    }
    p
}

/// ln x = e ln 2 + 2 atanh s, with terms of 2 atanh s/s from s² on, highest first, and ln 2 as a sum of two.
#[inline(always)]
pub(super) fn ln_series<V: Lane>(x: V, terms: &[f64], ln_2: [f64; 2]) -> V {
    let c = V::splat;
    let (s, e) = split_for_ln(x);
    let z = s * s;
    let mut f = s * (c(2.0) + z * polynomial(z, terms));
    if ln_2[1] != 0.0 {
        f = f + e * c(ln_2[1]);
    }
    e * c(ln_2[0]) + f
}

/// s and e with x = 2^e (1 + s)/(1 - s), |s| <= 0.1716: then ln x = e ln 2 + 2 atanh s.
#[inline(always)]
fn split_for_ln<V: Lane>(x: V) -> (V, V) {
    let c = V::splat;
    let (m, e) = x.split();
    // Mantissa to [sqrt(1/2), sqrt(2)).
    let big = m.ge(c(std::f64::consts::SQRT_2));
    let m = V::select(big, m * c(0.5), m);
    let e = V::select(big, e + c(1.0), e);
    ((m - c(1.0)) / (m + c(1.0)), e)
}

/// Sine and cosine of `n` quarter turns and a rest r, |r| <= pi/4, from terms of (sin r - r)/r³ and (cos r - 1 + r²/2)/r⁴ in r²,
/// highest first.
#[inline(always)]
pub(super) fn turned<V: Lane>(n: V, r: V, sine: &[f64], cosine: &[f64]) -> (V, V) {
    let c = V::splat;
    let z = r * r;
    let s = r + r * (z * polynomial(z, sine));
    let k = (c(1.0) - c(0.5) * z) + z * z * polynomial(z, cosine);
    // n mod 4 without integer lanes.
    let quarter = n - c(4.0) * floor(n * c(0.25));
    let odd = quarter.ge(c(0.5)) & quarter.lt(c(1.5)) | quarter.ge(c(2.5));
    let flip_sin = quarter.ge(c(1.5));
    let flip_cos = quarter.ge(c(0.5)) & quarter.lt(c(2.5));
    let (a, b) = (V::select(odd, k, s), V::select(odd, s, k));
    (V::select(flip_sin, -a, a), V::select(flip_cos, -b, b))
}

/// Largest whole number not above x, |x| < 2^51 (2^22).
#[inline(always)]
pub fn floor<V: Lane>(x: V) -> V {
    let magic = V::splat(V::MAGIC);
    let r = (x + magic) - magic;
    V::select(x.lt(r), r - V::splat(1.0), r)
}
