//! Mean and standard deviation of a daily quantity within the calendar window, for each day of the year.

use super::pool::DonorPool;
use super::window::HALF_WINDOW_DAYS;
use crate::sky::calendar::DAYS;

/// Mean and standard deviation around each day of the year.
#[derive(Clone, Debug)]
pub(crate) struct Season {
    mean: Vec<f64>,
    sd: Vec<f64>,
}

impl Season {
    /// From one value for each donor, over ±15 days; days without any donor get the mean of all.
    pub(crate) fn new(pool: &DonorPool, values: &[f64]) -> Season {
        let mut sums = vec![[0.0; 3]; DAYS];
        for (donor, &v) in pool.donors().iter().zip(values) {
            let s = &mut sums[usize::from(donor.day_of_year)];
            *s = [s[0] + 1.0, s[1] + v, s[2] + v * v];
        }
        let half = usize::from(HALF_WINDOW_DAYS);
        let all = values.iter().sum::<f64>() / values.len().max(1) as f64;
        let (mean, sd) = (0..DAYS)
            .map(|d| {
                let mut s = [0.0; 3];
                for o in 0..=2 * half {
                    let day = &sums[(d + DAYS + o - half) % DAYS];
                    s = [s[0] + day[0], s[1] + day[1], s[2] + day[2]];
                }
                if s[0] < 2.0 {
                    return (all, 0.0);
                }
                let mean = s[1] / s[0];
                (mean, (s[2] / s[0] - mean * mean).max(0.0).sqrt())
            })
            .unzip();
        Season { mean, sd }
    }

    /// How far a value of a date lies from the season's mean, in standard deviations; 0 where the
    /// standard deviation is 0.
    pub(crate) fn standardise(&self, day: u16, value: f64) -> f64 {
        let d = usize::from(day);
        if self.sd[d] > 1e-9 { (value - self.mean[d]) / self.sd[d] } else { 0.0 }
    }

    /// Mean over the year of the standard deviations.
    pub(crate) fn mean_sd(&self) -> f64 {
        self.sd.iter().sum::<f64>() / DAYS as f64
    }
}
