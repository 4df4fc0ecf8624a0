//! Two designs, trial by trial under the same weather and the same part luck: how far apart, how
//! surely, and how often the second is the better one.

use crate::tally::{Mismatch, Moments, TrialOutcome, intervals};
use serde::Serialize;

/// Differences second - first of one count or mean, over trials.
#[derive(Clone, Debug, Default)]
pub struct Pairs {
    difference: Moments,
    lower: u64,
    same: u64,
    higher: u64,
}

/// What the differences come to.
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
    /// Share of trials in which the second is lower; none where only the means of both are known.
    pub chance_lower: Option<f64>,
    /// Share of trials in which they are equal.
    pub chance_same: Option<f64>,
    /// Share of trials in which the second is higher.
    pub chance_higher: Option<f64>,
    /// Trials of the pair; none if the two are independent samples.
    pub trials: Option<u64>,
    /// If no trial of the pair differed: the largest chance that one does which so many trials leave possible (95 %).
    pub differs_at_most: Option<f64>,
}

impl Difference {
    /// Whether the interval leaves out zero: below, above, or not told apart.
    pub fn told_apart(&self) -> Option<std::cmp::Ordering> {
        match (self.low, self.high) {
            (_, Some(high)) if high < 0.0 => Some(std::cmp::Ordering::Less),
            (Some(low), _) if low > 0.0 => Some(std::cmp::Ordering::Greater),
            _ => None,
        }
    }

    /// Whether the two came to the same in every single trial of the pair.
    pub fn never_differed(&self) -> bool {
        self.differs_at_most.is_some()
    }

    /// The same in other units: mean, error and interval times `factor` (> 0).
    pub fn scaled(self, factor: f64) -> Difference {
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
    /// Takes in one trial of both.
    pub fn push(&mut self, first: f64, second: f64) {
        self.difference.push(second - first);
        match second.total_cmp(&first) {
            std::cmp::Ordering::Less => self.lower += 1,
            std::cmp::Ordering::Equal => self.same += 1,
            std::cmp::Ordering::Greater => self.higher += 1,
        }
    }

    /// What they come to at confidence `confidence` (0..1); `None` if there was no trial.
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

/// All that is compared of two designs.
#[derive(Clone, Debug, Default)]
pub struct Paired {
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
    /// What the second comes to by itself: for those that have no pair.
    pub alone: Alone,
}

/// What one design's trials come to where the summary has no mean over trials.
#[derive(Clone, Copy, Debug, Default)]
pub struct Alone {
    /// Mean dusk run, min.
    pub dusk_run_min: Moments,
    /// Jet minutes of the season.
    pub jet_min: Moments,
    /// Battery life, years.
    pub life_years: Moments,
}

impl Paired {
    /// Takes in the same trials of both, in the same order.
    ///
    /// # Errors
    /// If there are not as many of the one as of the other.
    pub fn take(&mut self, first: &[TrialOutcome], second: &[TrialOutcome]) -> Result<(), Mismatch> {
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

/// Difference second - first of two independent samples' means: Welch's interval. How often the one is above the other
/// cannot be told from means.
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
