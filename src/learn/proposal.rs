//! The move of a unit: Crank-Nicolson steps around a fitted normal distribution instead of the prior.
//!
//! y = μ + √(1-b²) (z - μ) + b L ξ with C = L Lᵀ leaves N(μ, C) unchanged (Cotter et al. 2013, Statist. Sci. 28:424-446; with a
//! fitted reference: Kantas, Beskos & Jasra 2014, SIAM/ASA JUQ 2:464; both from memory).

use super::normal;

/// Strength of the shrinkage of a fit: as many pseudo-rows for each dimension.
const SHRINKAGE: f64 = 5.0;

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

    /// Fitted to rows, with correlations shrunk towards none and the mean towards 0.
    pub fn fitted(rows: &[&[f64]]) -> Reference {
        let dim = rows.first().map_or(0, |r| r.len());
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
        let keep = n / (n + SHRINKAGE * dim as f64);
        for (i, line) in covariance.iter_mut().enumerate() {
            line.iter_mut().take(i).for_each(|c| *c *= keep);
            line[i] = line[i].max(1e-6);
        }
        mean.iter_mut().for_each(|m| *m *= keep);
        let prior = Reference::standard(dim);
        Reference::new(mean, &covariance).unwrap_or(prior)
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
