//! Lives of parts: Weibull's distribution, by its median.

/// A Weibull distribution of lives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Weibull {
    /// Half of the parts live so long.
    pub median: f64,
    /// 1: failures by chance; above: by wear.
    pub shape: f64,
}

impl Weibull {
    /// The life at a share `u` (0..1) of all lives.
    pub(super) fn at(self, u: f64) -> f64 {
        self.median * libm::pow(libm::log1p(-u) / -core::f64::consts::LN_2, 1.0 / self.shape)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, open_unit, stream};

    #[test]
    fn half_live_longer_than_the_median_and_chance_failures_are_exponential() {
        let life = Weibull { median: 3000.0, shape: 2.5 };
        assert!((life.at(0.5) - 3000.0).abs() < 1e-9);
        assert!(life.at(0.1) < 0.6 * 3000.0 && life.at(0.9) > 1.4 * 3000.0);
        let chance = Weibull { median: core::f64::consts::LN_2, shape: 1.0 };
        assert!((chance.at(0.9) - libm::log(10.0)).abs() < 1e-12);
    }

    /// Expected replacements in 1, 2 and 4 mean lives: values of the renewal function computed by Xie's midpoint rule (1989, Commun.
    /// Statist. Simul. 18:281); four standard errors of 20,000 renewals.
    #[test]
    fn replacements_follow_the_renewal_function() {
        for (shape, gamma, table) in [
            // Mean over scale is Γ(1 + 1/shape).
            (2.0, 0.886_226_925_452_758, [0.624, 1.638, 3.637]),
            (3.0, 0.892_979_511_569_249, [0.531, 1.559, 3.566]),
        ] {
            let scale_over_median = 1.0 / libm::pow(core::f64::consts::LN_2, 1.0 / shape);
            let life = Weibull { median: 1.0 / (scale_over_median * gamma), shape };
            for (span, expected) in [1.0, 2.0, 4.0].into_iter().zip(table) {
                let (mut sum, mut squares) = (0.0, 0.0);
                const UNITS: u64 = 20_000;
                for unit in 0..UNITS {
                    let mut rng = stream(61, Purpose::Resample, unit, 0);
                    let (mut t, mut replaced) = (life.at(open_unit(&mut rng)), 0.0);
                    while t <= span {
                        replaced += 1.0;
                        t += life.at(open_unit(&mut rng));
                    }
                    sum += replaced;
                    squares += replaced * replaced;
                }
                let n = UNITS as f64;
                let mean = sum / n;
                let se = ((squares / n - mean * mean) / n).sqrt();
                println!(
                    "shape {shape}, {span} mean lives: {mean:.4} ± {se:.4}, renewal function {expected}"
                );
                // The table has three decimals.
                assert!((mean - expected).abs() < 4.0 * se + 5e-4);
            }
        }
    }
}
