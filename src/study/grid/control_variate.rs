//! Adjusts cells that stopped early by regression on similar cells (control variates).
//!
//! A cell that stopped early has met fewer seasons than one that went on. Its mean is corrected by what the other seasons
//! did to the most similar cell (regression estimate of two-phase sampling: Cochran 1977, Sampling Techniques, chapter 12,
//! from memory), so that neighbours on a map do not differ by the luck of their seasons.

use crate::tally::summary::Estimate;

/// Sums over the trials that two builds share; x of the first, y of the second.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    n: u64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

/// Sums of one quantity over the trials of each pair of builds. Memory grows with the number of builds, not of trials.
#[derive(Clone, Debug)]
pub(super) struct ControlVariate {
    builds: usize,
    /// For builds i <= j, row by row.
    pairs: Vec<Sums>,
}

/// Minimum number of trials for a regression.
const LEAST: u64 = 30;

impl ControlVariate {
    /// Without trials yet.
    pub(crate) fn new(builds: usize) -> ControlVariate {
        ControlVariate { builds, pairs: vec![Sums::default(); builds * (builds + 1) / 2] }
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * self.builds - i * (i + 1) / 2 + j
    }

    /// Adds one trial: the builds simulated, in increasing order, and the value of each if it is known.
    pub(crate) fn take(&mut self, seen: &[(usize, Option<f64>)]) {
        for (k, &(i, x)) in seen.iter().enumerate() {
            let Some(x) = x else { continue };
            for &(j, y) in &seen[k..] {
                let Some(y) = y else { continue };
                let at = self.at(i, j);
                let s = &mut self.pairs[at];
                s.n += 1;
                s.x += x;
                s.y += y;
                s.xx += x * x;
                s.xy += x * y;
                s.yy += y * y;
            }
        }
    }

    /// Sums of a pair, x of `helper` and y of `of`.
    fn pair(&self, helper: usize, of: usize) -> Sums {
        if helper <= of {
            return self.pairs[self.at(helper, of)];
        }
        let s = self.pairs[self.at(of, helper)];
        Sums { x: s.y, y: s.x, xx: s.yy, yy: s.xx, ..s }
    }

    /// Trials of a build.
    pub fn trials(&self, of: usize) -> u64 {
        self.pairs[self.at(of, of)].n
    }

    /// Mean and standard error from the build's own trials; `None` before any.
    pub(crate) fn own(&self, of: usize) -> Option<Estimate> {
        let s = self.pairs[self.at(of, of)];
        let n = s.n as f64;
        (s.n > 0).then(|| {
            Estimate::new(s.y / n, (s.n > 1).then(|| (spread(s.yy, s.y, s.n) / (n - 1.0) / n).sqrt()))
        })
    }

    /// The same, adjusted by the build with more trials that reduces the error most; its own mean if none does.
    pub(crate) fn estimate(&self, of: usize) -> Option<Estimate> {
        let mut best = self.own(of)?;
        if self.trials(of) < LEAST {
            return Some(best);
        }
        for helper in (0..self.builds).filter(|&h| self.trials(h) > self.trials(of)) {
            if let Some(e) = self.helped(helper, of)
                && e.se.zip(best.se).is_some_and(|(a, b)| a < b)
            {
                best = e;
            }
        }
        Some(best)
    }

    /// ȳ + b (X̄ - x̄), with variance s²(1 - r²)/n + s² r²/N: n trials of both, N of the helper.
    fn helped(&self, helper: usize, of: usize) -> Option<Estimate> {
        let s = self.pair(helper, of);
        let all = self.own(helper)?;
        if s.n < LEAST {
            return None;
        }
        let n = s.n as f64;
        let (sxx, syy) = (spread(s.xx, s.x, s.n), spread(s.yy, s.y, s.n));
        let sxy = s.xy - s.x * s.y / n;
        if !(sxx > 0.0 && syy > 0.0) {
            return None;
        }
        let slope = sxy / sxx;
        // The line takes two degrees of freedom.
        let about_line = (syy - slope * sxy).max(0.0) / (n - 2.0);
        let along_line = (syy / (n - 1.0) - about_line).max(0.0);
        let variance = about_line / n + along_line / self.trials(helper) as f64;
        Some(Estimate::new(s.y / n + slope * (all.mean - s.x / n), Some(variance.sqrt())))
    }
}

/// Σ(v - v̄)², from Σv² and Σv of n values.
fn spread(squares: f64, sum: f64, n: u64) -> f64 {
    (squares - sum * sum / n as f64).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, stream};
    use rand_distr::{Binomial, Distribution};

    /// Counts of 30 days that two builds share and of some each has for itself.
    fn season(sample: u64, trial: u64) -> (f64, f64) {
        let mut luck = stream(11, Purpose::Resample, sample, trial);
        let mut days = |n: u64, p: f64| Binomial::new(n, p).unwrap().sample(&mut luck) as f64;
        let shared = days(30, 0.2);
        (shared + days(10, 0.1), shared + days(10, 0.15))
    }

    /// 400 samples: a build with 128 trials, helped by one with 400. If each interval covers with a chance of 95 %,
    /// the share that does lies outside of 92 to 98 % with a chance of 0.44 % (exact binomial sum), the
    /// false-alarm rate; the seed is fixed.
    #[test]
    fn a_helped_mean_is_unbiased_sharper_and_as_sure_as_it_says() {
        const SAMPLES: u64 = 400;
        let (mut covered, mut sharper) = (0, 0.0);
        for sample in 0..SAMPLES {
            let mut observed = ControlVariate::new(2);
            for trial in 0..400 {
                let (x, y) = season(sample, trial);
                let both = [(0, Some(x)), (1, Some(y))];
                observed.take(if trial < 128 { &both } else { &both[..1] });
            }
            let (own, helped) = (observed.own(1).unwrap(), observed.estimate(1).unwrap());
            let se = helped.se.unwrap();
            sharper += se / own.se.unwrap() / SAMPLES as f64;
            covered += u64::from((helped.mean - 7.5).abs() <= 1.96 * se);
        }
        let share = covered as f64 / SAMPLES as f64;
        println!("helped intervals cover in {:.1} %, errors are {sharper:.2} of their own", share * 100.0);
        assert!((0.92..=0.98).contains(&share), "{share}");
        // Correlation 0.82 of the two: sqrt(1 - 0.82² (1 - 128/400)) = 0.73.
        assert!((0.68..0.79).contains(&sharper), "{sharper}");
    }

    #[test]
    fn who_has_all_trials_or_never_differs_is_not_helped() {
        let mut observed = ControlVariate::new(3);
        for trial in 0..100 {
            let (x, _) = season(0, trial);
            observed.take(&[(0, Some(x)), (1, Some(2.0)), (2, None)]);
        }
        for trial in 100..200 {
            observed.take(&[(0, Some(season(0, trial).0))]);
        }
        let e = observed.estimate(1).unwrap();
        assert_eq!((e.mean, e.se), (2.0, Some(0.0)));
        assert_eq!(observed.estimate(0).map(|e| e.mean), observed.own(0).map(|e| e.mean));
        assert!(observed.estimate(2).is_none(), "not computable");
        assert_eq!((observed.trials(0), observed.trials(1), observed.trials(2)), (200, 100, 0));
    }
}
