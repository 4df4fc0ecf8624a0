//! The memory of the normal series that gives sampled months and years the variability aimed at, and neighbouring days the
//! correlation; and the shift that keeps the monthly means.

use super::aims::Aims;
use super::distribution::Distribution;
use super::moments::{Memory, MonthMoments, lag_1, squared_variation_of_year};
use crate::units::bisection;
use crate::units::dates::MONTH_STARTS;
use rayon::prelude::*;

/// Memory of the slow part, days (own choice; anything from 10 to 40 does as well).
const SLOW_DAYS: f64 = 20.0;
/// Largest variance of the slow part, of 1.
const SLOW_MAX: f64 = 0.4;
/// Largest variance of the part common to a year.
const YEAR_MAX: f64 = 0.1;
/// Largest correlation of the fast part.
const FAST_MAX: f64 = 0.95;
/// More than rounding blurs a root.
const BLUR: f64 = 1e-10;

/// A normal series fitted to a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Persistence {
    /// What it remembers.
    pub memory: Memory,
    /// Factor on the normal number.
    pub scale: f64,
    /// Added to it, by month: keeps the monthly means.
    pub shift: [f64; 12],
}

/// What a fit is made from.
pub struct Fit<'a> {
    /// Of the index.
    pub distribution: &'a Distribution,
    /// Energy of each day of the year at index 1, Wh/m².
    pub clear_wh_m2: &'a [f64],
    /// Factor on the normal number.
    pub scale: f64,
    /// Mean index of each month that is wanted, weighted by clear-sky energy; NaN where it is not known.
    pub means: [f64; 12],
}

impl Fit<'_> {
    /// Months at some shifts.
    fn months(&self, shift: &[f64; 12]) -> [MonthMoments; 12] {
        std::array::from_fn(|m| self.month(m, shift[m]))
    }

    /// One month at a shift.
    fn month(&self, m: usize, shift: f64) -> MonthMoments {
        let days = usize::from(MONTH_STARTS[m])..usize::from(MONTH_STARTS[m + 1]);
        MonthMoments::new(self.distribution, days, self.clear_wh_m2, self.scale, shift)
    }

    /// Shifts that give the wanted monthly means.
    fn shifts(&self) -> [f64; 12] {
        let mut shift = [0.0; 12];
        shift.par_iter_mut().enumerate().for_each(|(m, shift)| *shift = self.shift(m));
        shift
    }

    /// That of one month.
    fn shift(&self, m: usize) -> f64 {
        const STEP: f64 = 0.02;
        const SHIFT_MAX: f64 = 1.5;
        let mut shift = 0.0;
        for _ in 0..6 {
            let (now, up) = (self.month(m, shift).mean, self.month(m, shift + STEP).mean);
            let step = (self.means[m] - now) * STEP / (up - now);
            if step.is_finite() {
                shift = (shift + step.clamp(-0.5, 0.5)).clamp(-SHIFT_MAX, SHIFT_MAX);
            }
        }
        // Where quantiles step, slopes mislead.
        if (self.month(m, shift).mean / self.means[m] - 1.0).abs() > 0.001 {
            shift = bisect(-SHIFT_MAX, SHIFT_MAX, f64::INFINITY, |s| self.month(m, s).mean - self.means[m]);
        }
        shift
    }

    /// The persistence that meets the aims as far as it can; without aims for variability, that of the correlation of days
    /// alone.
    pub fn solve(&self, aims: &Aims, vary: bool) -> Persistence {
        let shift = self.shifts();
        let months = self.months(&shift);
        let r1 = bisect(0.0, FAST_MAX, BLUR, |r| lag_1(&months, r) - aims.lag_1);
        let slow = libm::exp(-1.0 / SLOW_DAYS);
        let at = |year: f64| {
            let mut memory = Memory { fast: r1, slow, slow_variance: [0.0; 12], year_variance: year };
            for _ in 0..4 {
                let mean: f64 = memory.slow_variance.iter().sum::<f64>() / 12.0;
                memory.fast = ((r1 - mean * slow - year) / (1.0 - mean - year)).clamp(0.0, FAST_MAX);
                for (m, of_month) in months.iter().enumerate() {
                    let aim = aims.variability.monthly[m] * of_month.mean;
                    memory.slow_variance[m] = bisect(0.0, SLOW_MAX, BLUR, |v| {
                        let mut tried = memory;
                        tried.slow_variance[m] = v;
                        of_month.variance_of_mean(&tried, m) - aim * aim
                    });
                }
            }
            memory
        };
        let memory = if vary {
            let aim = aims.variability.annual * aims.variability.annual;
            at(bisect(0.0, YEAR_MAX, f64::INFINITY, |y| squared_variation_of_year(&months, &at(y)) - aim))
        } else {
            Memory { fast: r1, slow, slow_variance: [0.0; 12], year_variance: 0.0 }
        };
        Persistence { memory, scale: self.scale, shift }
    }
}

/// Root of a rising function between two ends, to a millionth of their distance; the end nearer to it if it is outside. `slack` as in
/// [`bisection::bisect`].
fn bisect(low: f64, high: f64, slack: f64, f: impl Fn(f64) -> f64) -> f64 {
    let ends = (f(low), f(high));
    match ends {
        (at_low, _) if at_low >= 0.0 => low,
        (_, at_high) if at_high <= 0.0 => high,
        _ => bisection::bisect((low, high), ends, (20, slack), f),
    }
}
