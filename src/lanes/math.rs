//! Elementary functions over lanes, the same bits on every processor and width.
//!
//! Polynomials are evaluated without fused multiply-add. Accuracies are measured in the tests
//! against `libm` and stated at each function.

use super::{Lane, Mask};

/// ln 2 in two parts, the first with zeros at its end: exact when multiplied by an exponent.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
/// The rest of it.
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// e^x for x in -708..=709, clamped outside; relative error below 2e-16 · 2.
#[inline(always)]
pub fn exp<V: Lane>(x: V) -> V {
    let c = V::splat;
    // 1.5·2^52 pushes the whole number into the low bits; 1023 is the bias of the exponent.
    let magic = c(6_755_399_441_055_744.0);
    let x = x.clamp(c(-708.0), c(709.0));
    let n = (x * c(std::f64::consts::LOG2_E) + magic) - magic;
    // Cody & Waite: ln 2 in two parts, the first exact when multiplied by n.
    let r = (x - n * c(LN_2_HIGH)) - n * c(LN_2_LOW);
    // Taylor to the 13th, |r| <= 0.3466; paired terms shorten the chain of dependences.
    let r2 = r * r;
    let r4 = r2 * r2;
    let p01 = c(1.0) + r;
    let p23 = c(1.0 / 2.0) + r * c(1.0 / 6.0);
    let p45 = c(1.0 / 24.0) + r * c(1.0 / 120.0);
    let p67 = c(1.0 / 720.0) + r * c(1.0 / 5040.0);
    let p89 = c(1.0 / 40_320.0) + r * c(1.0 / 362_880.0);
    let pab = c(1.0 / 3_628_800.0) + r * c(1.0 / 39_916_800.0);
    let pcd = c(1.0 / 479_001_600.0) + r * c(1.0 / 6_227_020_800.0);
    let low = p01 + r2 * p23;
    let mid = p45 + r2 * p67;
    let high = p89 + r2 * pab + r4 * pcd;
    let p = low + r4 * (mid + r4 * high);
    p * ((n + c(1023.0)) + magic).shift_to_exponent()
}

