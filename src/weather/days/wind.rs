//! The mean wind of each day of a trial: it lasts from day to day, and goes with the light, as the files have it.
//!
//! A day's wind is the season's mean times a quotient; the quotient of a month is the quantile of those of the three months
//! around it in the files, at z = r·light + √(1-r²)·w, with w a first-order autoregression. Nothing is windier or calmer
//! than a day of the files.

use super::correlation;
use super::moments::Memory;
use super::pool::{Donor, DonorPool};
use super::season::course;
use crate::units::normal_quantile;

/// Largest correlation of w from day to day.
const LARGEST: f64 = 0.95;

/// What the wind of a chain is drawn from.
#[derive(Clone, Debug)]
pub(crate) struct Wind {
    /// Mean of each date of the year, m/s.
    course_m_s: Vec<f64>,
    /// By month: wind over the mean of its date, from the calmest day up.
    quotients: [Ranked; 12],
    /// By month: correlation of the normal numbers of wind and light.
    with_light: [f64; 12],
    /// Correlation of w with that of the day before.
    memory: f64,
}

/// Values from the smallest up, with their normal scores.
#[derive(Clone, Debug, Default)]
struct Ranked {
    values: Vec<f64>,
    scores: Vec<f64>,
}

impl Ranked {
    fn of(mut values: Vec<f64>) -> Ranked {
        values.sort_by(f64::total_cmp);
        let n = values.len() as f64;
        let scores = (0..values.len()).map(|i| normal_quantile((i as f64 + 0.5) / n)).collect();
        Ranked { values, scores }
    }

    /// The value at a normal number; the outermost beyond them, `None` without values.
    fn at(&self, z: f64) -> Option<f64> {
        let i = self.scores.partition_point(|s| *s < z);
        let high = *self.values.get(i).or(self.values.last())?;
        let Some(below) = i.checked_sub(1) else { return Some(high) };
        let (low, a) = (self.values[below], self.scores[below]);
        let b = self.scores.get(i).map_or(a, |b| *b);
        Some(if b > a { low + (z - a) / (b - a) * (high - low) } else { high })
    }

    /// The normal number of a value: the middle of those of its equals.
    fn score(&self, value: f64) -> f64 {
        let first = self.values.partition_point(|v| *v < value);
        let after = self.values.partition_point(|v| *v <= value);
        normal_quantile((0.5 * (first + after) as f64 / self.values.len().max(1) as f64).clamp(1e-3, 0.999))
    }
}

impl Wind {
    /// Of a pool that is not empty; `month` (0..12) is that of each of 365 days, `light` the normal number of each donor's light, `lasting`
    /// how the light of a chain remembers.
    pub(crate) fn new(pool: &DonorPool, month: &[u8], light: &[f64], lasting: &Memory) -> Wind {
        let wind_m_s: Vec<f64> = pool.donors().iter().map(|d| d.wind_m_s).collect();
        let course_m_s = course(pool, &wind_m_s);
        let of_day = |day: u16| usize::from(month[usize::from(day)]);
        let quotient: Vec<f64> = pool
            .donors()
            .iter()
            .map(|d| d.wind_m_s / course_m_s[usize::from(d.day_of_year)].max(1e-6))
            .collect();
        let quotients: [Ranked; 12] = std::array::from_fn(|m| {
            let around = |d: &Donor| [11, 0, 1].contains(&((of_day(d.day_of_year) + 12 - m) % 12));
            let near = pool.donors().iter().zip(&quotient).filter(|(d, _)| around(d));
            Ranked::of(near.map(|(_, q)| *q).collect())
        });
        let score = |(d, q): (&Donor, &f64)| quotients[of_day(d.day_of_year)].score(*q);
        let scores: Vec<f64> = pool.donors().iter().zip(&quotient).map(score).collect();
        let with_light = correlation::by_month(pool, month, &scores, light);
        let after = (0..scores.len() as u32).filter_map(|i| Some((i, pool.successor(i)?)));
        let lag_1 = correlation::of_pairs(after.map(|(i, next)| (scores[i as usize], scores[next as usize])));
        Wind { course_m_s, quotients, with_light, memory: memory(lag_1, &with_light, lasting) }
    }

    /// One step of w, by a standard normal number.
    pub(crate) fn step(&self, w: f64, by: f64) -> f64 {
        self.memory * w + (1.0 - self.memory * self.memory).sqrt() * by
    }

    /// Mean wind of a date (0..365) in a month (0..12), m/s, at the standard normal numbers of the light and of w.
    pub(crate) fn mean_m_s(&self, date: usize, month: usize, light: f64, w: f64) -> f64 {
        let r = self.with_light[month];
        let z = r * light + (1.0 - r * r).sqrt() * w;
        self.course_m_s[date] * self.quotients[month].at(z).unwrap_or(1.0)
    }
}

