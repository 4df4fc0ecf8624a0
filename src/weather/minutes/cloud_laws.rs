//! The distributions that clouds are drawn from.

use crate::weather::quantile_table::QuantileTable;
use std::sync::LazyLock;

/// The tables; built on first use.
#[derive(Debug)]
pub struct CloudLaws {
    /// Length of a cloud along the wind, m.
    pub chord_m: QuantileTable,
    /// Speed of clouds, m/s.
    pub speed_m_s: QuantileTable,
    /// Exponential with mean 1: gaps between clouds, before they are scaled to fill their share.
    pub gap: QuantileTable,
}

/// The tables, for all threads.
pub static CLOUD_LAWS: LazyLock<CloudLaws> = LazyLock::new(|| CloudLaws {
    chord_m: QuantileTable::new(|p| chord_m(1.0 - p)),
    speed_m_s: gamma_law(2.69, 2.14),
    gap: QuantileTable::new(|p| -libm::log(1.0 - p)),
});

/// Chord length of a cloud, m, from a uniform number; 0 gives the longest.
/// Power law n(x) ~ x^-1.66 between 100 m and 1000 km, Wood & Field 2011, J. Climate 24:4800.
pub fn chord_m(u: f64) -> f64 {
    const BETA: f64 = 1.66;
    let (short, long) = (100.0, 1.0e6);
    let a = libm::pow(long, 1.0 - BETA);
    let b = libm::pow(short, 1.0 - BETA);
    libm::pow(a + u * (b - a), 1.0 / (1.0 - BETA))
}

/// Quantiles of a gamma distribution: its density is summed on a fine grid, and the sum inverted.
/// Cloud speed: shape 2.69, scale 2.14 m/s, Mathiesen et al. 2013 (as used by Bright et al. 2015).
fn gamma_law(shape: f64, scale: f64) -> QuantileTable {
    const STEPS: usize = 40_000;
    let step = 20.0 * scale / STEPS as f64;
    let norm = libm::tgamma(shape) * libm::pow(scale, shape);
    let mut cdf = Vec::with_capacity(STEPS + 1);
    let mut sum = 0.0;
    cdf.push(0.0);
    for i in 0..STEPS {
        let x = (i as f64 + 0.5) * step;
        sum += step * libm::pow(x, shape - 1.0) * libm::exp(-x / scale) / norm;
        cdf.push(sum);
    }
    QuantileTable::new(|p| {
        let i = cdf.partition_point(|&c| c < p).clamp(1, STEPS);
        let share = (p - cdf[i - 1]) / (cdf[i] - cdf[i - 1]);
        (i as f64 - 1.0 + share) * step
    })
}
