//! Normal numbers by inverse CDF.

use crate::seed::open_unit;
use rand::rngs::ChaCha8Rng;

/// A standard normal number; takes one draw.
pub fn draw(rng: &mut ChaCha8Rng) -> f64 {
    quantile(open_unit(rng))
}

/// The value below which a standard normal number lies with chance `p`, 0 < p < 1, to 16 digits
/// (Wichura 1988, algorithm AS 241, PPND16; coefficients from memory, held by a test).
fn quantile(p: f64) -> f64 {
    const A: [f64; 8] = [
        3.387_132_872_796_366_5,
        133.141_667_891_784_38,
        1_971.590_950_306_551_3,
        13_731.693_765_509_46,
        45_921.953_931_549_87,
        67_265.770_927_008_7,
        33_430.575_583_588_13,
        2_509.080_928_730_122_7,
    ];
    const B: [f64; 8] = [
        1.0,
        42.313_330_701_600_91,
        687.187_007_492_057_9,
        5_394.196_021_424_751,
        21_213.794_301_586_597,
        39_307.895_800_092_71,
        28_729.085_735_721_943,
        5_226.495_278_852_854,
    ];
    const C: [f64; 8] = [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        0.241_780_725_177_450_6,
        0.022_723_844_989_269_184,
        7.745_450_142_783_414e-4,
    ];
    const D: [f64; 8] = [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        0.689_767_334_985_1,
        0.148_103_976_427_480_08,
        0.015_198_666_563_616_457,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ];
    const E: [f64; 8] = [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        0.296_560_571_828_504_87,
        0.026_532_189_526_576_124,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ];
    const F: [f64; 8] = [
        1.0,
        0.599_832_206_555_888,
        0.136_929_880_922_735_8,
        0.014_875_361_290_850_615,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_8e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ];
    let ratio = |num: &[f64; 8], den: &[f64; 8], x: f64| {
        let horner = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, c| sum * x + c);
        horner(num) / horner(den)
    };
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(&A, &B, 0.180_625 - q * q);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-libm::log(tail)).sqrt();
    let z = if r <= 5.0 { ratio(&C, &D, r - 1.6) } else { ratio(&E, &F, r - 5.0) };
    if q < 0.0 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::quantile;

    #[test]
    fn it_undoes_the_normal_distribution() {
        // The distribution by the complementary error function, an independent way round.
        for k in 1..1000 {
            let z = -8.0 + 0.016 * f64::from(k);
            let p = 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
            if p > 0.5 && 1.0 - p < 1e-9 {
                continue; // 1 - p has lost its digits
            }
            let slope = libm::exp(-0.5 * z * z) / 2.506_628_274_631_000_5;
            assert!((quantile(p) - z).abs() < 1e-13 + 4e-16 * p / slope, "{z}: {}", quantile(p) - z);
        }
        // Printed in every table: 97.5 %.
        assert!((quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
    }
}
