//! Means of still days, corrected by what is known of their trials ([`super::controls`]).

use super::controls::{Corrected, CorrectedBy, Regression};
use super::estimate::Estimate;
use super::season_layout::SeasonLayout;
use super::tally::Tally;
use crate::units::dates::MEAN_MONTH_DAYS;

impl Tally {
    /// Still days in a month of mean length, over the season, with their error: what `--until` watches. None before the
    /// first trial.
    pub fn still_days_per_month(&self) -> Option<Estimate> {
        Some(self.a_month(self.still_days_of_season()?))
    }

    /// Still days of the season, corrected where there are enough trials; none before the first.
    pub(super) fn still_days_of_season(&self) -> Option<Estimate> {
        let days = self.season_days();
        let seen = Estimate::of_days(&self.season.still_days, days)?;
        let corrected =
            self.regression().zip(self.season.still_days.variance()).and_then(|(regression, variance)| {
                regression.corrected(None, seen.mean, variance)?.days(self.trials, days)
            });
        Some(corrected.unwrap_or(seen))
    }

    /// The same without correction.
    #[cfg(test)]
    pub(crate) fn still_days_as_seen(&self) -> Option<Estimate> {
        Some(self.a_month(Estimate::of_days(&self.season.still_days, self.season_days())?))
    }

    /// Of days of the season, what falls on a month of mean length.
    fn a_month(&self, of_season: Estimate) -> Estimate {
        of_season.times(MEAN_MONTH_DAYS / self.season_days().max(1.0))
    }

    /// Days of the season: its histogram has one bin more.
    fn season_days(&self) -> f64 {
        self.season.still.len().saturating_sub(1) as f64
    }

    /// What corrects the means of still days, if there are enough trials.
    pub(super) fn regression(&self) -> Option<Regression<'_>> {
        self.controls.regression(self.with_still_days())
    }

    /// What the means of still days are corrected by.
    fn corrected_by(&self) -> CorrectedBy {
        self.controls.by(self.with_still_days())
    }

    /// What is left of the difference of still days of two designs in the same trials (of the second less these), see [`Controls::of_difference`].
    /// `month` is 0..12, `seen` mean and variance of the differences; `None` where the two are not corrected alike.
    pub(crate) fn corrected_difference(
        &self,
        other: &Tally,
        layouts: [&SeasonLayout; 2],
        month: Option<u8>,
        (mean, variance): (f64, f64),
    ) -> Option<Corrected> {
        let by = self.corrected_by();
        if by == CorrectedBy::Nothing || by != other.corrected_by() || self.trials != other.trials {
            return None;
        }
        let parts = match by {
            CorrectedBy::All => layouts[0].shared_parts(layouts[1]),
            _ => Vec::new(),
        };
        let months = match month {
            Some(m) => Some([layouts[0].month_slot(m)?, layouts[1].month_slot(m)?]),
            None => None,
        };
        self.controls.of_difference(&other.controls, (&parts, months), mean, variance)
    }

    /// Trials with a still day.
    fn with_still_days(&self) -> u64 {
        self.season.still.iter().skip(1).sum()
    }
}
