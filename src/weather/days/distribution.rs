//! The distribution of a daily quantity on each date, as quantiles over a standard normal number.
//!
//! The values of a file within a window around the date stand for the date, those nearest in time with the largest
//! weight. Beyond the smallest and the largest value the distribution goes on: a typical year of 365 days has not seen
//! the darkest days of its place. (Own choice; scores over 22 records in nine climates.)
//!
//! Between neighbouring values it is a straight line, except across a gap in which the file plainly has no days: there it
//! steps, so that a place with bright and dark days alone gets no days in between.

use super::pool::DonorPool;
use super::window::days_apart;
use crate::sky::calendar::DAYS;
use crate::units::normal_quantile;
use rayon::prelude::*;

/// Largest |z| of the table.
const Z_MAX: f64 = 4.0;
/// Steps of the table for each unit of z.
const STEPS_PER_UNIT: usize = 32;
/// Entries of the table of a date.
const ENTRIES: usize = 2 * 4 * STEPS_PER_UNIT + 1;
/// Smallest index of a day beyond those of the file.
const INDEX_MIN: f64 = 0.02;
/// How much steeper ln K falls over z below the smallest value of the file than at its darkest days: with less, days below 0.25 are too rare
/// where they are rare (22 records, `tests/it/records/climates/`).
const DARKER: f64 = 2.0;
/// Range of the slope of ln K over z below the smallest value of the file.
const LOW_SLOPE: (f64, f64) = (0.1, 0.8);
/// The same of K above the largest.
const HIGH_SLOPE: (f64, f64) = (0.0, 0.06);

/// Values on either side that tell whether the space between two neighbours is a gap.
const GAP_SIDES: usize = 4;
/// A gap is wider than this many times what those values span on both sides together. Values from a smooth distribution are
/// about exponential in their spacing: one in 11⁶ spaces is that wide by chance.
const GAP_FACTOR: f64 = 10.0;

/// What lies beyond the values of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tails {
    /// Clear-sky indices: exponential toward 0, and nearly level above.
    Index,
    /// Straight on by the slope of the outermost twelfth: temperatures.
    Straight,
}

/// Quantiles for each date.
#[derive(Clone, Debug)]
pub struct Distribution {
    /// By date, at equal steps of z from -[`Z_MAX`] on.
    table: Vec<[f32; ENTRIES]>,
    /// By date, the entries from which the value steps to the next one; mostly none.
    steps: Vec<Vec<usize>>,
}

impl Distribution {
    /// From one value for each donor of a pool, over ±`half` days around each date; windows without a donor are widened.
    pub fn new(pool: &DonorPool, values: &[f64], half: u16, tails: Tails) -> Distribution {
        let of_date = |date: u16| -> ([f32; ENTRIES], Vec<usize>) {
            let sample = sample(pool, values, date, half);
            let steps = gaps(&sample).map(|z| ((z + Z_MAX) * STEPS_PER_UNIT as f64) as usize).collect();
            let beyond = Beyond::of(&sample, tails);
            (std::array::from_fn(|i| quantile(&sample, z_of(i), &beyond) as f32), steps)
        };
        let (table, steps) = (0..DAYS as u16).into_par_iter().map(of_date).unzip();
        Distribution { table, steps }
    }

    /// The value of a date at a standard normal number.
    #[inline]
    pub fn at(&self, date: usize, z: f64) -> f64 {
        let row = &self.table[date];
        let at = ((z + Z_MAX) * STEPS_PER_UNIT as f64).clamp(0.0, (ENTRIES - 1) as f64);
        let i = (at as usize).min(ENTRIES - 2);
        let (low, high) = (f64::from(row[i]), f64::from(row[i + 1]));
        let part = at - i as f64;
        if self.steps[date].contains(&i) {
            return if part < 0.5 { low } else { high };
        }
        low + part * (high - low)
    }

    /// The normal number at which a date has a value: the inverse of [`Distribution::at`].
    pub fn score(&self, date: usize, value: f64) -> f64 {
        let row = &self.table[date];
        let i = row.partition_point(|&v| f64::from(v) < value).clamp(1, ENTRIES - 1);
        let (low, high) = (f64::from(row[i - 1]), f64::from(row[i]));
        let part = if high > low { ((value - low) / (high - low)).clamp(0.0, 1.0) } else { 0.5 };
        z_of(i - 1) + part / STEPS_PER_UNIT as f64
    }
}

fn z_of(entry: usize) -> f64 {
    entry as f64 / STEPS_PER_UNIT as f64 - Z_MAX
}

/// The values around a date from the smallest up, each with its normal score.
fn sample(pool: &DonorPool, values: &[f64], date: u16, half: u16) -> Vec<(f64, f64)> {
    let mut half = half;
    let mut weighed: Vec<(f64, f64)> = Vec::new();
    loop {
        weighed.extend(pool.donors().iter().zip(values).filter_map(|(d, &value)| {
            let apart = days_apart(d.day_of_year, date);
            let far = f64::from(apart) / f64::from(half + 1);
            (apart <= half).then_some((value, 1.0 - far * far))
        }));
        if weighed.len() >= DONORS_MIN || usize::from(half) > DAYS / 2 {
            break;
        }
        weighed.clear();
        half *= 2;
    }
    weighed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let all: f64 = weighed.iter().map(|v| v.1).sum();
    let mut below = 0.0;
    weighed
        .iter()
        .map(|&(value, weight)| {
            let p = (below + 0.5 * weight) / all;
            below += weight;
            (value, normal_quantile(p))
        })
        .collect()
}

/// Fewest donors of a window.
const DONORS_MIN: usize = 8;

