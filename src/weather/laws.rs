//! The laws that clouds are drawn from, as tables of their inverse CDFs: a draw is a look-up.

use std::sync::LazyLock;

/// Entries of a table: a draw's ten highest bits choose one.
pub const ENTRIES: usize = 1024;

/// A law as its quantiles at the middles of `ENTRIES` equal shares of probability.
#[derive(Debug)]
pub struct Law(Vec<f64>);

impl Law {
    fn from_quantile(quantile: impl Fn(f64) -> f64) -> Law {
        Law((0..ENTRIES).map(|i| quantile((i as f64 + 0.5) / ENTRIES as f64)).collect())
    }
    /// The quantile of a 32-bit draw.
    #[inline(always)]
    pub fn at(&self, draw: u32) -> f64 {
        self.0[(draw >> 22) as usize]
    }
    /// The table, from the lowest quantile up.
    pub fn table(&self) -> &[f64] {
        &self.0
    }
}

/// The tables; built on first use.
#[derive(Debug)]
pub struct Laws {
    /// Length of a cloud along the wind, m.
    pub chord_m: Law,
    /// Speed of clouds, m/s.
    pub speed_m_s: Law,
    /// Exponential with mean 1: gaps between clouds, before they are scaled to fill their share.
    pub gap: Law,
    /// Standard normal.
    pub normal: Law,
}

/// The laws.
pub static LAWS: LazyLock<Laws> = LazyLock::new(|| Laws {
    chord_m: Law::from_quantile(|p| chord_m(1.0 - p)),
    speed_m_s: gamma_law(2.69, 2.14),
    gap: Law::from_quantile(|p| -libm::log(1.0 - p)),
    normal: Law::from_quantile(normal_quantile),
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

/// Standard normal quantile by Newton steps on libm's erfc, |error| < 1e-12 for 1e-6 < p < 1 - 1e-6.
pub fn normal_quantile(p: f64) -> f64 {
    let mut x = 0.0;
    for _ in 0..60 {
        let cdf = 0.5 * libm::erfc(-x / std::f64::consts::SQRT_2);
        let density = libm::exp(-0.5 * x * x) / libm::sqrt(std::f64::consts::TAU);
        let step = ((cdf - p) / density).clamp(-1.0, 1.0);
        x -= step;
        if step.abs() < 1e-14 {
            break;
        }
    }
    x
}

/// Gamma law by summing its density on a fine grid and reading the sum backwards.
/// Cloud speed: shape 2.69, scale 2.14 m/s, Mathiesen et al. 2013 (as used by Bright et al. 2015).
fn gamma_law(shape: f64, scale: f64) -> Law {
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
    Law::from_quantile(|p| {
        let i = cdf.partition_point(|&c| c < p).clamp(1, STEPS);
        let share = (p - cdf[i - 1]) / (cdf[i] - cdf[i - 1]);
        (i as f64 - 1.0 + share) * step
    })
}
