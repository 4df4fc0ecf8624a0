//! Two designs compared trial by trial under the same weather and part luck: the mean difference, its interval, and how
//! often the second is the better one.

use crate::tally::{Mismatch, Moments, TrialOutcome, intervals};
use serde::Serialize;

/// Confidence of all intervals of a comparison.
pub(crate) const CONFIDENCE: f64 = 0.95;

/// Differences (second minus first) of one quantity, over trials.
#[derive(Clone, Debug, Default)]
pub struct Pairs {
    difference: Moments,
    lower: u64,
    same: u64,
    higher: u64,
}

/// The difference of two designs in one quantity.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Difference {
    /// Mean of second - first.
    pub mean: f64,
    /// Standard error; none below two trials.
    pub se: Option<f64>,
    /// 95 % interval of the mean (Student's t over trials); none below two trials.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// Share of trials in which the second is lower; none if only the two means are known.
    pub chance_lower: Option<f64>,
    /// Share of trials in which they are equal.
    pub chance_same: Option<f64>,
    /// Share of trials in which the second is higher.
    pub chance_higher: Option<f64>,
    /// Trials of the pair; none if the two are independent samples.
    pub trials: Option<u64>,
    /// If the two were equal in every trial: the largest chance of a difference that is consistent with this (95 %).
    pub differs_at_most: Option<f64>,
}

impl Difference {
    /// Whether the second is lower or higher at this confidence; none if the interval contains zero.
    pub fn told_apart(&self) -> Option<std::cmp::Ordering> {
        match (self.low, self.high) {
            (_, Some(high)) if high < 0.0 => Some(std::cmp::Ordering::Less),
            (Some(low), _) if low > 0.0 => Some(std::cmp::Ordering::Greater),
            _ => None,
        }
    }

    /// Whether the two were equal in every trial.
    pub(crate) fn never_differed(&self) -> bool {
        self.differs_at_most.is_some()
    }

    /// Mean and variance over its trials; none below two trials.
    pub(crate) fn spread(&self) -> Option<(f64, f64)> {
        self.se.zip(self.trials).map(|(se, n)| (self.mean, se * se * n as f64))
    }

    /// The same about another mean, with another variance over trials of so many degrees of freedom.
    pub(crate) fn about(self, mean: f64, variance: f64, freedom: f64) -> Difference {
        let se = self.trials.map(|n| (variance / n as f64).sqrt());
        let half = se.map(|se| se * intervals::t_quantile(0.5 + 0.5 * CONFIDENCE, freedom));
        Difference { mean, se, low: half.map(|h| mean - h), high: half.map(|h| mean + h), ..self }
    }

    /// The same in another unit: mean, error and interval times `factor` (> 0).
    pub(crate) fn scaled(self, factor: f64) -> Difference {
        Difference {
            mean: self.mean * factor,
            se: self.se.map(|x| x * factor),
            low: self.low.map(|x| x * factor),
            high: self.high.map(|x| x * factor),
            ..self
        }
    }
}

impl Pairs {
    /// Of trials, the first's and the second's value of each.
    pub fn of(trials: impl Iterator<Item = (f64, f64)>) -> Pairs {
        let mut pairs = Pairs::default();
        trials.for_each(|(first, second)| pairs.push(first, second));
        pairs
    }

    /// Adds one trial of both.
    pub fn push(&mut self, first: f64, second: f64) {
        self.difference.push(second - first);
        match second.total_cmp(&first) {
            std::cmp::Ordering::Less => self.lower += 1,
            std::cmp::Ordering::Equal => self.same += 1,
            std::cmp::Ordering::Greater => self.higher += 1,
        }
    }

