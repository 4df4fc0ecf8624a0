//! Years that differ: how much they should, and the tilt that makes them.
//!
//! A typical year's months were chosen to be average, so a chain of its days alone gives back about 80 %
//! of the spread of months and 56 % of that of years (twelve Dutch records,
//! `tests/published/data/10k_resampled_typical_year.csv`). The tilt of [`super::chain`] adds the rest.
//! Its strength is found for each site when the sampler is built:
//! - the constant part of the tilt from the *means* (`means.rs`), which stay those of the file;
//! - the rest from the *spread* of `YEARS` years of the chain drawn at fixed luck, at a few strengths: variances add.
//!
//! Dull spells come first: where days that hang together as they do in records make a month differ by more than the
//! spread aimed at, it is left so. (Held to the spread instead, the left-out record of De Bilt came out with
//! a correlation of neighbouring days of 0.25 for 0.32, annual spread 19 % too small, and the worst dull spell of
//! ten years a day and a half too short.)

use super::chain::{Chain, Tilt};
use super::means::{Drawn, Means};
use super::pool::{DonorPool, YEAR};
use crate::design::YearSpread;

/// Years of chain drawn to measure a spread.
const YEARS: u64 = 240;
/// Fewest complete years from which a spread is estimated rather than assumed.
const ENOUGH_YEARS: usize = 8;

/// Coefficients of variation of sums of GHI between years, shares of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Of each calendar month.
    pub monthly: [f64; 12],
    /// Of the year.
    pub annual: f64,
}

/// Means over twelve Dutch stations, 24 to 36 years each, of the monthly coefficients of variation, and of the
/// annual one after a linear trend was taken out (`tests/published/data/10i_interannual_cov.csv`, from KNMI daily records).
pub const TEMPERATE: Spread = Spread {
    monthly: [0.1236, 0.1865, 0.1589, 0.1199, 0.1006, 0.0962, 0.1105, 0.0932, 0.1044, 0.1119, 0.1146, 0.1469],
    annual: 0.041,
};
/// Sunny, dry climates (common practice, no source: months about 5 %, years about 2 %).
const ARID: Spread = Spread { monthly: [0.05; 12], annual: 0.02 };
/// Mean clear-sky index at and below which a climate counts as the Dutch ones, and at and above
/// which as arid. Between, the spread is drawn in a straight line.
const INDEX: [f64; 2] = [0.60, 0.90];

impl Spread {
    /// The spread expected of a climate with a mean clear-sky index, at a latitude: winter is
    /// where the sun is low, and within the tropics months are alike.
    pub fn of_climate(mean_index: f64, latitude_deg: f64) -> Spread {
        let arid = ((mean_index - INDEX[0]) / (INDEX[1] - INDEX[0])).clamp(0.0, 1.0);
        let mean = TEMPERATE.monthly.iter().sum::<f64>() / 12.0;
        let seasonal = ((latitude_deg.abs() - 23.5) / 16.5).clamp(0.0, 1.0);
        let half_year = if latitude_deg < 0.0 { 6 } else { 0 };
        Spread {
            monthly: std::array::from_fn(|m| {
                let temperate = mean + seasonal * (TEMPERATE.monthly[(m + half_year) % 12] - mean);
                temperate + arid * (ARID.monthly[m] - temperate)
            }),
            annual: TEMPERATE.annual + arid * (ARID.annual - TEMPERATE.annual),
        }
    }

    /// The spread a user gave: the climate's course of the months, scaled to the mean given.
    fn given(climate: Spread, monthly: f64, annual: f64) -> Spread {
        let mean = climate.monthly.iter().sum::<f64>() / 12.0;
        Spread { monthly: climate.monthly.map(|c| c * monthly / mean), annual }
    }

    /// The spread of the complete years of a pool, months smoothed over their neighbours
    /// (1-2-1): a handful of years says little of a single month. `None` with too few years.
    pub fn of_pool(pool: &DonorPool, month: &[u8]) -> Option<Spread> {
        let mut sums = vec![[0.0; 12]; pool.files()];
        let mut days = vec![0; pool.files()];
        for d in pool.donors() {
            let day = usize::from(d.day_of_year);
            sums[usize::from(d.file)][usize::from(month[day])] += d.index * pool.potential()[day];
            days[usize::from(d.file)] += 1;
        }
        let whole: Vec<[f64; 12]> =
            sums.into_iter().zip(days).filter(|&(_, n)| n == YEAR).map(|(s, _)| s).collect();
        if whole.len() < ENOUGH_YEARS {
            return None;
        }
        let raw = Spread::of_sums(&whole);
        let smooth = |m: usize| {
            0.25 * raw.monthly[(m + 11) % 12] + 0.5 * raw.monthly[m] + 0.25 * raw.monthly[(m + 1) % 12]
        };
        Some(Spread { monthly: std::array::from_fn(smooth), annual: raw.annual })
    }

    /// Coefficients of variation of monthly sums, one array a year.
    pub fn of_sums(years: &[[f64; 12]]) -> Spread {
        let annual: Vec<f64> = years.iter().map(|y| y.iter().sum()).collect();
        Spread {
            monthly: std::array::from_fn(|m| variation(&years.iter().map(|y| y[m]).collect::<Vec<f64>>())),
            annual: variation(&annual),
        }
    }
}

/// Standard deviation (n - 1) over mean; 0 if the mean is 0.
pub fn variation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
    if mean > 0.0 && n > 1.0 { (square / (n - 1.0)).sqrt() / mean } else { 0.0 }
}

