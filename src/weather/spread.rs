//! Years that differ: how much they should, and the tilt that makes them.
//!
//! A typical year's months were chosen to be average, so a chain of its days alone gives back about 80 %
//! of the spread of months and 56 % of that of years (twelve Dutch records,
//! `tests/published/data/10k_resampled_typical_year.csv`). The tilt of [`super::chain`] adds the rest.
//! Its strength is found for each site when the sampler is built:
//! - the *means* without chance: the chain is a Markov chain over donors, so its distribution can be carried
//!   through the year day by day; θ changes slowly against the chain's memory, so the mean over θ is taken over
//!   five constant values of it (Gauss-Hermite), and the constant part is moved until each month's mean
//!   is the file's;
//! - the *spread* from `YEARS` years of the chain drawn at fixed luck, at a few strengths: variances add.

use super::chain::{Chain, NOT_AGAIN, Tilt};
use super::neighbours::{HALF_WINDOW, days_apart};
use super::pool::{DonorPool, YEAR};
use crate::design::YearSpread;
use crate::lanes::math;
use rayon::prelude::*;
use std::collections::VecDeque;

/// Years of chain drawn to measure a spread.
const YEARS: u64 = 240;
/// Years drawn for each of the last steps of the means: months are known to about 0.2 %.
const MEAN_YEARS: u64 = 360;
/// Days before a measured year starts.
const RUN_IN: usize = 10;
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

/// What a chain's years are like: squared coefficients of variation, and correlation of
/// neighbouring days.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    monthly: [f64; 12],
    annual: f64,
    lag_1: f64,
    /// Mean monthly sums, Wh/m².
    means: [f64; 12],
}

impl Drawn {
    fn new(chain: &Chain, pool: &DonorPool, years: u64) -> Drawn {
        // A seed of its own: the luck of calibration is not that of any run.
        const SEED: u64 = 0x5eed_ca1b;
        let (chains, months): (Vec<Vec<u32>>, Vec<[Month; 12]>) = (0..years)
            .into_par_iter()
            .map(|year| {
                let mut donors = Vec::with_capacity(YEAR);
                let mut months = [Month::default(); 12];
                let mut t = 0;
                chain.walk(SEED, year, (YEAR - RUN_IN) as u16, RUN_IN + YEAR, |step| {
                    if t >= RUN_IN {
                        let date = t - RUN_IN;
                        let potential = pool.potential()[date];
                        let index = chain.index[step.donor as usize];
                        let month = &mut months[usize::from(chain.month[date])];
                        month.sum += potential * index;
                        month.surprise += potential * step.surprise;
                        month.slow += potential * step.slow;
                        donors.push(step.donor);
                    }
                    t += 1;
                });
                (donors, months)
            })
            .unzip();
        let sums: Vec<[f64; 12]> = months.iter().map(|y| y.map(|m| m.sum)).collect();
        let spread = Spread::of_sums(&sums);
        Drawn {
            monthly: spread.monthly.map(|c| c * c),
            annual: spread.annual * spread.annual,
            lag_1: chain.lag_1(&chains),
            means: std::array::from_fn(|m| mean_less_luck(months.iter().map(|y| y[m]))),
        }
    }
}

/// A month of a chain, days weighted by their energy at index 1.
#[derive(Clone, Copy, Debug, Default)]
struct Month {
    /// Of the index: energy, Wh/m².
    sum: f64,
    /// Of [`super::chain::Step::surprise`].
    surprise: f64,
    /// Of [`super::chain::Step::slow`].
    slow: f64,
}

/// Mean of the sums as it would be if surprises and slow terms had come out at their mean of 0: these are
/// regressed out (control variates). It takes away most of the chance, and none of the truth.
fn mean_less_luck(months: impl Iterator<Item = Month> + Clone) -> f64 {
    let n = months.clone().count().max(1) as f64;
    let mean = |f: fn(&Month) -> f64| months.clone().map(|m| f(&m)).sum::<f64>() / n;
    let (y, a, b) = (mean(|m| m.sum), mean(|m| m.surprise), mean(|m| m.slow));
    let product = |f: &dyn Fn(&Month) -> f64| months.clone().map(|m| f(&m)).sum::<f64>();
    let aa = product(&|m| (m.surprise - a) * (m.surprise - a));
    let bb = product(&|m| (m.slow - b) * (m.slow - b));
    let ab = product(&|m| (m.surprise - a) * (m.slow - b));
    let ay = product(&|m| (m.surprise - a) * (m.sum - y));
    let by = product(&|m| (m.slow - b) * (m.sum - y));
    let determinant = aa * bb - ab * ab;
    let over = |up: f64, down: f64| if down > 0.0 { up / down } else { 0.0 };
    if determinant > 1e-9 * aa * bb {
        y - a * (ay * bb - by * ab) / determinant - b * (by * aa - ay * ab) / determinant
    } else {
        y - a * over(ay, aa)
    }
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

/// Long-run monthly means without drawing.
struct Means<'a> {
    pool: &'a DonorPool,
    /// Monthly sums of the pool, Wh/m².
    wanted: [f64; 12],
    /// What a step of the constant part is worth, Wh/m² for each month; without any tilt.
    slope: [f64; 12],
}

