//! The functions of [`super`] over lanes of `f64`.

use super::series;
use crate::lanes::lane::Lane;

/// ln 2 in two parts, the first with zeros at its end: exact when multiplied by an exponent.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
/// The rest of it.
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

#[inline(always)]
pub(super) fn exp<V: Lane>(x: V) -> V {
    let c = V::splat;
    // 1.5·2^52 pushes the whole number into the low bits; 1023 is the bias of the exponent.
    let magic = c(V::MAGIC);
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
    p * ((n + c(V::BIAS)) + magic).shift_to_exponent()
}

#[inline(always)]
pub(super) fn exp_fast<V: Lane>(x: V) -> V {
    let c = V::splat;
    // As in `exp`, with the bias of the exponent in the shift, and ln 2 in one part: off by 4e-15 at |x| = 40.
    let magic = c(V::MAGIC + V::BIAS);
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

/// Terms of 2 atanh s/s in s², s^20 to s^2; the fast logarithm begins at s^10.
const ATANH: [f64; 10] = [
    2.0 / 21.0,
    2.0 / 19.0,
    2.0 / 17.0,
    2.0 / 15.0,
    2.0 / 13.0,
    2.0 / 11.0,
    2.0 / 9.0,
    2.0 / 7.0,
    2.0 / 5.0,
    2.0 / 3.0,
];

#[inline(always)]
pub(super) fn ln_fast<V: Lane>(x: V) -> V {
    series::ln_series(x, &ATANH[5..], [std::f64::consts::LN_2, 0.0])
}

#[inline(always)]
pub(super) fn ln<V: Lane>(x: V) -> V {
    series::ln_series(x, &ATANH, [LN_2_HIGH, LN_2_LOW])
}

const SINE: [f64; 7] = [
    -7.647_163_731_819_816e-13,
    1.605_904_383_682_161_5e-10,
    -2.505_210_838_544_172e-8,
    2.755_731_922_398_589_3e-6,
    -1.984_126_984_126_984e-4,
    8.333_333_333_333_333e-3,
    -1.666_666_666_666_666_6e-1,
];
const COSINE: [f64; 7] = [
    4.779_477_332_387_385e-14,
    -1.147_074_559_772_972_5e-11,
    2.087_675_698_786_81e-9,
    -2.755_731_922_398_589e-7,
    2.480_158_730_158_73e-5,
    -1.388_888_888_888_889e-3,
    4.166_666_666_666_666_4e-2,
];

#[inline(always)]
pub(super) fn sin_cos<V: Lane>(x: V) -> (V, V) {
    let c = V::splat;
    let magic = c(V::MAGIC);
    // Quarter turns; pi/2 in three parts (Cody & Waite).
    let n = (x * c(std::f64::consts::FRAC_2_PI) + magic) - magic;
    let r = ((x - n * c(1.570_796_326_734_125_6)) - n * c(6.077_100_506_303_966e-11))
        - n * c(2.022_266_248_795_950_6e-21);
    series::turned(n, r, &SINE, &COSINE)
}

/// Terms of (arc tan s - s)/s³ in s².
pub(super) const ATAN: [f64; 8] =
    [1.0 / 17.0, -1.0 / 15.0, 1.0 / 13.0, -1.0 / 11.0, 1.0 / 9.0, -1.0 / 7.0, 1.0 / 5.0, -1.0 / 3.0];
