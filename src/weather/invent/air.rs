//! Temperature, humidity, wind and rain that go with the light. Simple on purpose: results depend mostly on the light;
//! these change a battery's capacity, a panel's temperature and a basin's loss a little.

use super::climate::Setting;
use super::days::months;
use super::hours::{HourSun, normal};
use crate::seed::open_unit;
use crate::sky::air::saturation_kpa;
use rand::rngs::ChaCha8Rng;
use std::f64::consts::TAU;

/// Correlation of one hour's wind with the last's: 0.95 leaves 0.29 after a day (own choice).
const WIND_LAG1: f64 = 0.95;
/// Rain of a wet day, mm, from which the number of wet days of a month follows (own choice).
const RAIN_OF_A_WET_DAY_MM: f64 = 5.0;
/// Hours a day's rain lasts (own choice).
const RAIN_HOURS: usize = 4;

/// Clearness index of each day; `None` without sun.
pub(crate) type Clearness = [Option<f64>];

/// Air temperature of the hours of a year, °C, from the means of its days.
pub(crate) fn temperature(
    air_c: &[f64],
    clearness: &Clearness,
    setting: Setting,
    sun: &[HourSun],
) -> Vec<f64> {
    let days: Vec<(f64, f64)> =
        air_c.iter().zip(clearness).map(|(&mean_c, &k)| (mean_c, daily_range(k, setting))).collect();
    // Mean and range are interpolated from midday to midday, so that nothing jumps at midnight.
    (0..24 * days.len())
        .map(|hour| {
            let after_midday = hour as f64 + 0.5 - 12.0;
            let before = libm::floor(after_midday / 24.0);
            let part = after_midday / 24.0 - before;
            let day = (before as i64).rem_euclid(days.len() as i64) as usize;
            let (a, b) = (days[day], days[(day + 1) % days.len()]);
            let mix = |x: f64, y: f64| x * (1.0 - part) + y * part;
            mix(a.0, b.0) + mix(a.1, b.1) * shape_of_day(sun[hour].hour_angle_deg)
        })
        .collect()
}

/// Shifts the hours of all years so that each month has its mean over them, °C.
pub(crate) fn shift_to_means(years: &mut [Vec<f64>], means: &[f64; 12]) {
    for (range, &target) in months().iter().zip(means) {
        let hours = 24 * range.start..24 * range.end;
        let shift = target - mean(years.iter().flat_map(|y| &y[hours.clone()]));
        years.iter_mut().flat_map(|y| &mut y[hours.clone()]).for_each(|t| *t += shift);
    }
}

/// Daily range of temperature on a day of clearness `k`, °C: mean lines of thirteen inland and four coastal records, whose slopes lie
/// between 11 and 22 °C inland and between 9 and 11 °C on coasts.
fn daily_range(k: Option<f64>, setting: Setting) -> f64 {
    let (at_none, by_clearness) = match setting {
        Setting::Coast => (3.4, 10.5),
        Setting::Inland => (4.0, 15.5),
    };
    at_none + by_clearness * k.unwrap_or(0.3)
}

/// Departure from the day's mean as a share of its range, at a solar hour angle.
pub fn shape_of_day(hour_angle_deg: f64) -> f64 {
    // Erbs, Klein & Beckman 1983, ASHRAE Journal 25(6):60 (from memory); t = 1 at 01:00.
    let t = TAU * ((hour_angle_deg + 180.0) / 15.0 - 1.0) / 24.0;
    0.4632 * libm::cos(t - 3.805)
        + 0.0984 * libm::cos(2.0 * t - 0.360)
        + 0.0168 * libm::cos(3.0 * t - 0.822)
        + 0.0138 * libm::cos(4.0 * t - 3.513)
}

