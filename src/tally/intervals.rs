//! How sure a number from so many trials is: intervals, tests, and how many trials it takes.
//!
//! Distribution functions come from `statrs` without its `std` feature, which then uses `libm`: the same
//! bits on every processor.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use statrs::function::beta::beta_reg;

/// From here to there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub lo: f64,
    /// Upper limit.
    pub hi: f64,
}

/// Quantile of the standard normal distribution, 0 < p < 1.
pub fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p.clamp(0.0, 1.0))
}

/// Quantile of Student's t with `df` > 0 degrees of freedom (infinite: normal).
pub fn t_quantile(p: f64, df: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, df) {
        Ok(t) if df.is_finite() => {
            // The library's inverse is good to some ten digits; one Newton step makes it as good as its cdf.
            let q = t.inverse_cdf(p.clamp(0.0, 1.0));
            let slope = statrs::distribution::Continuous::pdf(&t, q);
            let better = q - (t.cdf(q) - p) / slope;
            if better.is_finite() { better } else { q }
        }
        _ => normal_quantile(p),
    }
}

/// Two-sided probability of a |t| at least so large.
fn t_two_sided(t: f64, df: f64) -> f64 {
    // P(|T| >= t) = I_{df/(df + t²)}(df/2, 1/2)
    beta_reg(0.5 * df, 0.5, df / (df + t * t))
}

fn upper_tail(confidence: f64) -> f64 {
    0.5 + 0.5 * confidence
}

/// Wilson's interval (1927) of a proportion, `x` of `n` > 0.
pub fn wilson(x: u64, n: u64, confidence: f64) -> Interval {
    let z = normal_quantile(upper_tail(confidence));
    let (n_, p) = (n as f64, x as f64 / n as f64);
    let denominator = 1.0 + z * z / n_;
    let centre = (p + z * z / (2.0 * n_)) / denominator;
    let half = z * (p * (1.0 - p) / n_ + z * z / (4.0 * n_ * n_)).sqrt() / denominator;
    // At the ends the limit is 0 or 1 exactly; rounding must not say otherwise.
    Interval {
        lo: if x == 0 { 0.0 } else { (centre - half).max(0.0) },
        hi: if x == n { 1.0 } else { (centre + half).min(1.0) },
    }
}

/// Clopper and Pearson's interval (1934) of a proportion, `x` of `n` > 0: never too narrow.
pub fn clopper_pearson(x: u64, n: u64, confidence: f64) -> Interval {
    let tail = 0.5 - 0.5 * confidence;
    let (x_, n_) = (x as f64, n as f64);
    Interval {
        lo: if x == 0 { 0.0 } else { beta_quantile(x_, n_ - x_ + 1.0, tail) },
        hi: if x == n { 1.0 } else { beta_quantile(x_ + 1.0, n_ - x_, 1.0 - tail) },
    }
}

/// Quantile of the beta distribution by halving: `beta_reg` rises from 0 to 1.
fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..80 {
        let mid = 0.5 * (lo + hi);
        if beta_reg(a, b, mid) < p { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}

/// Interval of a mean of `n` values with this standard error (Student's t); none below two.
pub fn mean_interval(mean: f64, se: Option<f64>, n: u64, confidence: f64) -> Option<Interval> {
    let half = half_width(se, n, confidence)?;
    Some(Interval { lo: mean - half, hi: mean + half })
}

/// Half the width of [`mean_interval`].
pub fn half_width(se: Option<f64>, n: u64, confidence: f64) -> Option<f64> {
    let se = se?;
    (n >= 2).then(|| t_quantile(upper_tail(confidence), (n - 1) as f64) * se)
}

/// How two designs differ over the same trials.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// Pairs.
    pub n: u64,
    /// Mean of first minus second.
    pub mean: f64,
    /// Standard deviation of the differences.
    pub sd: f64,
    /// Interval of the mean difference.
    pub interval: Interval,
    /// t statistic; infinite if all differences are alike and not 0, 0 if all are 0.
    pub t: f64,
    /// Two-sided p value.
    pub p_value: f64,
    /// Correlation of the two; none if either does not vary.
    pub correlation: Option<f64>,
    /// Variance of an unpaired difference over that of the paired one; none if the latter is 0.
    pub variance_reduction: Option<f64>,
}

