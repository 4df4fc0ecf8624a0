//! The move of a unit: Crank-Nicolson steps around a fitted normal distribution instead of the prior.
//!
//! y = μ + √(1-b²) (z - μ) + b L ξ with C = L Lᵀ leaves N(μ, C) unchanged (Cotter et al. 2013, Statist. Sci. 28:424-446; with a
//! fitted reference: Kantas, Beskos & Jasra 2014, SIAM/ASA JUQ 2:464; both from memory).

use super::normal;

/// Independent units that a different row is worth, about: rows are what some units were on their way.
const INDEPENDENT: f64 = 0.6;
/// Errors of an estimated correlation up to which it is taken for none.
const CORRELATION_ERRORS: f64 = 3.5;

/// A normal distribution fitted to rows.
#[derive(Clone, Debug)]
pub struct Reference {
    mean: Vec<f64>,
    /// Lower triangle of the root of the covariance, row by row.
    root: Vec<Vec<f64>>,
}

impl Reference {
    /// Of a mean and a covariance; `None` if the covariance is not positive definite.
    pub fn new(mean: Vec<f64>, covariance: &[Vec<f64>]) -> Option<Reference> {
        let n = mean.len();
        let mut root = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
                let rest = covariance[i][j] - known;
                if i == j {
                    if rest.is_nan() || rest <= 0.0 {
                        return None;
                    }
                    root[i][i] = rest.sqrt();
                } else {
                    root[i][j] = rest / root[j][j];
                }
            }
        }
        Some(Reference { mean, root })
    }

    /// Fitted to rows. What they do not clearly say otherwise is left as it was believed: most quantities of a design are told little about by a
    /// logbook, and a reference that took the scatter of some hundred rows for knowledge in each of them would refuse good moves. Means and
    /// variances are pulled towards 0 and 1 by their own errors (as James & Stein pull means, 1961, from memory), small correlations to none.
    pub fn fitted(rows: &[&[f64]]) -> Reference {
        let dim = rows.first().map_or(0, |r| r.len());
        let n = INDEPENDENT * different(rows).max(5) as f64;
        let (mean, covariance) = moments(rows, dim);
        let variance: Vec<f64> = (0..dim).map(|k| covariance[k][k].max(1e-6)).collect();
        let kept_variance: Vec<f64> =
            variance.iter().map(|v| 1.0 + pulled(v - 1.0, 2.0 * v.max(1.0) * v.max(1.0) / n)).collect();
        let kept_mean: Vec<f64> =
            mean.iter().zip(&variance).map(|(m, v)| pulled(*m, v.max(1e-6) / n)).collect();
        let mut share = 1.0;
        while share > 0.1 {
            let mut fitted = vec![vec![0.0; dim]; dim];
            for i in 0..dim {
                for j in 0..i {
                    let r = covariance[i][j] / (variance[i] * variance[j]).sqrt();
                    let clear = r.abs() * n.sqrt() > CORRELATION_ERRORS;
                    let kept = if clear { share * pulled(r, 1.0 / n) } else { 0.0 };
                    fitted[i][j] = kept * (kept_variance[i] * kept_variance[j]).sqrt();
                }
                fitted[i][i] = kept_variance[i];
            }
            if let Some(reference) = Reference::new(kept_mean.clone(), &fitted) {
                return reference;
            }
            share *= 0.8;
        }
        Reference::standard(dim)
    }

    /// The prior.
    pub fn standard(dim: usize) -> Reference {
        let root = (0..dim).map(|i| (0..dim).map(|j| f64::from(u8::from(i == j))).collect()).collect();
        Reference { mean: vec![0.0; dim], root }
    }

    /// A move of step `b` (0..=1) from `z` with standard normal numbers `xi`.
    pub fn moved(&self, z: &[f64], b: f64, xi: &[f64]) -> Vec<f64> {
        let keep = (1.0 - b * b).sqrt();
        (0..z.len())
            .map(|i| {
                let step: f64 = self.root[i][..=i].iter().zip(xi).map(|(l, x)| l * x).sum();
                self.mean[i] + keep * (z[i] - self.mean[i]) + b * step
            })
            .collect()
    }

    /// ln of its density, without the constant.
    fn log_density(&self, y: &[f64]) -> f64 {
        let mut solved: Vec<f64> = Vec::with_capacity(y.len());
        for (i, (y, mean)) in y.iter().zip(&self.mean).enumerate() {
            let known: f64 = self.root[i][..i].iter().zip(&solved).map(|(l, s)| l * s).sum();
            solved.push((y - mean - known) / self.root[i][i]);
        }
        normal::log_standard(&solved)
    }

    /// ln of the ratio by which a move from `z` to `y` is accepted, as far as the likelihood has no part in it.
    fn log_prior_ratio(&self, z: &[f64], y: &[f64]) -> f64 {
        normal::log_standard(y) - normal::log_standard(z) - self.log_density(y) + self.log_density(z)
    }

    /// Gain of the log likelihood above which a move from `z` to `y` is accepted, at a temperature `phi` above 0 and for ln of a drawn
    /// chance.
    pub fn gain_to_accept(&self, z: &[f64], y: &[f64], phi: f64, log_chance: f64) -> f64 {
        (log_chance - self.log_prior_ratio(z, y)) / phi
    }
}

/// An estimate pulled towards 0 by the square of its error.
fn pulled(estimate: f64, square: f64) -> f64 {
    estimate * (1.0 - square / (estimate * estimate).max(1e-300)).max(0.0)
}

/// Different rows: those that were copied are told by their first numbers.
fn different(rows: &[&[f64]]) -> usize {
    let seen: std::collections::BTreeSet<u64> =
        rows.iter().filter_map(|r| r.first()).map(|x| x.to_bits()).collect();
    seen.len()
}

/// Mean and covariance of rows.
fn moments(rows: &[&[f64]], dim: usize) -> (Vec<f64>, Vec<Vec<f64>>) {
    let n = rows.len() as f64;
    let mut mean = vec![0.0; dim];
    for row in rows {
        for (m, x) in mean.iter_mut().zip(*row) {
            *m += x / n;
        }
    }
    let mut covariance = vec![vec![0.0; dim]; dim];
    for row in rows {
        for i in 0..dim {
            for j in 0..=i {
                covariance[i][j] += (row[i] - mean[i]) * (row[j] - mean[j]) / n;
            }
        }
    }
    (mean, covariance)
}