impl<'a> Means<'a> {
    fn new(chain: &Chain, pool: &'a DonorPool) -> Means<'a> {
        let mut sum = [0.0; 12];
        let mut clear = [0.0; 12];
        let mut of_year = [0.0; 12];
        for d in pool.donors() {
            let day = usize::from(d.day_of_year);
            let month = usize::from(chain.month[day]);
            sum[month] += d.index * pool.potential()[day];
            clear[month] += pool.potential()[day];
        }
        for (&month, potential) in chain.month.iter().zip(pool.potential()) {
            of_year[usize::from(month)] += potential;
        }
        let mut means = Means {
            pool,
            wanted: std::array::from_fn(|m| {
                if clear[m] > 0.0 { sum[m] / clear[m] * of_year[m] } else { f64::NAN }
            }),
            slope: [0.0; 12],
        };
        const STEP: f64 = 0.1;
        let [down, up] = [-STEP, STEP].map(|centre| means.at_constant(chain, &[centre; 12]));
        means.slope = std::array::from_fn(|m| (up[m] - down[m]) / (2.0 * STEP));
        means
    }

    /// Moves the constant part of the tilt until the monthly means are those of the pool, by an untilted chain's
    /// distribution, which leaves out what bans that look back do.
    fn settle(&self, chain: &mut Chain) {
        for _ in 0..3 {
            let now = self.at_constant(chain, &chain.tilt.centre);
            self.step(chain, &now);
        }
    }

    /// The same by measurement.
    fn measure(&self, chain: &mut Chain) {
        for _ in 0..3 {
            self.step(chain, &Drawn::new(chain, self.pool, MEAN_YEARS).means);
        }
    }

    /// One step from the monthly sums that are to those that should be.
    fn step(&self, chain: &mut Chain, now: &[f64; 12]) {
        for (m, centre) in chain.tilt.centre.iter_mut().enumerate() {
            let step = (self.wanted[m] - now[m]) / self.slope[m];
            // Months without sun, without donors or with one kind of day have nothing to settle.
            if step.is_finite() {
                *centre = (*centre + step.clamp(-0.5, 0.5)).clamp(-2.0, 2.0);
            }
        }
    }

    /// Expected monthly sums for a θ that does not move within a month.
    fn at_constant(&self, chain: &Chain, theta: &[f64; 12]) -> [f64; 12] {
        let donors = self.pool.donors();
        let n = donors.len();
        // Start two weeks before the year, with every donor near the date as likely.
        let start = YEAR - 14;
        let near = |d: &super::pool::Donor| days_apart(d.day_of_year, start as u16) <= HALF_WINDOW;
        let count = donors.iter().filter(|d| near(d)).count().max(1) as f64;
        let mut now: Vec<f64> = donors.iter().map(|d| if near(d) { 1.0 / count } else { 0.0 }).collect();
        let mut next = vec![0.0; n];
        let mut tilts = vec![0.0; n];
        let mut recent = vec![0.0_f64; n];
        let mut past: VecDeque<Vec<f64>> = VecDeque::new();
        let mut tilts_of = usize::MAX;
        let mut sums = [0.0; 12];
        for t in 0..14 + YEAR {
            let date = (start + t) % YEAR;
            if t >= 14 {
                let mean: f64 =
                    now.iter().zip(donors).filter(|(p, _)| **p > 0.0).map(|(p, d)| p * d.index).sum();
                sums[usize::from(chain.month[date])] += mean * self.pool.potential()[date];
            }
            let month = usize::from(chain.month[(date + 1) % YEAR]);
            if month != tilts_of {
                tilts_of = month;
                for (w, z) in tilts.iter_mut().zip(&chain.z) {
                    *w = math::exp(theta[month] * z);
                }
            }
            next.fill(0.0);
            for (i, &p) in now.iter().enumerate().filter(|(_, p)| **p > 0.0) {
                // A day does not follow itself, nor a day of the last few: the former exactly, the
                // latter as likely as those days are on the whole.
                let likes = || {
                    let others =
                        chain.neighbours.of(i as u32, date as u16).filter(move |l| l.successor != i as u32);
                    others.zip(&chain.neighbours.kernel).map(|(l, k)| {
                        let s = l.successor as usize;
                        (s, k * tilts[s] * (1.0 - recent[s]).max(0.0))
                    })
                };
                let total: f64 = likes().map(|(_, w)| w).sum();
                if total > 0.0 {
                    likes().for_each(|(s, w)| next[s] += p * w / total);
                }
            }
            // Those of the last NOT_AGAIN days but today's.
            past.push_back(now.clone());
            for (r, p) in recent.iter_mut().zip(&now) {
                *r += p;
            }
            if past.len() >= NOT_AGAIN {
                let gone = past.pop_front().unwrap_or_default();
                for (r, p) in recent.iter_mut().zip(&gone) {
                    *r -= p;
                }
            }
            std::mem::swap(&mut now, &mut next);
        }
        sums
    }
}
