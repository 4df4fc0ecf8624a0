//! Drawing a value: the quantile functions of the spreads, so that one uniform number makes one
//! value and designs stay lined up.

use super::{Spread, Uncertain};

/// Φ(-3): the probability below the cut (Abramowitz & Stegun 26.2; 16 digits from memory,
/// checked against the inverse below).
const BELOW_CUT: f64 = 0.001_349_898_031_630_094_6;

impl Uncertain {
    /// The value with the share `u` of all values below it; `u` in 0..=1. Never outside of
    /// [`Uncertain::lowest`] to [`Uncertain::highest`].
    pub(crate) fn at(&self, u: f64) -> f64 {
        let value = match self.spread {
            Spread::Exact => return self.nominal,
            Spread::Normal { sd } => {
                let p = BELOW_CUT + u * (1.0 - 2.0 * BELOW_CUT);
                self.nominal + sd * normal_quantile(p)
            }
            Spread::Rectangular { lo, hi } => lo + u * (hi - lo),
            Spread::Triangular { lo, mode, hi } => {
                let width = hi - lo;
                let rising = mode - lo;
                if u * width < rising {
                    lo + (u * width * rising).sqrt()
                } else {
                    hi - ((1.0 - u) * width * (hi - mode)).sqrt()
                }
            }
        };
        value.clamp(self.lowest(), self.highest())
    }
}

impl Uncertain {
    /// The share of all values below one: the inverse of [`Uncertain::at`], in 0..=1.
    pub(crate) fn share_below(&self, value: f64) -> f64 {
        let share = match self.spread {
            Spread::Exact => 0.5,
            Spread::Normal { sd } => {
                let z = (value - self.nominal) / sd;
                let below = 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
                (below - BELOW_CUT) / (1.0 - 2.0 * BELOW_CUT)
            }
            Spread::Rectangular { lo, hi } => (value - lo) / (hi - lo),
            Spread::Triangular { lo, mode, hi } => {
                if value < mode {
                    (value - lo) * (value - lo) / ((hi - lo) * (mode - lo))
                } else if hi > mode {
                    1.0 - (hi - value) * (hi - value) / ((hi - lo) * (hi - mode))
                } else {
                    1.0
                }
            }
        };
        share.clamp(0.0, 1.0)
    }
}

/// Inverse of the normal distribution function, `p` in 0..1, to about 1 part in 10^16.
///
/// Wichura 1988, "Algorithm AS 241: The Percentage Points of the Normal Distribution",
/// Applied Statistics 37:477, routine PPND16. Uses `libm` so that bits do not depend on the
/// processor. Ends: -inf at 0, inf at 1.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * horner(&A, r) / horner(&B, r);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let r = (-libm::log(tail)).sqrt();
    let value = if r <= 5.0 {
        horner(&C, r - 1.6) / horner(&D, r - 1.6)
    } else {
        horner(&E, r - 5.0) / horner(&F, r - 5.0)
    };
    if q < 0.0 { -value } else { value }
}

fn horner(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

// Coefficients of PPND16, rising powers.
const A: [f64; 8] = [
    3.387_132_872_796_366_6,
    1.331_416_678_917_843_8e2,
    1.971_590_950_306_551_3e3,
    1.373_169_376_550_946e4,
    4.592_195_393_154_987e4,
    6.726_577_092_700_87e4,
    3.343_057_558_358_813e4,
    2.509_080_928_730_122_6e3,
];
const B: [f64; 8] = [
    1.0,
    4.231_333_070_160_091e1,
    6.871_870_074_920_579e2,
    5.394_196_021_424_751e3,
    2.121_379_430_158_659_7e4,
    3.930_789_580_009_271e4,
    2.872_908_573_572_194_3e4,
    5.226_495_278_852_854e3,
];
const C: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    2.417_807_251_774_506e-1,
    2.272_384_498_926_918_4e-2,
    7.745_450_142_783_414e-4,
];
const D: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    6.897_673_349_851e-1,
    1.481_039_764_274_800_8e-1,
    1.519_866_656_361_645_7e-2,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const E: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    2.965_605_718_285_048_7e-1,
    2.653_218_952_657_612_4e-2,
    1.242_660_947_388_078_4e-3,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const F: [f64; 8] = [
    1.0,
    5.998_322_065_558_88e-1,
    1.369_298_809_227_358e-1,
    1.487_536_129_085_061_5e-2,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_7e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

#[cfg(test)]
mod tests {
    use super::super::CUT_SD;
    use super::*;

    #[test]
    fn inverse_normal_agrees_with_an_independent_distribution_function() {
        let below = |z: f64| 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
        let mut worst: f64 = 0.0;
        for k in 1..4000 {
            let p = f64::from(k) / 4000.0;
            worst = worst.max((below(normal_quantile(p)) - p).abs());
        }
        for p in [1e-300, 1e-100, 1e-20, 1e-9, 1e-5] {
            worst = worst.max((below(normal_quantile(p)) / p - 1.0).abs());
        }
        println!("largest error of the inverse normal: {worst:e}");
        assert!(worst < 1e-12, "{worst:e}");
    }

    #[test]
    fn shares_and_values_are_each_others_inverse() {
        let all = [
            Spread::Normal { sd: 0.3 },
            Spread::Rectangular { lo: 1.0, hi: 4.0 },
            Spread::Triangular { lo: 1.0, mode: 2.5, hi: 4.0 },
            Spread::Triangular { lo: 1.0, mode: 1.0, hi: 4.0 },
            Spread::Triangular { lo: 1.0, mode: 4.0, hi: 4.0 },
        ];
        for spread in all {
            let q = Uncertain { nominal: 2.5, spread };
            for k in 1..200 {
                let u = f64::from(k) / 200.0;
                assert!((q.share_below(q.at(u)) - u).abs() < 1e-12, "{spread:?} {u}");
            }
        }
    }

    #[test]
    fn inverse_normal_meets_the_values_printed_with_the_algorithm() {
        // Wichura 1988, check values of PPND16 (from memory).
        for (p, z) in [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_813_5),
            (1e-20, -9.262_340_089_798_408),
        ] {
            assert!((normal_quantile(p) - z).abs() < 2e-15 * z.abs(), "{p}: {}", normal_quantile(p));
        }
        assert!((normal_quantile(BELOW_CUT) + CUT_SD).abs() < 1e-14);
    }
}