/// Paired t interval of first minus second; none below two pairs or for unequal lengths.
pub fn paired(first: &[f64], second: &[f64], confidence: f64) -> Option<Paired> {
    if first.len() != second.len() || first.len() < 2 {
        return None;
    }
    let n = first.len() as f64;
    let mean_of = |v: &[f64]| v.iter().sum::<f64>() / n;
    let (ma, mb) = (mean_of(first), mean_of(second));
    let (mut saa, mut sbb, mut sab) = (0.0, 0.0, 0.0);
    let mut sdd = 0.0;
    for (a, b) in first.iter().zip(second) {
        saa += (a - ma) * (a - ma);
        sbb += (b - mb) * (b - mb);
        sab += (a - ma) * (b - mb);
        let d = (a - b) - (ma - mb);
        sdd += d * d;
    }
    let (mean, sd, df) = (ma - mb, (sdd / (n - 1.0)).sqrt(), n - 1.0);
    let se = sd / n.sqrt();
    let half = t_quantile(upper_tail(confidence), df) * se;
    let t = if mean == 0.0 { 0.0 } else { mean / se };
    Some(Paired {
        n: first.len() as u64,
        mean,
        sd,
        interval: Interval { lo: mean - half, hi: mean + half },
        t,
        p_value: if t.is_finite() { t_two_sided(t, df) } else { 0.0 },
        correlation: (saa > 0.0 && sbb > 0.0).then(|| sab / (saa * sbb).sqrt()),
        variance_reduction: (sdd > 0.0).then(|| (saa + sbb) / sdd),
    })
}

/// Welch's interval of the difference of two independent means (first minus second), each given as
/// (mean, standard error, number); none below two values.
pub fn welch(first: (f64, f64, u64), second: (f64, f64, u64), confidence: f64) -> Option<Interval> {
    let ((ma, ea, na), (mb, eb, nb)) = (first, second);
    if na < 2 || nb < 2 {
        return None;
    }
    let (va, vb) = (ea * ea, eb * eb);
    let (mean, variance) = (ma - mb, va + vb);
    if variance == 0.0 {
        return Some(Interval { lo: mean, hi: mean });
    }
    // Welch-Satterthwaite.
    let df = variance * variance / (va * va / (na - 1) as f64 + vb * vb / (nb - 1) as f64);
    let half = t_quantile(upper_tail(confidence), df) * variance.sqrt();
    Some(Interval { lo: mean - half, hi: mean + half })
}

/// Which of the sorted values enclose a quantile: ranks from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QuantileRanks {
    /// Rank of the lower limit; `None`: so few values have no lower limit.
    pub lower: Option<u64>,
    /// Rank of the upper limit; `None`: so few values have no upper limit.
    pub upper: Option<u64>,
    /// How surely they enclose it, if both exist: at least the confidence asked for.
    pub coverage: Option<f64>,
}

/// Distribution-free interval of the `p` quantile from `n` sorted values, equal tails: the coverage of
/// ranks l and u is P(l <= B <= u - 1) with B binomial.
pub fn quantile_ranks(n: u64, p: f64, confidence: f64) -> QuantileRanks {
    let tail = 0.5 - 0.5 * confidence;
    let lower = Some(binomial_quantile(n, p, tail)).filter(|&l| l > 0);
    let upper = Some(binomial_quantile(n, p, 1.0 - tail) + 1).filter(|&u| u <= n);
    let coverage =
        lower.zip(upper).map(|(l, u)| binomial_at_most(n, p, u - 1) - binomial_at_most(n, p, l - 1));
    QuantileRanks { lower, upper, coverage }
}

/// P(B <= k), B binomial.
fn binomial_at_most(n: u64, p: f64, k: u64) -> f64 {
    if k >= n { 1.0 } else { beta_reg((n - k) as f64, k as f64 + 1.0, 1.0 - p) }
}

/// Smallest k with P(B <= k) >= q.
fn binomial_quantile(n: u64, p: f64, q: f64) -> u64 {
    let (mut lo, mut hi) = (0, n);
    while lo < hi {
        let mid = lo + (hi - lo) / 2;
        if binomial_at_most(n, p, mid) >= q { hi = mid } else { lo = mid + 1 }
    }
    lo
}

/// Fewest trials without an event that bound its chance below `p0` at this confidence; 0 < both < 1.
pub fn trials_without_event(p0: f64, confidence: f64) -> u64 {
    (libm::log1p(-confidence) / libm::log1p(-p0)).ceil() as u64
}