/// How the values of a sample go on beyond its ends.
struct Beyond {
    tails: Tails,
    /// Slopes over z below the smallest value and above the largest.
    slopes: [f64; 2],
}

impl Beyond {
    fn of(sample: &[(f64, f64)], tails: Tails) -> Beyond {
        let tail = (sample.len() / 12 + 1).max(4).min(sample.len());
        let (low, high) = (&sample[..tail], &sample[sample.len() - tail..]);
        let above = slope(high.iter().map(|&(v, z)| (z, v)));
        let slopes = match tails {
            Tails::Index => {
                let logs = low.iter().map(|&(v, z)| (z, libm::log(v.max(1e-3))));
                let below = (DARKER * slope(logs)).clamp(LOW_SLOPE.0, LOW_SLOPE.1);
                [below, above.clamp(HIGH_SLOPE.0, HIGH_SLOPE.1)]
            }
            Tails::Straight => [slope(low.iter().map(|&(v, z)| (z, v))).max(0.0), above.max(0.0)],
        };
        Beyond { tails, slopes }
    }
}

fn quantile(sample: &[(f64, f64)], z: f64, beyond: &Beyond) -> f64 {
    let (Some(&(first, z_first)), Some(&(last, z_last))) = (sample.first(), sample.last()) else {
        return 0.0;
    };
    let [below, above] = beyond.slopes;
    if z < z_first {
        return match beyond.tails {
            Tails::Index => (first * libm::exp(below * (z - z_first))).max(first.min(INDEX_MIN)),
            Tails::Straight => first + below * (z - z_first),
        };
    }
    if z > z_last {
        return last + above * (z - z_last);
    }
    let i = sample.partition_point(|s| s.1 < z).clamp(1, sample.len().max(2) - 1);
    let (Some(&(low, a)), Some(&(high, b))) = (sample.get(i - 1), sample.get(i)) else { return first };
    if is_gap(sample, i) {
        return if z < middle(a, b) { low } else { high };
    }
    if b > a { low + (z - a) / (b - a) * (high - low) } else { low }
}

/// Where the sample steps, as z.
fn gaps(sample: &[(f64, f64)]) -> impl Iterator<Item = f64> {
    (1..sample.len()).filter(|&i| is_gap(sample, i)).map(|i| middle(sample[i - 1].1, sample[i].1))
}

fn middle(a: f64, b: f64) -> f64 {
    0.5 * (a + b)
}

/// Whether no days of the file lie between value `i` and the one below it, by what the values on both sides span. The
/// outermost values have too few beyond them to tell.
fn is_gap(sample: &[(f64, f64)], i: usize) -> bool {
    if i < GAP_SIDES || i + GAP_SIDES > sample.len() {
        return false;
    }
    let span = |a: usize, b: usize| sample[b].0 - sample[a].0;
    let around = span(i - GAP_SIDES, i - 1) + span(i, i + GAP_SIDES - 1);
    span(i - 1, i) > GAP_FACTOR * around
}

/// Slope of a least-squares line; 0 for fewer than two points.
fn slope(points: impl Iterator<Item = (f64, f64)> + Clone) -> f64 {
    let n = points.clone().count().max(1) as f64;
    let mean = |f: fn((f64, f64)) -> f64| points.clone().map(f).sum::<f64>() / n;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let (mut xx, mut xy) = (0.0, 0.0);
    for (a, b) in points {
        xx += (a - x) * (a - x);
        xy += (a - x) * (b - y);
    }
    if xx > 0.0 { xy / xx } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::days::pool::Donor;

    fn of(values: &[f64]) -> Distribution {
        let donor = |(day, &index): (usize, &f64)| Donor {
            file: 0,
            day_of_year: day as u16,
            index,
            air_c: 10.0,
            wind_m_s: 2.0,
        };
        let pool = DonorPool::from_daily(values.iter().enumerate().map(donor).collect(), vec![1.0; DAYS]);
        Distribution::new(&pool, values, 15, Tails::Index)
    }

    /// Z numbers, evenly spread.
    fn numbers() -> impl Iterator<Item = f64> {
        (0..=7990).map(|i| f64::from(i) * 0.001 - 3.995)
    }

    #[test]
    fn a_place_with_bright_and_dark_days_alone_gets_none_in_between() {
        // Bright days differ by up to 1 %, and come with a period of 7 days, 3 of them bright.
        let values: Vec<f64> =
            (0..DAYS).map(|d| if d % 7 < 3 { 1.0 - 0.0001 * (d % 100) as f64 } else { 0.1 }).collect();
        let distribution = of(&values);
        for date in (0..DAYS).step_by(13) {
            for z in numbers() {
                let v = distribution.at(date, z);
                assert!(v <= 0.1 + 1e-6 || v > 0.98, "date {date}, z {z}: {v}");
            }
            let dark = numbers().filter(|&z| distribution.at(date, z) < 0.5).last().expect("some");
            // 3/7 bright: the step is at the normal quantile of 4/7, give or take the days at the window's ends.
            assert!((dark - normal_quantile(4.0 / 7.0)).abs() < 0.12, "date {date}: {dark}");
        }
    }

    #[test]
    fn days_without_a_gap_are_joined_by_lines() {
        // Evenly spread over 0.2 to 1.0: no step larger than the slope allows.
        let values: Vec<f64> = (0..DAYS).map(|d| 0.2 + 0.8 * ((d * 149) % 365) as f64 / 365.0).collect();
        let distribution = of(&values);
        for date in 0..DAYS {
            assert!(distribution.steps[date].is_empty());
        }
        let all: Vec<f64> = numbers().map(|z| distribution.at(100, z)).collect();
        assert!(all.is_sorted() && all.windows(2).all(|w| w[1] - w[0] < 0.01));
    }
}
