//! How much months and years should differ, and how long weather should last, by what a file shows.
//!
//! One figure of a file says most of it: the standard deviation of the daily clear-sky index over its mean. The straight
//! lines below are fitted over 22 daily records of irradiation in eight groups of climates, each against typical years and
//! single years made from it (`tests/it/records/climates/` fits them again where the records are at hand). Scored with the
//! climate of each record left out of the fit, six typical years a record: spread of months 1.02 of the record's (rms 10 %),
//! of years 1.01 (17 %), correlation of neighbouring days off by 0.045 (rms), longest dull run of a year 1.00 (13 %), of ten
//! years 1.00 (24 %).

use super::pool::DonorPool;
use super::variability::Variability;
use crate::sky::calendar::DAYS;

/// What the days of a pool show of their climate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// Standard deviation of the index about its month's mean over the mean index, of the three months around each month.
    pub monthly: [f64; 12],
    /// The same of all months.
    pub annual: f64,
    /// Correlation of the index with that of the day before, both less their month's mean.
    pub lag_1: f64,
}

impl Shown {
    /// Of a pool; `month` is that of each of 365 days.
    pub fn of(pool: &DonorPool, month: &[u8]) -> Shown {
        let of_day = |d: u16| usize::from(month[usize::from(d)]);
        let mut sums = [[0.0; 3]; 12];
        for d in pool.donors() {
            let s = &mut sums[of_day(d.day_of_year)];
            *s = [s[0] + 1.0, s[1] + d.index, s[2] + d.index * d.index];
        }
        let mean = |m: usize| sums[m][1] / f64::max(sums[m][0], 1.0);
        let about_mean = |m: usize| (sums[m][2] - sums[m][0] * mean(m) * mean(m)).max(0.0);
        let over = |months: &[usize]| {
            let n: f64 = months.iter().map(|&m| sums[m][0]).sum();
            let square: f64 = months.iter().map(|&m| about_mean(m)).sum();
            let index: f64 = months.iter().map(|&m| sums[m][1]).sum();
            if index > 0.0 { (square / n).sqrt() / (index / n) } else { 0.0 }
        };
        let anomaly = |i: u32| {
            let d = pool.donors()[i as usize];
            d.index - mean(of_day(d.day_of_year))
        };
        let (mut square, mut cross) = (0.0, 0.0);
        for i in 0..pool.donors().len() as u32 {
            let Some(next) = pool.successor(i) else { continue };
            square += 0.5 * (anomaly(i) * anomaly(i) + anomaly(next) * anomaly(next));
            cross += anomaly(i) * anomaly(next);
        }
        Shown {
            monthly: std::array::from_fn(|m| over(&[(m + 11) % 12, m, (m + 1) % 12])),
            annual: over(&[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]),
            lag_1: if square > 0.0 { cross / square } else { 0.0 },
        }
    }
}

/// Straight lines from what a file shows to what its place does: constant and slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lines {
    /// ln of a month's coefficient of variation over ln of [`Shown::monthly`].
    pub monthly: [f64; 2],
    /// ln of the year's over ln of [`Shown::annual`].
    pub annual: [f64; 2],
    /// Correlation of neighbouring days over [`Shown::lag_1`].
    pub lag_1: [f64; 2],
}

/// From a typical year.
pub const TYPICAL: Lines = Lines { monthly: [-1.317, 0.918], annual: [-2.532, 0.722], lag_1: [0.161, 0.649] };
/// From real years.
pub const REAL: Lines = Lines { monthly: [-1.404, 0.848], annual: [-2.558, 0.703], lag_1: [0.162, 0.613] };

/// Squared error of a line's ln of a coefficient of variation, beside that of the records it is fitted on.
const LINE_VARIANCE: f64 = 0.04;
/// Fewest years whose own correlation of neighbouring days is used.
const YEARS_FOR_LAG_1: usize = 3;

/// What sampled years should do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aims {
    /// Coefficients of variation of months and years.
    pub variability: Variability,
    /// Correlation of the index with that of the day before.
    pub lag_1: f64,
}

impl Aims {
    /// By the climate that a pool shows; the own figures of several years have their share.
    pub fn by_climate(pool: &DonorPool, month: &[u8], lines: &Lines) -> Aims {
        let shown = Shown::of(pool, month);
        let line = |[a, b]: [f64; 2], x: f64| libm::exp(a + b * libm::log(x.max(0.02)));
        let climate = Variability {
            monthly: shown.monthly.map(|x| line(lines.monthly, x)),
            annual: line(lines.annual, shown.annual),
        };
        let years = whole_years(pool, month);
        let k = years.len() as f64;
        let variability = match Variability::of_detrended(&years) {
            Some(own) => {
                let share = LINE_VARIANCE / (LINE_VARIANCE + 1.0 / (2.0 * (k - 1.0)));
                let blend = |line: f64, own: f64| {
                    libm::exp((1.0 - share) * libm::log(line) + share * libm::log(own.max(1e-3)))
                };
                let smooth = |m: usize| {
                    let square = |m: usize| own.monthly[m % 12] * own.monthly[m % 12];
                    (0.25 * square(m + 11) + 0.5 * square(m) + 0.25 * square(m + 1)).sqrt()
                };
                Variability {
                    monthly: std::array::from_fn(|m| blend(climate.monthly[m], smooth(m))),
                    annual: blend(climate.annual, own.annual),
                }
            }
            None => climate,
        };
        let lag_1 = match years.len() >= YEARS_FOR_LAG_1 {
            true => shown.lag_1,
            false => lines.lag_1[0] + lines.lag_1[1] * shown.lag_1,
        };
        Aims { variability, lag_1: lag_1.clamp(0.0, 0.9) }
    }
}

/// Monthly sums, Wh/m², of the whole years of a pool.
pub fn whole_years(pool: &DonorPool, month: &[u8]) -> Vec<[f64; 12]> {
    let mut sums = vec![[0.0; 12]; pool.files()];
    let mut days = vec![0; pool.files()];
    for d in pool.donors() {
        let day = usize::from(d.day_of_year);
        sums[usize::from(d.file)][usize::from(month[day])] += d.index * pool.potential_wh_m2()[day];
        days[usize::from(d.file)] += 1;
    }
    sums.into_iter().zip(days).filter(|&(_, n)| n == DAYS).map(|(s, _)| s).collect()
}