/// Correlation of w from day to day for which wind has that of the files, `lag_1`, beside the share that it takes from the light.
fn memory(lag_1: f64, with_light: &[f64; 12], lasting: &Memory) -> f64 {
    let shared = with_light.iter().map(|r| r * r).sum::<f64>() / 12.0;
    let slow = lasting.slow_variance.iter().sum::<f64>() / 12.0;
    let year = lasting.year_variance;
    let light = (1.0 - slow - year) * lasting.fast + slow * lasting.slow + year;
    ((lag_1 - shared * light) / (1.0 - shared)).clamp(0.0, LARGEST)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::YearSpread;
    use crate::sky::calendar::DAYS;
    use crate::units::dates::month_of;
    use crate::weather::days::series::Series;
    use crate::weather::file::year::YearKind;

    /// A chain over three years of days whose wind is `wind(z, date)`, z lasting and against the light.
    fn series(wind: fn(f64, u16) -> f64) -> (Series, DonorPool) {
        let (mut light, mut own) = (0.0, 0.0);
        let mut at = 0_u32;
        let mut normal = || {
            at = at.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            normal_quantile((f64::from(at >> 8) + 0.5) / 16_777_216.0)
        };
        let donors: Vec<Donor> = (0..3 * DAYS as u16)
            .map(|i| {
                light = 0.3 * light + (1.0_f64 - 0.09).sqrt() * normal();
                own = 0.75 * own + (1.0_f64 - 0.5625).sqrt() * normal();
                let day_of_year = i % DAYS as u16;
                let index = (0.65 + 0.2 * light).clamp(0.05, 1.0);
                let wind_m_s = wind(-0.5 * light + 0.75_f64.sqrt() * own, day_of_year);
                Donor { file: i / DAYS as u16, day_of_year, index, air_c: 15.0, wind_m_s }
            })
            .collect();
        let pool = DonorPool::from_daily(donors, vec![5000.0; DAYS]);
        let month: Vec<u8> = (0..DAYS as u16).map(|d| month_of(d) as u8).collect();
        (Series::new(&pool, month, YearKind::Real, YearSpread::ByClimate), pool)
    }

    /// Mean by half-year, correlation with the day before and with the light, of wind over the mean of its half-year.
    fn figures(days: &[(u16, f64, f64)]) -> [f64; 4] {
        let half = |d: u16| usize::from((90..270).contains(&d));
        let mut sums = [[0.0; 2]; 2];
        for (d, _, w) in days {
            sums[half(*d)][0] += w;
            sums[half(*d)][1] += 1.0;
        }
        let mean = sums.map(|[sum, n]| sum / n);
        let part = |(d, _, w): &(u16, f64, f64)| w / mean[half(*d)];
        let lasting = correlation::of_pairs(days.windows(2).map(|p| (part(&p[0]), part(&p[1]))));
        [mean[0], mean[1], lasting, correlation::of_pairs(days.iter().map(|d| (d.1, part(d))))]
    }

    #[test]
    fn wind_lasts_and_goes_with_the_light_as_in_the_files() {
        let (series, pool) =
            series(|z, d| (if (90..270).contains(&d) { 2.0 } else { 4.0 }) * libm::exp(0.4 * z));
        let file: Vec<_> = pool.donors().iter().map(|d| (d.day_of_year, d.index, d.wind_m_s)).collect();
        let drawn: Vec<_> = (0..60)
            .flat_map(|trial| series.draw(3, trial, 0, DAYS))
            .enumerate()
            .map(|(i, d)| ((i % DAYS) as u16, f64::from(d.index), f64::from(d.wind_m_s)))
            .collect();
        let (want, got) = (figures(&file), figures(&drawn));
        println!("{want:.3?} in the files, {got:.3?} drawn");
        // Three years know a mean to 4 %, correlations to 0.04 (one sigma); the draws are sixty years of the same quantiles.
        assert!((got[0] / want[0] - 1.0).abs() < 0.04 && (got[1] / want[1] - 1.0).abs() < 0.04);
        assert!((got[2] - want[2]).abs() < 0.06 && (got[3] - want[3]).abs() < 0.06);
        assert!(want[2] > 0.5 && want[3] < -0.3);
    }

    #[test]
    fn a_wind_that_never_varies_stays_and_no_wind_is_none() {
        let (series_of_three, _) = series(|_, _| 3.0);
        assert!(series_of_three.draw(1, 0, 0, 800).iter().all(|d| (d.wind_m_s - 3.0).abs() < 1e-5));
        let (calm, _) = series(|_, _| 0.0);
        assert!(calm.draw(1, 0, 0, 800).iter().all(|d| d.wind_m_s == 0.0));
    }
}
