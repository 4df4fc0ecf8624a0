//! Numbers of a summary with their errors: means, and counts of days.

use super::fixed_point::Moments;
use super::intervals;
use super::rare::{UNSEEN_DAYS, Years};
use super::spread;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A mean, its standard error, and its 95 % interval.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Estimate {
    /// The mean.
    pub mean: f64,
    /// Its standard error; none if there are too few trials.
    pub se: Option<f64>,
    /// Its 95 % interval, low and high; none if there are too few trials. Where the mean is that of rare events, it is lopsided,
    /// and it stays an interval where nothing was seen (`rare`).
    #[serde(default)]
    pub interval_95: Option<[f64; 2]>,
}

impl Estimate {
    /// A mean that is about normal: its interval is twice the standard error.
    pub fn new(mean: f64, se: Option<f64>) -> Estimate {
        let interval_95 = se.map(|se| [mean - 2.0 * se, mean + 2.0 * se]);
        Estimate { mean, se, interval_95 }
    }

    /// A number without an error.
    pub fn alone(mean: f64) -> Estimate {
        Estimate { mean, se: None, interval_95: None }
    }

    /// The larger half of its 95 % interval; none if there are too few trials.
    pub fn half_width(self) -> Option<f64> {
        self.interval_95.map(|[lo, hi]| (self.mean - lo).max(hi - self.mean))
    }

    /// Whether one half of the interval is so much larger than the other that `±` would mislead.
    pub(crate) fn is_lopsided(self) -> bool {
        self.interval_95.is_some_and(|[lo, hi]| {
            let (below, above) = (self.mean - lo, hi - self.mean);
            below.max(above) > LOPSIDED * below.min(above)
        })
    }

    /// In another unit: `factor` > 0 of it to one of this.
    pub fn times(self, factor: f64) -> Estimate {
        Estimate {
            mean: self.mean * factor,
            se: self.se.map(|se| se * factor),
            interval_95: self.interval_95.map(|ends| ends.map(|end| end * factor)),
        }
    }

    /// The mean of values of about normal spread; none without values.
    pub(crate) fn of(m: &Moments) -> Option<Estimate> {
        let (mean, se) = (m.mean()?, m.se());
        let interval_95 = intervals::half_width(se, m.n(), 0.95).map(|half| [mean - half, mean + half]);
        Some(Estimate { mean, se, interval_95 })
    }

    /// The mean of an amount that is many times larger in some trials than in most, as water that drifts away is. Where such a mean comes out
    /// low, so does its error; therefore the upper end is further off, by the skewness term of Johnson (1978), J. Am. Stat. Assoc. 73:536
    /// (from memory), with the skewness of a gamma distribution of this spread, 2 c (c: standard deviation over mean). A test holds its
    /// coverage.
    pub(crate) fn of_amount(m: &Moments) -> Option<Estimate> {
        let plain = Estimate::of(m)?;
        let (Some(se), Some([lo, hi])) = (plain.se, plain.interval_95) else { return Some(plain) };
        if plain.mean <= 0.0 {
            return Some(plain);
        }
        let n = m.n() as f64;
        let c = se * n.sqrt() / plain.mean;
        let t = (hi - plain.mean) / se.max(f64::MIN_POSITIVE);
        let further = se * 2.0 * c * (1.0 + 2.0 * t * t) / (6.0 * n.sqrt());
        Some(Estimate { interval_95: Some([lo.max(0.0), hi + further]), ..plain })
    }

    /// The mean of values from 0 to `most` that may be 0 in most years, or `most`; `unseen`: the value of a bad year that nobody
    /// has seen. None without values.
    pub(crate) fn of_rare(m: &Moments, most: f64, unseen: f64) -> Option<Estimate> {
        let mean = m.mean()?;
        let freedom = m.n() as f64 - 1.0;
        let i = Years { n: m.n(), mean, variance: m.variance(), freedom, most, unseen }.interval();
        Some(Estimate { mean, se: m.se(), interval_95: Some([i.lo, i.hi]) })
    }

    /// The mean of a number of days in 0..=`most`; none without values.
    pub(crate) fn of_days(m: &Moments, most: f64) -> Option<Estimate> {
        Estimate::of_rare(m, most, UNSEEN_DAYS)
    }
}

/// Ratio of the halves of an interval from which it is shown by its ends. (Own choice.)
const LOPSIDED: f64 = 1.5;

/// A share of years with its 95 % interval (Clopper and Pearson); `n` > 0.
pub(super) fn share_of_years(with: u64, n: u64) -> (f64, [f64; 2]) {
    let with = with.min(n);
    let i = intervals::clopper_pearson(with, n, 0.95);
    (with as f64 / n as f64, [i.lo, i.hi])
}

