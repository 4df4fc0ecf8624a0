//! Means and variances of months and years whose days are quantiles of a correlated normal series, computed without drawing.
//!
//! The quantile function of a month is expanded in Hermite polynomials; of two days whose normal numbers are correlated
//! by r, the k-th coefficients have the covariance c_k² r^k. (The expansion is the standard one of Gaussian
//! processes; Mehler 1866.)

use super::distribution::Distribution;

/// Terms of the expansion.
const TERMS: usize = 10;
/// Half-width and step of the integration over z.
const Z_MAX: f64 = 5.0;
const Z_STEPS: usize = 100;

/// A month: how its days are distributed.
#[derive(Clone, Copy, Debug)]
pub struct MonthMoments {
    /// Days.
    pub days: usize,
    /// Energy at index 1, Wh/m².
    pub clear_wh_m2: f64,
    /// Mean index, weighted by clear-sky energy.
    pub mean: f64,
    /// Variance of a day's index about the mean of its date.
    pub variance: f64,
    /// Squared coefficients c_k², k from 1, scaled to sum to the variance.
    pub square: [f64; TERMS],
    /// The coefficients.
    pub c: [f64; TERMS],
}

/// How the normal series remembers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Memory {
    /// Correlation of the fast part from one day to the next.
    pub fast: f64,
    /// Correlation of the slow part from one day to the next.
    pub slow: f64,
    /// Variance of the slow part, of 1, by month.
    pub slow_variance: [f64; 12],
    /// Variance of the part common to a year, of 1.
    pub year_variance: f64,
}

impl MonthMoments {
    /// Of the days of a month under `distribution` at `scale * z + shift`; `clear` has the energy of each day of the year at
    /// index 1.
    pub fn new(
        distribution: &Distribution,
        days: std::ops::Range<usize>,
        clear_wh_m2: &[f64],
        scale: f64,
        shift: f64,
    ) -> MonthMoments {
        let n = days.len();
        let sum: f64 = clear_wh_m2[days.clone()].iter().sum();
        let weight = |d: usize| if sum > 0.0 { clear_wh_m2[d] / sum } else { 1.0 / n as f64 };
        let step = 2.0 * Z_MAX / Z_STEPS as f64;
        let (mut c, mut mean, mut variance) = ([0.0; TERMS], 0.0, 0.0);
        let mut of_date = vec![(0.0, 0.0); n];
        for i in 0..=Z_STEPS {
            let z = i as f64 * step - Z_MAX;
            let p = step * libm::exp(-0.5 * z * z) / libm::sqrt(std::f64::consts::TAU);
            let mut q = 0.0;
            for (k, d) in days.clone().enumerate() {
                let value = distribution.at(d, scale * z + shift);
                q += weight(d) * value;
                of_date[k].0 += p * value;
                of_date[k].1 += p * value * value;
            }
            mean += p * q;
            // He_k/√k! by recurrence.
            let (mut before, mut now) = (1.0, z);
            for (k, c) in c.iter_mut().enumerate() {
                *c += p * q * now;
                let k = (k + 1) as f64;
                (before, now) = (now, (z * now - k.sqrt() * before) / (k + 1.0).sqrt());
            }
        }
        for (k, d) in days.clone().enumerate() {
            variance += weight(d) * (of_date[k].1 - of_date[k].0 * of_date[k].0).max(0.0);
        }
        let all: f64 = c.iter().map(|c| c * c).sum();
        let scale = if all > 0.0 { (variance / all).sqrt() } else { 0.0 };
        let c = c.map(|c| scale * c);
        MonthMoments { days: n, clear_wh_m2: sum, mean, variance, square: c.map(|c| c * c), c }
    }

    /// Σ c_k² r^k.
    fn covariance(&self, r: f64) -> f64 {
        powers(&self.square, r)
    }

    /// Variance of the month's mean index.
    pub fn variance_of_mean(&self, memory: &Memory, month: usize) -> f64 {
        let n = self.days as f64;
        let (v, y) = (memory.slow_variance[month], memory.year_variance);
        let (mut fast, mut slow) = (1.0, 1.0);
        let mut sum = n * self.variance;
        for l in 1..self.days {
            (fast, slow) = (fast * memory.fast, slow * memory.slow);
            let r = (1.0 - v - y) * fast + v * slow + y;
            sum += 2.0 * (n - l as f64) * self.covariance(r);
        }
        sum / (n * n)
    }
}

/// Variance of the sum of a year over its squared mean.
pub fn squared_variation_of_year(months: &[MonthMoments; 12], memory: &Memory) -> f64 {
    let (v, y) = (&memory.slow_variance, memory.year_variance);
    let mean: f64 = months.iter().map(|m| m.clear_wh_m2 * m.mean).sum();
    let mut sum = 0.0;
    for (i, a) in months.iter().enumerate() {
        sum += a.clear_wh_m2 * a.clear_wh_m2 * a.variance_of_mean(memory, i);
        for (j, b) in months.iter().enumerate().skip(i + 1) {
            // Between the middles of months, the short way round within the year.
            let apart = 30.4 * (j - i) as f64;
            let mut r = (v[i] * v[j]).sqrt() * libm::pow(memory.slow, apart) + y;
            if j == i + 1 {
                let near: f64 = (1..15).map(|l| f64::from(l) * libm::pow(memory.fast, f64::from(l))).sum();
                let fast = ((1.0 - v[i] - y) * (1.0 - v[j] - y)).max(0.0).sqrt();
                r += fast * near / (a.days * b.days).max(1) as f64;
            }
            let both: [f64; TERMS] = std::array::from_fn(|k| a.c[k] * b.c[k]);
            sum += 2.0 * a.clear_wh_m2 * b.clear_wh_m2 * powers(&both, r);
        }
    }
    if mean > 0.0 { sum / (mean * mean) } else { 0.0 }
}

/// Correlation of the index of neighbouring days whose normal numbers are correlated by `r`.
pub fn lag_1(months: &[MonthMoments; 12], r: f64) -> f64 {
    let days = |m: &MonthMoments| m.days as f64;
    let all: f64 = months.iter().map(|m| days(m) * m.variance).sum();
    let with: f64 = months.iter().map(|m| days(m) * m.covariance(r)).sum();
    if all > 0.0 { with / all } else { 0.0 }
}

/// Σ a_k r^k, k from 1.
fn powers(a: &[f64; TERMS], r: f64) -> f64 {
    a.iter().rev().fold(0.0, |sum, a| r * (a + sum))
}
