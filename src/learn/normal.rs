//! The normal distribution.

/// ln √(2π).
const LN_ROOT_TAU: f64 = 0.918_938_533_204_672_7;

/// Distribution function.
pub(crate) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Density at `x` of a mean and a standard deviation.
pub(crate) fn density(x: f64, mean: f64, sd: f64) -> f64 {
    let z = (x - mean) / sd;
    libm::exp(-0.5 * z * z - LN_ROOT_TAU) / sd
}

/// ln of the density of independent standard normal numbers, without its constant.
pub(crate) fn log_standard(z: &[f64]) -> f64 {
    -0.5 * z.iter().map(|x| x * x).sum::<f64>()
}
