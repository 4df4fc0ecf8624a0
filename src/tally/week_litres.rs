//! Trials by the litres a week that their basin loses, in bins of equal ratio: from a few drops to a pool.

use super::codec::tally_field;
use super::summary::LitreSpread;
use crate::units::normal_quantile;

/// Bins of a decade: each is 5.9 % wide.
const BINS_A_DECADE: f64 = 40.0;
/// Lower end of the second bin, L a week; the first holds what is less.
const LEAST_L: f64 = 1e-3;
/// Eight decades.
const BINS: usize = 321;

/// Trials by litres a week.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct WeekLitres {
    bins: [u64; BINS],
}
tally_field!(WeekLitres { bins });

impl Default for WeekLitres {
    fn default() -> Self {
        WeekLitres { bins: [0; BINS] }
    }
}

impl WeekLitres {
    /// Adds a trial.
    pub(super) fn count(&mut self, litres: f64) {
        let place = BINS_A_DECADE * libm::log10(litres.max(LEAST_L) / LEAST_L);
        // `as` truncates, and gives 0 for NaN.
        let bin = match litres > LEAST_L {
            true => (1 + place as usize).min(BINS - 1),
            false => 0,
        };
        self.bins[bin] = self.bins[bin].wrapping_add(1);
    }

    /// P10, P50 and P90 with their 95 % intervals; `None` without trials.
    pub(super) fn spread(&self) -> Option<LitreSpread> {
        let n: u128 = self.bins.iter().map(|&b| u128::from(b)).sum();
        let n = (n > 0).then_some(n as f64)?;
        // The number of trials below a percentile is binomial: its limits are those of the percentile's rank.
        let z = normal_quantile(0.975);
        let at = |p: f64| {
            let half = z * (p * (1.0 - p) / n).sqrt() + 0.5 / n;
            (self.quantile(p, n), [self.quantile(p - half, n), self.quantile(p + half, n)])
        };
        let ((p10, p10_95), (p50, p50_95), (p90, p90_95)) = (at(0.1), at(0.5), at(0.9));
        Some(LitreSpread { p10, p10_95, p50, p50_95, p90, p90_95 })
    }

    /// The value below which a share of the `n` trials lies, on a straight line over the logarithm within a bin.
    fn quantile(&self, share: f64, n: f64) -> f64 {
        let (target, mut below) = (share.clamp(0.0, 1.0) * n, 0.0);
        let lower = |bin: usize| match bin {
            0 => 0.0,
            _ => LEAST_L * libm::pow(10.0, (bin - 1) as f64 / BINS_A_DECADE),
        };
        let mut last = 0.0;
        for (bin, &count) in self.bins.iter().enumerate().filter(|(_, c)| **c > 0) {
            let count = count as f64;
            let part = ((target - below) / count).clamp(0.0, 1.0);
            last = match bin {
                0 => part * LEAST_L,
                _ => lower(bin) * libm::pow(10.0, part / BINS_A_DECADE),
            };
            below += count;
            if below >= target {
                return last;
            }
        }
        last
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_distr::{Distribution, LogNormal};

    #[test]
    fn percentiles_are_those_of_the_values() {
        let mut w = WeekLitres::default();
        (1..=1000).for_each(|k| w.count(f64::from(k) / 10.0));
        let s = w.spread().expect("trials");
        for (found, expected) in [(s.p10, 10.0), (s.p50, 50.0), (s.p90, 90.0)] {
            assert!((found / expected - 1.0).abs() < 0.02, "{found} for {expected}");
        }
        assert!(s.p10_95[0] < s.p10 && s.p10 < s.p10_95[1]);
        assert!(WeekLitres::default().spread().is_none());
    }

    #[test]
    fn nothing_lost_is_nothing_and_a_flood_has_its_bin() {
        let (mut none, mut flood) = (WeekLitres::default(), WeekLitres::default());
        none.count(0.0);
        flood.count(1e9);
        assert!(none.spread().expect("a trial").p90 <= LEAST_L);
        assert!(flood.spread().expect("a trial").p10 > 9e4);
    }

    /// Of 400 runs of 100 drawn seasons the interval holds the true percentile in 92 to 98 %.
    #[test]
    fn the_intervals_cover() {
        let law = LogNormal::new(1.0, 0.9).expect("a law");
        let mut rng = crate::seed::stream(3, crate::seed::Purpose::Resample, 0, 0);
        let truth = |p: f64| libm::exp(1.0 + 0.9 * normal_quantile(p));
        let mut covered = [0; 3];
        for _ in 0..400 {
            let mut w = WeekLitres::default();
            (0..100).for_each(|_| w.count(law.sample(&mut rng)));
            let s = w.spread().expect("trials");
            for (k, (p, [lo, hi])) in
                [(0.1, s.p10_95), (0.5, s.p50_95), (0.9, s.p90_95)].into_iter().enumerate()
            {
                covered[k] += usize::from(lo <= truth(p) && truth(p) <= hi);
            }
        }
        assert!(covered.iter().all(|c| (368..=392).contains(c)), "{covered:?}");
    }
}
