//! From twelve monthly means to the daily clearness of a year.

use super::hours::{HourSun, scale_below};
use super::matrices::Class;
use crate::units::dates::MONTH_STARTS;
use rand::rngs::ChaCha8Rng;

/// A month drawn from the chain is taken if its mean is this close to its target, as a
/// share. A *typical* year has to reproduce its twelve means, so whole months are drawn again until
/// one fits (as the chain's authors did), and the rest is scaled away. The variability of years
/// is added when the year is sampled from, not here.
const MONTH_FITS_WITHIN: f64 = 0.05;
/// Most draws of a month; then the nearest is taken. Means inside a class fit after a few; a mean
/// below the dullest class (high latitudes in winter) may never fit.
const MONTH_DRAWS_MAX: usize = 400;
/// Days drawn before 1 January, so that the start of the chain does not matter.
const LEAD_DAYS: usize = 31;

/// Largest mean of a month over that of a month of clear days.
const BRIGHTEST_SHARE: f64 = 0.97;
/// Smallest mean of a month over the extraterrestrial (own choice: half the dullest state of the chain).
const DARKEST_SHARE: f64 = 0.015;

/// Limits that the sun sets for one day.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DaySun {
    /// Extraterrestrial irradiation on the horizontal, Wh/m².
    pub extraterrestrial_wh_m2: f64,
    /// Global irradiation under the cleanest clear sky, Wh/m².
    pub ceiling_wh_m2: f64,
}

/// The days of a year of hours.
pub(crate) fn days_of(sun: &[HourSun]) -> Vec<DaySun> {
    sun.chunks(24)
        .map(|day| DaySun {
            extraterrestrial_wh_m2: day.iter().map(|h| h.extraterrestrial_w_m2).sum(),
            ceiling_wh_m2: day.iter().map(|h| h.ceiling_w_m2).sum(),
        })
        .collect()
}

/// The days of each month, as ranges of days of the year.
pub fn months() -> [std::ops::Range<usize>; 12] {
    std::array::from_fn(|m| usize::from(MONTH_STARTS[m])..usize::from(MONTH_STARTS[m + 1]))
}

/// The darkest and the brightest mean day a month may have, kWh/m², by month.
pub(crate) fn limits_kwh_m2(days: &[DaySun]) -> [(f64, f64); 12] {
    months().map(|m| {
        let n = m.len() as f64;
        let mean = |of: fn(&DaySun) -> f64| days[m.clone()].iter().map(of).sum::<f64>() / n / 1000.0;
        (DARKEST_SHARE * mean(|d| d.extraterrestrial_wh_m2), BRIGHTEST_SHARE * mean(|d| d.ceiling_wh_m2))
    })
}

/// Daily global irradiation, Wh/m², of the 365 days; each month has its target mean.
pub(crate) fn irradiation(mean_kwh_m2: &[f64; 12], days: &[DaySun], rng: &mut ChaCha8Rng) -> Vec<f64> {
    let months = months();
    let class_and_mean = |m: usize| {
        let extraterrestrial: f64 = days[months[m].clone()].iter().map(|d| d.extraterrestrial_wh_m2).sum();
        let target = mean_kwh_m2[m] * 1000.0 * months[m].len() as f64;
        let k_mean = if extraterrestrial > 0.0 { target / extraterrestrial } else { 0.0 };
        (Class::of_month(k_mean), k_mean, target)
    };
    let (december, mut k, _) = class_and_mean(11);
    for _ in 0..LEAD_DAYS {
        k = december.next(k, rng);
    }
    let mut year = Vec::with_capacity(days.len());
    for (m, range) in months.iter().enumerate() {
        let (class, _, target) = class_and_mean(m);
        let days = &days[range.clone()];
        let (mut best, mut best_gap) = (Vec::new(), f64::INFINITY);
        for _ in 0..MONTH_DRAWS_MAX {
            let mut today = k;
            let drawn: Vec<f64> = days
                .iter()
                .map(|_| {
                    today = class.next(today, rng);
                    today
                })
                .collect();
            let sum: f64 = drawn.iter().zip(days).map(|(k, d)| k * d.extraterrestrial_wh_m2).sum();
            let gap = (sum - target).abs();
            if gap < best_gap {
                (best, best_gap) = (drawn, gap);
            }
            if best_gap <= MONTH_FITS_WITHIN * target {
                break;
            }
        }
        // The chain continues from the last day as drawn, before scaling.
        k = best.last().copied().unwrap_or(k);
        let mut wh: Vec<f64> = best.iter().zip(days).map(|(k, d)| k * d.extraterrestrial_wh_m2).collect();
        let ceiling: Vec<f64> = days.iter().map(|d| d.ceiling_wh_m2).collect();
        scale_below(&mut wh, &ceiling, target);
        year.extend(wh);
    }
    year
}