/// Largest chance of an event that none in `n` > 0 trials leaves possible at this confidence: the exact form of the
/// rule of three, 3/n at 95 % (Hanley & Lippman-Hand 1983, JAMA 249:1743).
pub fn chance_without_event(n: u64, confidence: f64) -> f64 {
    -libm::expm1(libm::log1p(-confidence) / n as f64)
}

/// Trials for a mean to have this half-width, by the normal distribution.
pub fn trials_for_mean(sd: f64, half_width: f64, confidence: f64) -> u64 {
    let k = normal_quantile(upper_tail(confidence)) * sd / half_width;
    (k * k).ceil() as u64
}

/// Trials for a proportion about `p` to have this half-width, by the normal distribution.
pub fn trials_for_proportion(p: f64, half_width: f64, confidence: f64) -> u64 {
    let k = normal_quantile(upper_tail(confidence)) / half_width;
    (k * k * p * (1.0 - p)).ceil() as u64
}

/// Trials in which one of two designs did better, over the same weather.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Duel {
    /// The first did better.
    pub first: u64,
    /// The second did better.
    pub second: u64,
    /// They did alike.
    pub alike: u64,
}

impl Duel {
    /// Counts pairs; more is better unless `less_is_better`.
    pub fn of(pairs: impl IntoIterator<Item = (f64, f64)>, less_is_better: bool) -> Duel {
        let mut duel = Duel::default();
        for (a, b) in pairs {
            match if less_is_better { b.partial_cmp(&a) } else { a.partial_cmp(&b) } {
                Some(std::cmp::Ordering::Greater) => duel.first += 1,
                Some(std::cmp::Ordering::Less) => duel.second += 1,
                _ => duel.alike += 1,
            }
        }
        duel
    }

    /// Chance that the second does better in a trial, and its Wilson interval; none of no trials.
    pub fn second_better(&self, confidence: f64) -> Option<(f64, Interval)> {
        let n = self.first + self.second + self.alike;
        (n > 0).then(|| (self.second as f64 / n as f64, wilson(self.second, n, confidence)))
    }

    /// McNemar's exact test: chance of so uneven a split if neither were better (two-sided).
    pub fn p_value(&self) -> f64 {
        let n = self.first + self.second;
        if n == 0 {
            return 1.0;
        }
        (2.0 * binomial_at_most(n, 0.5, self.first.min(self.second))).min(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_that_never_differ_are_not_told_apart() {
        let p = paired(&[1.0, 2.0], &[1.0, 2.0], 0.95).unwrap();
        assert_eq!((p.mean, p.t, p.p_value), (0.0, 0.0, 1.0));
        assert_eq!(p.variance_reduction, None);
        assert_eq!(paired(&[1.0], &[2.0], 0.95), None);
        assert_eq!(paired(&[1.0, 2.0], &[2.0], 0.95), None);
        let always = paired(&[2.0, 3.0], &[1.0, 2.0], 0.95).unwrap();
        assert_eq!((always.interval.lo, always.interval.hi, always.p_value), (1.0, 1.0, 0.0));
    }

    #[test]
    fn an_even_split_says_nothing_and_a_clean_sweep_much() {
        assert_eq!(Duel { first: 5, second: 5, alike: 3 }.p_value(), 1.0);
        assert_eq!(Duel::default().p_value(), 1.0);
        // 2 · 2^-10
        assert!((Duel { first: 0, second: 10, alike: 0 }.p_value() - 2.0 / 1024.0).abs() < 1e-15);
        let duel = Duel::of([(1.0, 2.0), (2.0, 2.0), (3.0, 1.0), (0.0, 4.0)], true);
        assert_eq!(duel, Duel { first: 2, second: 1, alike: 1 });
    }

    #[test]
    fn nothing_seen_still_leaves_a_chance() {
        for n in [1, 48, 400, 100_000] {
            let p = chance_without_event(n, 0.95);
            // (1 - p)^n = 5 %, and the rule of three from above.
            assert!((libm::pow(1.0 - p, n as f64) - 0.05).abs() < 1e-9, "{n}");
            assert!(p < 3.0 / n as f64);
        }
        assert_eq!(trials_without_event(chance_without_event(299, 0.95), 0.95), 299);
    }

    #[test]
    fn few_values_have_no_outer_quantile() {
        let r = quantile_ranks(5, 0.5, 0.95);
        assert_eq!((r.lower, r.upper, r.coverage), (None, None, None));
        assert_eq!(quantile_ranks(0, 0.5, 0.95), QuantileRanks { lower: None, upper: None, coverage: None });
    }
}
