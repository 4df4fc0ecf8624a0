//! A head that hunts: motors that turn for nothing, because the head overshoots or because of noise.
//!
//! *Overshoot.* A motor runs at full speed v while the error seen is outside the dead band ± d. It is seen with a delay t, and the motor
//! coasts by x after the command ends. It crosses the whole band, and turns back again and again, if v t + x > 2 d. In each half of
//! the cycle the motor is off for 2 d/v and on for 2 t + (x - 2 d)/v, so it is on for 1 - 2 d/(2 v t + x) of the time; the error
//! reaches v t + x - d (derived; the tests hold both against a simulation).
//!
//! *Noise* of standard deviation s in the contrast is outside a band e for 2 Phi(-e/s) of the time; the motors run then. This leaves
//! out that the light draws the head back, so it holds for even skies and is a lower bound near the edge of the band.

use crate::lanes::{Lane, Mask, math};

/// Noise under clouds that pass, over that of the electronics alone: 1 to 3 % over 0.2 to 0.5 % (common practice, no source).
const PASSING_CLOUD: f64 = 5.0;
/// Share of a minute from which a head is said to hunt: some twenty starts an hour (common practice; noise outside a band three times
/// its standard deviation).
pub(crate) const HUNTS_FROM: f64 = 0.002;

/// 2 Phi(-x) for x >= 0, of the standard normal distribution: within 2e-7 (Abramowitz & Stegun 1964, equation 7.1.26; from memory,
/// a test holds it against the error function).
#[inline(always)]
fn outside<V: Lane>(x: V) -> V {
    let c = V::splat;
    let z = x * c(std::f64::consts::FRAC_1_SQRT_2);
    let t = c(1.0) / (c(1.0) + c(0.327_591_1) * z);
    let mut series = c(1.061_405_429);
    for k in [-1.453_152_027, 1.421_413_741, -0.284_496_736, 0.254_829_592] {
        series = series * t + c(k);
    }
    series * t * math::exp((-(z * z)).max(c(-80.0)))
}

/// Share of the time that noise alone makes the motors turn, under a sky that is `patchy` (0 clear or closed, 1 half). Contrast of the dead
/// band, and standard deviation of the noise in steady light.
#[inline(always)]
pub(crate) fn noise_share<V: Lane>(band: V, noise: V, patchy: V) -> V {
    let c = V::splat;
    let noise = noise * (c(1.0) + c(PASSING_CLOUD - 1.0) * patchy);
    outside(band / noise.max(c(1e-6)))
}

/// Share of the time that overshoot makes the motors turn, with a dead band of ± an angle. They run on by `run_on` before they stop or
/// turn, and coast; all in rad.
#[inline(always)]
pub(crate) fn overshoot_share<V: Lane>(band: V, run_on: V, coast: V) -> V {
    let c = V::splat;
    let both = c(2.0) * band;
    let overshoot = run_on + coast;
    let hunts = overshoot.gt(both);
    // Few heads ever do.
    if !hunts.any() {
        return c(0.0);
    }
    V::only(hunts, c(1.0) - both / (run_on + overshoot).max(c(1e-9)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_share_outside_is_that_of_the_normal_distribution() {
        for k in 0..=600 {
            let x = 0.01 * f64::from(k);
            let exact = libm::erfc(x * std::f64::consts::FRAC_1_SQRT_2);
            assert!((outside(x) - exact).abs() < 2e-7, "{x}: {} {exact}", outside(x));
        }
        assert!(outside(1e6) < 1e-30);
    }
}