/// e^x for x in -600..=600, clamped outside; relative error below 3e-14: what an operating point needs, for two
/// thirds of the price of [`exp`].
#[inline(always)]
pub fn exp_brief<V: Lane>(x: V) -> V {
    let c = V::splat;
    // As in `exp`, with the bias of the exponent in the shift, and ln 2 in one part: off by 4e-15 at |x| = 40.
    let magic = c(6_755_399_441_055_744.0 + 1023.0);
    let x = x.clamp(c(-600.0), c(600.0));
    let t = x * c(std::f64::consts::LOG2_E) + magic;
    let r = x - (t - magic) * c(std::f64::consts::LN_2);
    // Least largest relative error on |r| <= ln 2 / 2 (Remez), 1.4e-14.
    let r2 = r * r;
    let r4 = r2 * r2;
    let p01 = c(1.000_000_000_000_012_9) + r * c(0.999_999_999_999_892_6);
    let p23 = c(0.499_999_999_994_575_45) + r * c(0.166_666_666_678_278_9);
    let p45 = c(0.041_666_667_032_681_9) + r * c(0.008_333_333_002_622_864);
    let p67 = c(0.001_388_880_279_451_136_4) + r * c(0.000_198_415_965_289_466_05);
    let p89 = c(2.488_402_646_172_173_8e-5) + r * c(2.748_217_151_538_091_5e-6);
    let p = (p01 + r2 * p23) + r4 * ((p45 + r2 * p67) + r4 * p89);
    p * t.shift_to_exponent()
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

/// Natural logarithm of a positive normal number; absolute error below 3e-11.
#[inline(always)]
pub fn ln_brief<V: Lane>(x: V) -> V {
    let c = V::splat;
    let (s, e) = split_for_ln(x);
    let z = s * s;
    // The series to s^11.
    let mut p = c(2.0 / 11.0);
    for k in [9.0, 7.0, 5.0, 3.0] {
        p = p * z + c(2.0 / k);
    }
    e * c(std::f64::consts::LN_2) + s * (c(2.0) + z * p)
}

/// Natural logarithm of a positive normal number; about 2 units in the last place.
#[inline(always)]
pub fn ln<V: Lane>(x: V) -> V {
    let c = V::splat;
    let (s, e) = split_for_ln(x);
    let z = s * s;
    // The series to s^21.
    let mut p = c(2.0 / 21.0);
    for k in [19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0] {
        p = p * z + c(2.0 / k);
    }
    let f = s * (c(2.0) + z * p);
    e * c(LN_2_HIGH) + (f + e * c(LN_2_LOW))
}

/// Sine and cosine of an angle in radians, |x| <= 1e5; absolute error below 3e-16.
#[inline(always)]
pub fn sin_cos<V: Lane>(x: V) -> (V, V) {
    let c = V::splat;
    let magic = c(6_755_399_441_055_744.0);
    // Quarter turns; pi/2 in three parts (Cody & Waite).
    let n = (x * c(std::f64::consts::FRAC_2_PI) + magic) - magic;
    let r = ((x - n * c(1.570_796_326_734_125_6)) - n * c(6.077_100_506_303_966e-11))
        - n * c(2.022_266_248_795_950_6e-21);
    let z = r * r;
    let mut s = c(-7.647_163_731_819_816e-13);
    for k in [
        1.605_904_383_682_161_5e-10,
        -2.505_210_838_544_172e-8,
        2.755_731_922_398_589_3e-6,
        -1.984_126_984_126_984e-4,
        8.333_333_333_333_333e-3,
        -1.666_666_666_666_666_6e-1,
    ] {
        s = s * z + c(k);
    }
    let s = r + r * (z * s);
    let mut k = c(4.779_477_332_387_385e-14);
    for a in [
        -1.147_074_559_772_972_5e-11,
        2.087_675_698_786_81e-9,
        -2.755_731_922_398_589e-7,
        2.480_158_730_158_73e-5,
        -1.388_888_888_888_889e-3,
        4.166_666_666_666_666_4e-2,
    ] {
        k = k * z + c(a);
    }
    let k = (c(1.0) - c(0.5) * z) + z * z * k;
    // n mod 4 without integer lanes.
    let quarter = n - c(4.0) * floor(n * c(0.25));
    let odd = quarter.ge(c(0.5)) & quarter.lt(c(1.5)) | quarter.ge(c(2.5));
    let flip_sin = quarter.ge(c(1.5));
    let flip_cos = quarter.ge(c(0.5)) & quarter.lt(c(2.5));
    let (a, b) = (V::select(odd, k, s), V::select(odd, s, k));
    (V::select(flip_sin, -a, a), V::select(flip_cos, -b, b))
}

/// Largest whole number not above x, |x| < 2^51.
#[inline(always)]
pub fn floor<V: Lane>(x: V) -> V {
    let magic = V::splat(6_755_399_441_055_744.0);
    let r = (x + magic) - magic;
    V::select(x.lt(r), r - V::splat(1.0), r)
}

/// Angle of the point (x, y) in radians, -pi..=pi; absolute error below 4e-16.
#[inline(always)]
pub fn atan2<V: Lane>(y: V, x: V) -> V {
    let c = V::splat;
    let (ax, ay) = (x.abs(), y.abs());
    let steep = ay.gt(ax);
    let (big, small) = (V::select(steep, ay, ax), V::select(steep, ax, ay));
    let empty = big.lt(c(f64::MIN_POSITIVE));
    let t = V::select(empty, c(0.0), small / big.max(c(f64::MIN_POSITIVE)));
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
    let mut p = c(1.0 / 17.0);
    for a in [-1.0 / 15.0, 1.0 / 13.0, -1.0 / 11.0, 1.0 / 9.0, -1.0 / 7.0, 1.0 / 5.0, -1.0 / 3.0] {
        p = p * z + c(a);
    }
    base + (s + s * (z * p))
}

/// Arc cosine in radians of x, clamped to -1..=1; absolute error below 1e-15 away from ±1.
#[inline(always)]
pub fn acos<V: Lane>(x: V) -> V {
    let c = V::splat;
    let x = x.clamp(c(-1.0), c(1.0));
    let s = ((c(1.0) - x) * (c(1.0) + x)).max(c(0.0)).sqrt();
    atan2(s, x)
}

/// x^p for x > 0.
#[inline(always)]
pub fn pow<V: Lane>(x: V, p: V) -> V {
    exp(p * ln(x))
}

/// True in no lane: the neutral start of a chain of `|`.
#[inline(always)]
pub fn nowhere<V: Lane>() -> V::Mask {
    V::Mask::splat(false)
}