/// Relative humidity of the hours, share.
///
/// The dew point is taken as the lowest temperature of the day, less up to 2.5 °C in bright dry
/// months (FAO-56 eq. 48 and its advice for arid places; the transition is our own choice).
pub(crate) fn humidity(air_c: &[f64], clearness: &Clearness) -> Vec<f64> {
    let monthly = months().map(|m| mean(clearness[m].iter().flatten()));
    let mut out = Vec::with_capacity(air_c.len());
    for (month, range) in months().into_iter().enumerate() {
        let below = 2.5 * ((monthly[month] - 0.5) / 0.2).clamp(0.0, 1.0);
        for day in air_c[24 * range.start..24 * range.end].chunks(24) {
            let lowest = day.iter().fold(f64::INFINITY, |a, &b| a.min(b));
            let vapour = saturation_kpa(lowest - below);
            out.extend(day.iter().map(|&t| (vapour / saturation_kpa(t)).clamp(0.05, 1.0)));
        }
    }
    out
}

/// Wind speed of the hours, m/s: Weibull with k = 2 (common practice, no source), correlated from
/// hour to hour; months have their means.
pub(crate) fn wind(mean_m_s: &[f64; 12], rng: &mut ChaCha8Rng) -> Vec<f64> {
    let mut z = normal(rng);
    let mut out = Vec::with_capacity(8760);
    for (range, &target) in months().iter().zip(mean_m_s) {
        let first = out.len();
        for _ in 0..24 * range.len() {
            z = WIND_LAG1 * z + (1.0 - WIND_LAG1 * WIND_LAG1).sqrt() * normal(rng);
            // A normal number's tail chance is uniform; -ln of it to 1/k is Weibull.
            let beyond = 0.5 * libm::erfc(z / std::f64::consts::SQRT_2);
            out.push((-libm::log(beyond.max(1e-12))).sqrt());
        }
        let hours = &mut out[first..];
        let scale = target / mean(hours.iter());
        hours.iter_mut().for_each(|v| *v *= scale);
    }
    out
}

/// Rain of the hours, mm: it falls on the dullest days of a month, in exponentially distributed amounts
/// that sum to the month's.
pub(crate) fn rain(by_month_mm: &[f64; 12], clearness: &Clearness, rng: &mut ChaCha8Rng) -> Vec<f64> {
    let mut out = vec![0.0; 24 * clearness.len()];
    for (range, &target) in months().iter().zip(by_month_mm) {
        // In order of clearness, with a little noise.
        let mut days: Vec<(f64, usize)> =
            range.clone().map(|d| (clearness[d].unwrap_or(0.3) + 0.1 * normal(rng), d)).collect();
        days.sort_by(|a, b| a.0.total_cmp(&b.0));
        let wet = ((target / RAIN_OF_A_WET_DAY_MM).ceil() as usize).min(2 * days.len() / 3);
        let amounts: Vec<f64> = (0..wet).map(|_| -libm::log(open_unit(rng))).collect();
        let total: f64 = amounts.iter().sum();
        for (amount, &(_, day)) in amounts.iter().zip(&days) {
            let start = (open_unit(rng) * (24 - RAIN_HOURS + 1) as f64) as usize;
            for h in start..start + RAIN_HOURS {
                out[24 * day + h] = target * amount / total / RAIN_HOURS as f64;
            }
        }
    }
    out
}

fn mean<'a>(values: impl Iterator<Item = &'a f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_has_mean_nought_range_one_and_is_warmest_in_the_afternoon() {
        let day: Vec<f64> = (0..24).map(|h| shape_of_day(15.0 * (f64::from(h) - 12.0))).collect();
        let (low, high) = day.iter().fold((f64::MAX, f64::MIN), |(a, b), &v| (a.min(v), b.max(v)));
        assert!(mean(day.iter()).abs() < 1e-12);
        assert!((high - low - 1.0).abs() < 0.05, "{}", high - low);
        let warmest = (0..24).max_by(|&a, &b| day[a].total_cmp(&day[b])).unwrap();
        assert!((14..=16).contains(&warmest), "{warmest}");
    }
}