    /// Mean and interval at this confidence (0..1); `None` before the first trial.
    pub fn difference(&self, confidence: f64) -> Option<Difference> {
        let mean = self.difference.mean()?;
        let n = self.difference.n();
        let half = intervals::half_width(self.difference.se(), n, confidence);
        let share = |count: u64| count as f64 / n as f64;
        Some(Difference {
            mean,
            se: self.difference.se(),
            low: half.map(|h| mean - h),
            high: half.map(|h| mean + h),
            chance_lower: Some(share(self.lower)),
            chance_same: Some(share(self.same)),
            chance_higher: Some(share(self.higher)),
            trials: Some(n),
            differs_at_most: (self.same == n).then(|| intervals::chance_without_event(n, confidence)),
        })
    }
}

/// Every quantity in which two designs are compared.
#[derive(Clone, Debug, Default)]
pub(crate) struct Paired {
    /// Still days of the season.
    pub still_days: Pairs,
    /// Still days by month, 0..12.
    pub by_month: [Pairs; 12],
    /// Mean dusk run, min.
    pub dusk_run_min: Pairs,
    /// Jet minutes of the season.
    pub jet_min: Pairs,
    /// Battery life, years.
    pub life_years: Pairs,
    /// Minutes lost by cause (`Cause::ALL` order).
    pub causes_min: [Pairs; crate::plant::Cause::COUNT],
    /// Means of the second design alone, for comparison with independent samples.
    pub alone: Alone,
}

/// Means over the trials of one design that its summary does not hold.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Alone {
    /// Mean dusk run, min.
    pub dusk_run_min: Moments,
    /// Jet minutes of the season.
    pub jet_min: Moments,
    /// Battery life, years.
    pub life_years: Moments,
}

impl Paired {
    /// Adds the same trials of both, in the same order.
    ///
    /// # Errors
    /// The numbers of trials differ.
    pub(crate) fn take(&mut self, first: &[TrialOutcome], second: &[TrialOutcome]) -> Result<(), Mismatch> {
        if first.len() != second.len() {
            return Err(Mismatch);
        }
        for (a, b) in first.iter().zip(second) {
            self.still_days.push(a.still_days.into(), b.still_days.into());
            for (pairs, (x, y)) in
                self.by_month.iter_mut().zip(a.still_days_by_month.iter().zip(&b.still_days_by_month))
            {
                both(pairs, x.map(f64::from), y.map(f64::from));
            }
            both(&mut self.dusk_run_min, a.dusk_run_min, b.dusk_run_min);
            both(&mut self.life_years, a.life_years, b.life_years);
            self.jet_min.push(a.jet_min, b.jet_min);
            self.alone.take(b);
            for (pairs, (x, y)) in self.causes_min.iter_mut().zip(a.causes_min.iter().zip(&b.causes_min)) {
                pairs.push(*x, *y);
            }
        }
        Ok(())
    }
}

impl Alone {
    fn take(&mut self, outcome: &TrialOutcome) {
        self.jet_min.push(outcome.jet_min);
        for (moments, value) in
            [(&mut self.dusk_run_min, outcome.dusk_run_min), (&mut self.life_years, outcome.life_years)]
        {
            if let Some(value) = value {
                moments.push(value);
            }
        }
    }
}

/// Difference (second minus first) of the means of two independent samples, with Welch's interval. Means do not tell how
/// often the one is above the other.
pub fn independent_means(first: &Moments, second: &Moments, confidence: f64) -> Option<Difference> {
    let mean = second.mean()? - first.mean()?;
    let interval = first.se().zip(second.se()).and_then(|(a, b)| {
        intervals::welch((second.mean()?, b, second.n()), (first.mean()?, a, first.n()), confidence)
    });
    Some(Difference {
        mean,
        se: first.se().zip(second.se()).map(|(a, b)| (a * a + b * b).sqrt()),
        low: interval.map(|i| i.lo),
        high: interval.map(|i| i.hi),
        chance_lower: None,
        chance_same: None,
        chance_higher: None,
        trials: None,
        differs_at_most: None,
    })
}

fn both(pairs: &mut Pairs, first: Option<f64>, second: Option<f64>) {
    if let (Some(a), Some(b)) = (first, second) {
        pairs.push(a, b);
    }
}