/// What the spread should be; `None` if the donors alone shall decide.
pub fn wanted(spread: YearSpread, pool: &DonorPool, month: &[u8], latitude_deg: f64) -> Option<Spread> {
    let (mut got, mut clear) = (0.0, 0.0);
    for d in pool.donors() {
        let potential = pool.potential()[usize::from(d.day_of_year)];
        got += d.index * potential;
        clear += potential;
    }
    let climate = Spread::of_climate(if clear > 0.0 { got / clear } else { 1.0 }, latitude_deg);
    match spread {
        YearSpread::None => None,
        YearSpread::Default => Some(Spread::of_pool(pool, month).unwrap_or(climate)),
        YearSpread::Given { monthly, annual } => Some(Spread::given(climate, monthly, annual)),
    }
}

/// Finds the tilt of a chain that gives the wanted spread and persistence and keeps the monthly means of
/// the pool. Without a wanted spread only the means are kept.
pub fn calibrate(chain: &mut Chain, pool: &DonorPool, wanted: Option<&Spread>) {
    chain.tilt = Tilt::NONE;
    let means = Means::new(chain, pool);
    means.settle(chain);
    let Some(wanted) = wanted else {
        return means.measure(chain);
    };
    let at = |chain: &mut Chain, spell: f64, month: [f64; 12], year: f64| {
        chain.tilt = Tilt { centre: chain.tilt.centre, spell, month, year };
        let drawn = Drawn::new(chain, pool, YEARS);
        means.step(chain, &drawn.means);
        drawn
    };
    // Each figure grows with the square of each strength: gain = growth over strength².
    let gain = |with: f64, without: f64, strength: f64| ((with - without) / (strength * strength)).max(1e-9);
    let square = |s: f64| s.clamp(0.0, MOST_TILT * MOST_TILT);

    // First the spells, from the correlation of neighbouring days.
    let none = at(chain, 0.0, [0.0; 12], 0.0);
    let some = at(chain, TRIED_SPELL, [0.0; 12], 0.0);
    let lag_1 = wanted_lag_1(chain, pool);
    let spell = square((lag_1 - none.lag_1) / gain(some.lag_1, none.lag_1, TRIED_SPELL)).sqrt();

    // Then what months and years still lack.
    let base = at(chain, spell, [0.0; 12], 0.0);
    let with_month = at(chain, spell, [TRIED; 12], 0.0);
    let with_year = at(chain, spell, [0.0; 12], TRIED);
    let month_gain = {
        let raw: [f64; 12] = std::array::from_fn(|m| gain(with_month.monthly[m], base.monthly[m], TRIED));
        // Measured on few years: a gain far below that of the other months is chance.
        let mean = raw.iter().sum::<f64>() / 12.0;
        raw.map(|g| g.max(0.4 * mean))
    };
    let (mut month, mut year) = ([0.0_f64; 12], 0.0_f64);
    for _ in 0..6 {
        let mean_square = month.iter().map(|s| s * s).sum::<f64>() / 12.0;
        let from_months = gain(with_month.annual, base.annual, TRIED) * mean_square;
        let lacking = wanted.annual * wanted.annual - base.annual - from_months;
        year = square(lacking / gain(with_year.annual, base.annual, TRIED)).sqrt();
        for m in 0..12 {
            let from_year = gain(with_year.monthly[m], base.monthly[m], TRIED) * year * year;
            let lacking = wanted.monthly[m] * wanted.monthly[m] - base.monthly[m] - from_year;
            month[m] = square(lacking / month_gain[m]).sqrt();
        }
    }
    // Strong tilts saturate, so variances fall short of the sum: one correction by measurement.
    let reached = at(chain, spell, month, year);
    for m in 0..12 {
        let lacking = wanted.monthly[m] * wanted.monthly[m] - reached.monthly[m];
        month[m] = square(month[m] * month[m] + lacking / month_gain[m]).sqrt();
    }
    let lacking = wanted.annual * wanted.annual - reached.annual;
    year = square(year * year + lacking / gain(with_year.annual, base.annual, TRIED)).sqrt();
    chain.tilt = Tilt { centre: chain.tilt.centre, spell, month, year };
    means.measure(chain);
}

/// Strength of a tilt at which gains are measured.
const TRIED: f64 = 0.4;
/// The same for the spell term, which is the strongest.
const TRIED_SPELL: f64 = 0.9;
/// Largest standard deviation of a part of θ: beyond it the choice is nearly always the dullest or the
/// brightest.
const MOST_TILT: f64 = 1.5;
/// Correlation of neighbouring days in a record over that in its typical year, where months are cut from
/// different years and chosen for being plain: mean over twelve Dutch stations
/// (`tests/published/data/10l_daily_persistence.csv`).
pub const RECORD_OVER_TYPICAL: f64 = 1.27;

/// Correlation of neighbouring days that a chain should have: that of the files, and for a lone typical
/// year that of the record behind it.
fn wanted_lag_1(chain: &Chain, pool: &DonorPool) -> f64 {
    let own = chain.lag_1(&true_pairs(pool));
    if pool.files() == 1 { (own * RECORD_OVER_TYPICAL).min(0.6) } else { own }
}

/// Each day of a pool with the day that truly followed it.
pub fn true_pairs(pool: &DonorPool) -> Vec<Vec<u32>> {
    (0..pool.donors().len() as u32).filter_map(|i| Some(vec![i, pool.successor(i)?])).collect()
}

/// Monthly sums of GHI, Wh/m², of a year of donors from 1 January on, by the daily index.
pub fn month_sums(chain: &Chain, pool: &DonorPool, donors: &[u32]) -> [f64; 12] {
    let mut sums = [0.0; 12];
    for (day, &donor) in donors.iter().enumerate().take(YEAR) {
        let index = pool.donors()[donor as usize].index;
        sums[usize::from(chain.month[day])] += index * pool.potential()[day];
    }
    sums
}