/// A number of days (of a month, of a season) over trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct DayCount {
    /// Mean: of the trials, corrected where there are enough of them (`controls`), so that it is not exactly that of the histogram.
    pub mean: f64,
    /// Standard error of the mean; none below two trials.
    pub se: Option<f64>,
    /// 95 % interval of the mean, which holds for rare days too (`rare`).
    pub mean_95: [f64; 2],
    /// In one trial of ten or more so many or fewer.
    pub p10: f64,
    /// In half of the trials or more so many or fewer.
    pub p50: f64,
    /// In nine trials of ten or more so many or fewer.
    pub p90: f64,
    /// 95 % interval of P10 (order statistics).
    pub p10_95: [f64; 2],
    /// 95 % interval of P50.
    pub p50_95: [f64; 2],
    /// 95 % interval of P90.
    pub p90_95: [f64; 2],
    /// Chance of at least so many days (keys "1", "3", "7").
    pub at_least: BTreeMap<String, f64>,
    /// 95 % interval of each of these chances (Clopper and Pearson).
    pub at_least_95: BTreeMap<String, [f64; 2]>,
    /// Trials with 0, 1, 2, … such days.
    pub histogram: Vec<u64>,
}

impl DayCount {
    /// From the counts of trials with 0, 1, 2, … days, the last of which is the largest number possible; none without trials.
    pub fn of(histogram: &[u64], most: usize) -> Option<DayCount> {
        let n = histogram.iter().fold(0u64, |sum, c| sum.saturating_add(*c));
        if n == 0 {
            return None;
        }
        let total = |of: &dyn Fn(f64) -> f64| -> f64 {
            histogram.iter().enumerate().map(|(k, &c)| of(k as f64) * c as f64).sum::<f64>()
        };
        let mean = total(&|k| k) / n as f64;
        let variance = (n >= 2).then(|| total(&|k| (k - mean) * (k - mean)) / (n as f64 - 1.0));
        let most_days = most as f64;
        let freedom = n as f64 - 1.0;
        let i = Years { n, mean, variance, freedom, most: most_days, unseen: UNSEEN_DAYS }.interval();
        let quantile = |tenths: u64| {
            let [lo, hi] = intervals::quantile_of_counts(histogram, tenths as f64 / 10.0, 0.95);
            [lo.map_or(0.0, |k| k as f64), hi.map_or(most_days, |k| k as f64)]
        };
        let chances = [1usize, 3, 7].map(|k| {
            let many = histogram.iter().skip(k).fold(0u64, |sum, c| sum.saturating_add(*c));
            (k.to_string(), share_of_years(many, n))
        });
        let q = |tenths| spread::quantile(histogram, tenths, |k| k as f64);
        Some(DayCount {
            mean,
            se: variance.map(|v| (v / n as f64).sqrt()),
            mean_95: [i.lo, i.hi],
            p10: q(1)?,
            p50: q(5)?,
            p90: q(9)?,
            p10_95: quantile(1),
            p50_95: quantile(5),
            p90_95: quantile(9),
            at_least: chances.iter().map(|(k, (share, _))| (k.clone(), *share)).collect(),
            at_least_95: chances.into_iter().map(|(k, (_, interval))| (k, interval)).collect(),
            histogram: histogram.to_vec(),
        })
    }

    /// With another mean and error: the one corrected by control variates. The counts stay those of the trials.
    pub(super) fn with_mean(self, mean: Estimate) -> DayCount {
        DayCount { mean: mean.mean, se: mean.se, mean_95: mean.interval_95.unwrap_or(self.mean_95), ..self }
    }

    /// The mean with its error.
    pub fn estimate(&self) -> Estimate {
        Estimate { mean: self.mean, se: self.se, interval_95: Some(self.mean_95) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, stream};
    use rand_distr::{Distribution, LogNormal};

    /// Sixty-four trials of lognormal amounts, 2,000 times: at least 92 % of the intervals hold the mean (93.7 % when computed apart), where
    /// those of a normal mean hold it in 90 %.
    #[test]
    fn amounts_of_great_spread_are_covered() {
        let spread = LogNormal::new(0.0, 1.0).unwrap();
        let truth = libm::exp(0.5);
        let (mut covered, mut plain) = (0, 0);
        for k in 0..2000 {
            let mut rng = stream(5, Purpose::Part("amounts"), k, 0);
            let mut m = Moments::default();
            (0..64).for_each(|_| m.push(spread.sample(&mut rng)));
            let holds =
                |e: Estimate| u32::from(e.interval_95.is_some_and(|[lo, hi]| lo <= truth && truth <= hi));
            covered += holds(Estimate::of_amount(&m).unwrap());
            plain += holds(Estimate::of(&m).unwrap());
        }
        println!("{covered} and {plain} of 2000");
        assert!(covered >= 1840 && plain < 1840);
    }
}
