//! How long a full basin lasts without a refill: from each day of the season on, followed through the weather, jet and rain
//! of the days after it.
//!
//! The losses of these days are those of a basin that is never low: a run whose basin falls dry loses nothing while it is, and
//! would call any basin long-lasting. The engine sees to that (`study/engine.rs`).

use super::codec::tally_field;
use super::fixed_point::Moments;
use super::intervals;
use super::season_layout::SeasonLayout;
use super::summary::{FullBasin, FullBasinMonth, LowWaterDay};
use super::trial::{DayMark, DayWater};

/// A start is followed for at most so many days.
pub(crate) const MOST_DAYS: usize = 60;

/// Share of its usable water up to which a basin counts as low: allows for rounding.
const EMPTY: f64 = 1e-6;

/// Starts of one month that are low by a given day, over trials.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MonthFullBasin {
    /// Days of the month on which a basin was filled, all trials together.
    pub starts: u64,
    /// By k: starts that are low by their day k + 1 at the latest, all trials together.
    pub low_by: [u64; MOST_DAYS],
    /// By k: the sum over trials of the square of that number in a trial: days of a trial hang together.
    pub squares: [u64; MOST_DAYS],
}
tally_field!(MonthFullBasin { starts, low_by, squares });

/// Full basins over trials.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct FullBasinTally {
    /// Trials followed.
    pub trials: u64,
    /// The season's months, in order.
    pub months: Vec<MonthFullBasin>,
    /// What a basin that is never low loses in a season, L.
    pub lost_l: Moments,
}
tally_field!(FullBasinTally { trials, months, lost_l });

/// The day on which a basin of `usable_l`, filled on the morning of day `start`, falls to its low-water mark: 1 is the day
/// itself. `None` if it is not low within [`MOST_DAYS`] or before the days end. `around`: the days go on from the last to
/// the first, as those of a whole year do.
pub(super) fn low_on_day(days: &[DayWater], start: usize, usable_l: f64, around: bool) -> Option<usize> {
    let mut held_l = usable_l;
    for k in 0..MOST_DAYS {
        let at = start + k;
        let day = match (around, days.len()) {
            (true, n) if n > 0 => days.get(at % n)?,
            _ => days.get(at)?,
        };
        if k > 0 {
            held_l = (held_l + day.rain_l).min(usable_l);
        }
        held_l -= day.lost_l;
        if held_l <= EMPTY * usable_l {
            return Some(k + 1);
        }
    }
    None
}

impl FullBasinTally {
    /// Without trials yet, for so many months.
    pub(super) fn new(months: usize) -> FullBasinTally {
        let month = MonthFullBasin { starts: 0, low_by: [0; MOST_DAYS], squares: [0; MOST_DAYS] };
        FullBasinTally { trials: 0, months: vec![month; months], lost_l: Moments::default() }
    }

    /// Adds a trial whose basin was never low.
    pub(super) fn add(&mut self, layout: &SeasonLayout, marks: &[DayMark], usable_l: f64) {
        let days: Vec<DayWater> = marks.iter().map(|m| m.water).collect();
        let around = days.len() >= 365;
        let mut low_on = vec![[0u64; MOST_DAYS]; self.months.len()];
        for (start, day) in layout.days.iter().enumerate() {
            let Some(slot) = layout.month_slot(day.month) else { continue };
            self.months[slot].starts = self.months[slot].starts.wrapping_add(1);
            if let Some(on) = low_on_day(&days, start, usable_l, around) {
                low_on[slot][on - 1] += 1;
            }
        }
        for (month, low_on) in self.months.iter_mut().zip(&low_on) {
            let mut by = 0u64;
            for ((sum, squares), &on) in month.low_by.iter_mut().zip(&mut month.squares).zip(low_on) {
                by += on;
                *sum = sum.wrapping_add(by);
                *squares = squares.wrapping_add(by * by);
            }
        }
        self.trials = self.trials.wrapping_add(1);
        self.lost_l.push(days.iter().map(|d| d.lost_l).sum());
    }

    /// The figures; `None` without trials. `per_week`: weeks of the season, inverted.
    pub(super) fn summary(&self, layout: &SeasonLayout, per_week: f64) -> Option<FullBasin> {
        if self.trials == 0 {
            return None;
        }
        let months: Option<Vec<FullBasinMonth>> = layout
            .months
            .iter()
            .zip(&self.months)
            .map(|(&month, sums)| {
                Some(FullBasinMonth {
                    month: month + 1,
                    p10: sums.quantile(self.trials, 0.1)?,
                    p50: sums.quantile(self.trials, 0.5)?,
                    p90: sums.quantile(self.trials, 0.9)?,
                })
            })
            .collect();
        Some(FullBasin {
            trials: self.trials,
            most_days: MOST_DAYS as u32,
            months: months?,
            litres_per_week: super::summary::Estimate::of_amount(&self.lost_l)?.times(per_week),
        })
    }
}

impl MonthFullBasin {
    /// The day by which this share of the starts is low, with the 95 % interval of Woodruff (1952, J. Am. Stat. Assoc. 47:635): the
    /// share has an error, and the days at which the shares reach its ends are the ends of the interval. Its error is that of
    /// a mean over trials; Wilson's form keeps it from vanishing where no trial differs.
    fn quantile(&self, trials: u64, share: f64) -> Option<LowWaterDay> {
        let (starts, n) = (self.starts as f64, trials as f64);
        if self.starts == 0 || trials == 0 {
            return None;
        }
        let by = |k: usize| self.low_by[k] as f64 / starts;
        let day =
            |reached: &dyn Fn(usize) -> bool| (0..MOST_DAYS).find(|&k| reached(k)).map(|k| k as u32 + 1);
        // Trials that would have the same error if their days were independent of one another.
        let effective = |k: usize| {
            let (mean, squares) = (self.low_by[k] as f64 / n, self.squares[k] as f64 / n);
            let per_trial = starts / n;
            let variance =
                (squares - mean * mean).max(0.0) * n / (n - 1.0).max(1.0) / (per_trial * per_trial);
            let of_one = by(k) * (1.0 - by(k));
            // Never more than all starts, never fewer than the trials.
            if variance > 0.0 { (n * of_one / variance).clamp(n, starts) } else { n }
        };
        let ends = |k: usize| {
            let m = effective(k);
            intervals::wilson_of_share(by(k), m, intervals::t_quantile(0.975, (n - 1.0).max(1.0)))
        };
        Some(LowWaterDay {
            day: day(&|k| by(k) >= share),
            // A day is too early to be the quantile if even the upper end of its share lies below.
            earliest_95: day(&|k| ends(k).hi >= share),
            latest_95: day(&|k| ends(k).lo >= share),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use arbtest::arbitrary::{Result as Drawn, Unstructured};
    use rand::RngExt;

    fn steady(lost_l: f64, rain_l: f64, days: usize) -> Vec<DayWater> {
        vec![DayWater { lost_l, rain_l }; days]
    }

    #[test]
    fn a_steady_loss_empties_a_basin_on_the_day_that_division_gives() {
        assert_eq!(low_on_day(&steady(1.5, 0.0, 100), 0, 4.0, false), Some(3));
        // More than a day's loss is not there: low on the day of filling.
        assert_eq!(low_on_day(&steady(9.0, 0.0, 100), 0, 4.0, false), Some(1));
        // Rain of the first morning runs over; that of the others counts.
        assert_eq!(low_on_day(&steady(1.5, 0.5, 100), 0, 4.0, false), Some(4));
        assert_eq!(low_on_day(&steady(1.5, 1.5, 100), 0, 4.0, false), None);
    }

    #[test]
    fn what_outlasts_the_days_is_not_low() {
        assert_eq!(low_on_day(&steady(1.0, 0.0, 10), 7, 4.0, false), None);
        // A whole year goes on.
        assert_eq!(low_on_day(&steady(1.0, 0.0, 10), 7, 4.0, true), Some(4));
        assert_eq!(low_on_day(&steady(0.01, 0.0, 400), 0, 4.0, false), None);
        assert_eq!(low_on_day(&[], 0, 4.0, true), None);
    }

    #[test]
    fn a_larger_basin_never_lasts_less_and_more_rain_never_shortens() {
        fn water(u: &mut Unstructured<'_>) -> Drawn<f64> {
            Ok(f64::from(u.int_in_range(0..=3000u32)?) / 1000.0)
        }
        arbtest::arbtest(|u| {
            let days: Vec<DayWater> = (0..80)
                .map(|_| Ok(DayWater { lost_l: water(u)?, rain_l: water(u)? }))
                .collect::<Drawn<_>>()?;
            let usable_l = 0.1 + 5.0 * water(u)?;
            let last = |days: &[DayWater], l: f64| low_on_day(days, 3, l, false).unwrap_or(usize::MAX);
            let as_is = last(&days, usable_l);
            assert!(last(&days, usable_l + water(u)?) >= as_is);
            let wetter: Vec<DayWater> =
                days.iter().map(|d| DayWater { rain_l: d.rain_l + 0.5, ..*d }).collect();
            assert!(last(&wetter, usable_l) >= as_is);
            Ok(())
        });
    }

    /// Trials whose days hang together: the day on which a start is low is one number for the whole month, give or take
    /// one. Of many such runs the interval holds the true percentile in at least 93 %.
    #[test]
    fn the_intervals_of_percentiles_cover_though_days_hang_together() {
        const TRIALS: u64 = 60;
        let mut rng = crate::seed::stream(7, crate::seed::Purpose::Resample, 0, 0);
        // Of a month: 1 + round(10 u), plus 0 or 1 for each start.
        let mut trial = |month: &mut MonthFullBasin| {
            let base = 1 + (10.0 * rng.random::<f64>()).round() as usize;
            let mut on = [0u64; MOST_DAYS];
            for _ in 0..30 {
                on[base - 1 + usize::from(rng.random::<f64>() < 0.5)] += 1;
            }
            let mut by = 0;
            for ((sum, squares), on) in month.low_by.iter_mut().zip(&mut month.squares).zip(on) {
                by += on;
                *sum += by;
                *squares += by * by;
            }
            month.starts += 30;
        };
        let none = || MonthFullBasin { starts: 0, low_by: [0; MOST_DAYS], squares: [0; MOST_DAYS] };
        let mut truth = none();
        (0..40_000).for_each(|_| trial(&mut truth));
        for share in [0.1, 0.5, 0.9] {
            let true_day = truth.quantile(40_000, share).and_then(|q| q.day);
            let mut covered = 0;
            for _ in 0..300 {
                let mut run = none();
                (0..TRIALS).for_each(|_| trial(&mut run));
                let q = run.quantile(TRIALS, share).expect("trials");
                covered += usize::from(q.earliest_95 <= true_day && true_day <= q.latest_95);
            }
            assert!(covered >= 279, "{share}: {covered} of 300");
        }
    }
}
