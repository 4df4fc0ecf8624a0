//! The days of a trial, one after the other: clear-sky index, temperature and wind from correlated normal series, and a donor
//! day for each.
//!
//! z = scale (√(1-v-y) f + √v s + √y Y), with f a first-order autoregression over days, s over weeks, and Y one number for
//! each calendar year; the index of the day is the quantile of its date at z + shift. Of the donors of the window nearest in
//! index, the one nearest in temperature gives its hours. (Layers of a Gaussian copula; a slow part of its own after Hansen &
//! Mavromatis 2001, Agric. For. Meteorol., from memory.)

use super::aims::{Aims, Lines, REAL, Shown, TYPICAL, whole_years};
use super::correlation;
use super::distribution::{Distribution, Tails};
use super::persistence::{Fit, Persistence};
use super::pool::{Donor, DonorPool};
use super::season::course;
use super::variability::Variability;
use super::wind::Wind;
use super::window::days_apart;
use crate::design::YearSpread;
use crate::seed::{Purpose, stream};
use crate::sky::calendar::DAYS;
use crate::units::normal_quantile;
use crate::weather::file::year::YearKind;
use rand::{RngExt, rngs::ChaCha8Rng};

/// Donors nearest in index, of which the one nearest in temperature is taken.
const NEAREST: usize = 5;
/// Correlation of the fast part of the temperature from one day to the next, and of its slow part (memory of 45 days); share
/// of the slow part in the variance. With them the spread of months between years and the correlation of neighbouring days are on
/// average those of 21 records of temperature (0.997 and 1.00 of theirs; `tests/it/records/climates/`).
const AIR_FAST: f64 = 0.70;
const AIR_SLOW: f64 = 0.978_022;
const AIR_SLOW_SHARE: f64 = 0.14;

/// One day of a chain.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SampledDay {
    /// Which donor gives its hours.
    pub donor: u32,
    /// Clear-sky index of the day.
    pub index: f32,
    /// Mean air temperature of the day, °C.
    pub air_c: f32,
    /// Mean wind of the day, m/s.
    pub wind_m_s: f32,
}

impl SampledDay {
    /// A donor day as it is.
    pub fn of_donor(pool: &DonorPool, donor: u32) -> SampledDay {
        let Donor { index, air_c, wind_m_s, .. } = pool.donors()[donor as usize];
        SampledDay { donor, index: index as f32, air_c: air_c as f32, wind_m_s: wind_m_s as f32 }
    }
}

/// How a pool of so many years of a kind is used.
struct Use {
    /// Half-width of the window of the distribution, days.
    half: u16,
    scale: f64,
    /// Weights on a month and its neighbours, nearest first, for the monthly means aimed at.
    smooth: &'static [f64],
}

/// A typical year's months are chosen for being average: its daily standard deviation is 3 % below that of records.
fn use_of(kind: YearKind, years: usize) -> Use {
    match (kind, years) {
        (YearKind::Typical, 0 | 1) => Use { half: 30, scale: 1.03, smooth: &[1.0] },
        (_, 0 | 1) => Use { half: 30, scale: 1.0, smooth: &[3.0, 2.0, 1.0] },
        (_, 2) => Use { half: 20, scale: 1.0, smooth: &[3.0, 2.0, 1.0] },
        (_, 3 | 4) => Use { half: 20, scale: 1.0, smooth: &[2.0, 1.0] },
        _ => Use { half: 15, scale: 1.0, smooth: &[1.0] },
    }
}

/// The donors around a date from the dullest to the brightest.
#[derive(Clone, Debug, Default)]
struct Candidates {
    index: Vec<f32>,
    air_c: Vec<f32>,
    donor: Vec<u32>,
}

/// What chains are drawn from.
#[derive(Clone, Debug)]
pub struct Series {
    index: Distribution,
    persistence: Persistence,
    shown: Shown,
    /// What months, years and neighbouring days should do.
    aims: Aims,
    /// Whether the aims for months and years are met, or left to the days.
    vary: bool,
    /// Variance of the slow part by date.
    slow_variance: Vec<f64>,
    candidates: Vec<Candidates>,
    air: Distribution,
    air_course_c: Vec<f64>,
    /// Correlation of the normal numbers of temperature and light, by month.
    with_light: [f64; 12],
    wind: Wind,
    month: Vec<u8>,
}

impl Series {
    /// Fits a pool; `month` is that of each of 365 days. The pool must not be empty.
    pub fn new(pool: &DonorPool, month: Vec<u8>, kind: YearKind, spread: YearSpread) -> Series {
        Series::with_lines(pool, month, kind, spread, &if kind == YearKind::Typical { TYPICAL } else { REAL })
    }

    /// The same with other lines.
    pub fn with_lines(
        pool: &DonorPool,
        month: Vec<u8>,
        kind: YearKind,
        spread: YearSpread,
        lines: &Lines,
    ) -> Series {
        let how = use_of(kind, whole_years(pool, &month).len());
        let values: Vec<f64> = pool.donors().iter().map(|d| d.index).collect();
        let index = Distribution::new(pool, &values, how.half, Tails::Index);
        let mut aims = Aims::by_climate(pool, &month, lines);
        let vary = match spread {
            YearSpread::None => false,
            YearSpread::ByClimate => true,
            YearSpread::Given { monthly, annual } => {
                aims.variability = Variability::given(aims.variability, monthly, annual);
                true
            }
        };
        let fit = Fit {
            distribution: &index,
            clear_wh_m2: pool.potential_wh_m2(),
            scale: how.scale,
            means: smoothed(month_means(pool, &month), how.smooth),
        };
        let persistence = fit.solve(&aims, vary);
        let air_c: Vec<f64> = pool.donors().iter().map(|d| d.air_c).collect();
        let air_course_c = course(pool, &air_c);
        let anomaly: Vec<f64> =
            pool.donors().iter().map(|d| d.air_c - air_course_c[usize::from(d.day_of_year)]).collect();
        let air = Distribution::new(pool, &anomaly, how.half, Tails::Straight);
        let light = scores(pool, &index, &values);
        let with_light = correlation::by_month(pool, &month, &light, &scores(pool, &air, &anomaly));
        Series {
            wind: Wind::new(pool, &month, &light, &persistence.memory),
            slow_variance: by_date(&persistence.memory.slow_variance),
            candidates: (0..DAYS as u16).map(|date| candidates(pool, date, how.half)).collect(),
            index,
            persistence,
            shown: Shown::of(pool, &month),
            aims,
            vary,
            air,
            air_course_c,
            with_light,
            month,
        }
    }

    /// What months, years and neighbouring days should do; `None` for months and years left to the days.
    pub fn wanted(&self) -> Option<&Variability> {
        self.vary.then_some(&self.aims.variability)
    }

    /// What the files show of their climate.
    pub fn shown(&self) -> &Shown {
        &self.shown
    }

    /// The fit.
    pub fn persistence(&self) -> &Persistence {
        &self.persistence
    }

    /// The aims.
    pub fn aims(&self) -> &Aims {
        &self.aims
    }

    /// The days of one trial: `days` consecutive days from day `first_day` of the year, wrapping.
    pub fn draw(&self, seed: u64, trial: u64, first_day: u16, days: usize) -> Vec<SampledDay> {
        let mut rng = stream(seed, Purpose::Donors, trial, 0);
        let mut year = two_normals(&mut rng)[0];
        let [mut fast, mut slow] = two_normals(&mut rng);
        let [mut air_fast, mut air_slow] = two_normals(&mut rng);
        let mut of_wind = stream(seed, Purpose::Wind, trial, 0);
        let mut wind = one_normal(&mut of_wind);
        let memory = &self.persistence.memory;
        let step = |value: &mut f64, by: f64, r: f64| *value = r * *value + (1.0 - r * r).sqrt() * by;
        let mut out = Vec::with_capacity(days);
        for t in 0..days {
            let date = (usize::from(first_day) + t) % DAYS;
            if t > 0 {
                if date == 0 {
                    year = two_normals(&mut rng)[0];
                }
                let [a, b] = two_normals(&mut rng);
                step(&mut fast, a, memory.fast);
                step(&mut slow, b, memory.slow);
                let [a, b] = two_normals(&mut rng);
                step(&mut air_fast, a, AIR_FAST);
                step(&mut air_slow, b, AIR_SLOW);
                wind = self.wind.step(wind, one_normal(&mut of_wind));
            }
            let (v, y) = (self.slow_variance[date], memory.year_variance);
            let light = (1.0 - v - y).max(0.0).sqrt() * fast + v.sqrt() * slow + y.sqrt() * year;
            let air = (1.0 - AIR_SLOW_SHARE).sqrt() * air_fast + AIR_SLOW_SHARE.sqrt() * air_slow;
            out.push(self.day(date, light, air, wind));
        }
        out
    }

    /// Clear-sky index of a date at the normal number of light, whose distribution over all years is the standard one on every date.
    pub fn index_at(&self, date: usize, light: f64) -> f64 {
        let shift = self.persistence.shift[usize::from(self.month[date])];
        self.index.at(date, self.persistence.scale * light + shift)
    }

    /// The day of a date at normal numbers for light, temperature and wind.
    fn day(&self, date: usize, light: f64, air: f64, wind: f64) -> SampledDay {
        let month = usize::from(self.month[date]);
        let index = self.index_at(date, light);
        let r = self.with_light[month];
        let anomaly_c = self.air.at(date, r * light + (1.0 - r * r).max(0.0).sqrt() * air);
        let air_c = self.air_course_c[date] + anomaly_c;
        let donor = self.candidates[date].nearest(index as f32, air_c as f32);
        let wind_m_s = self.wind.mean_m_s(date, month, light, wind) as f32;
        SampledDay { donor, index: index as f32, air_c: air_c as f32, wind_m_s }
    }
}

impl Candidates {
    /// Of the nearest in index the one nearest in temperature.
    fn nearest(&self, index: f32, air_c: f32) -> u32 {
        let n = self.index.len();
        let at = self.index.partition_point(|&k| k < index);
        let (mut low, mut high) = (at, at);
        while high - low < NEAREST.min(n) {
            let take_low = match (low > 0, high < n) {
                (true, true) => index - self.index[low - 1] <= self.index[high] - index,
                (below, _) => below,
            };
            if take_low {
                low -= 1;
            } else {
                high += 1;
            }
        }
        let (mut best, mut least) = (0, f32::INFINITY);
        for i in low..high {
            let off = (self.air_c[i] - air_c).abs();
            if off < least {
                (best, least) = (self.donor[i], off);
            }
        }
        best
    }
}

/// A standard normal number.
#[inline]
fn one_normal(rng: &mut ChaCha8Rng) -> f64 {
    normal_quantile((f64::from(rng.random::<u32>()) + 0.5) / 4_294_967_296.0)
}

/// Normal numbers of a value for each donor.
fn scores(pool: &DonorPool, distribution: &Distribution, values: &[f64]) -> Vec<f64> {
    let score = |(d, v): (&Donor, &f64)| distribution.score(usize::from(d.day_of_year), *v);
    pool.donors().iter().zip(values).map(score).collect()
}

/// Two standard normal numbers from one draw.
#[inline]
fn two_normals(rng: &mut ChaCha8Rng) -> [f64; 2] {
    let bits = rng.random::<u64>();
    [bits as u32, (bits >> 32) as u32].map(|b| normal_quantile((f64::from(b) + 0.5) / 4_294_967_296.0))
}

fn candidates(pool: &DonorPool, date: u16, half: u16) -> Candidates {
    let mut half = half;
    let mut near: Vec<u32>;
    loop {
        near = (0..pool.donors().len() as u32)
            .filter(|&i| days_apart(pool.donors()[i as usize].day_of_year, date) <= half)
            .collect();
        if near.len() >= 2 * NEAREST || usize::from(half) > DAYS / 2 {
            break;
        }
        half *= 2;
    }
    let donor = |i: &u32| &pool.donors()[*i as usize];
    near.sort_by(|a, b| donor(a).index.total_cmp(&donor(b).index).then(a.cmp(b)));
    Candidates {
        index: near.iter().map(|i| donor(i).index as f32).collect(),
        air_c: near.iter().map(|i| donor(i).air_c as f32).collect(),
        donor: near,
    }
}

/// Mean index of each month, weighted by clear-sky energy; NaN without donors.
fn month_means(pool: &DonorPool, month: &[u8]) -> [f64; 12] {
    let mut sums = [[0.0; 2]; 12];
    for d in pool.donors() {
        let day = usize::from(d.day_of_year);
        let clear = pool.potential_wh_m2()[day];
        let s = &mut sums[usize::from(month[day])];
        *s = [s[0] + d.index * clear, s[1] + clear];
    }
    sums.map(|[sum, clear]| if clear > 0.0 { sum / clear } else { f64::NAN })
}

/// Months averaged with their neighbours; months without a value stay without.
fn smoothed(months: [f64; 12], weights: &[f64]) -> [f64; 12] {
    std::array::from_fn(|m| {
        let (mut sum, mut all) = (0.0, 0.0);
        for (apart, weight) in weights.iter().enumerate() {
            for at in [(m + apart) % 12, (m + 12 - apart) % 12] {
                let weight = if apart == 0 { 0.5 * weight } else { *weight };
                if months[at].is_finite() {
                    sum += weight * months[at];
                    all += weight;
                }
            }
        }
        if months[m].is_finite() && all > 0.0 { sum / all } else { f64::NAN }
    })
}

/// Twelve values on the dates: straight lines between the middles of months.
fn by_date(months: &[f64; 12]) -> Vec<f64> {
    (0..DAYS).map(|day| crate::sky::calendar::turbidity_on(months, day)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::dates::month_of;

    /// Bright and dark days alone, 45 % of them bright in every month: sampled months have that share within 2 % (two thousand
    /// years know it to 0.6 %, one sigma, for days correlated by 0.4), and no days in between.
    #[test]
    fn a_place_with_bright_and_dark_days_alone_keeps_their_share() {
        let bright = |d: u16| d * 9 % 20 < 9;
        let donors: Vec<Donor> = (0..DAYS as u16)
            .map(|d| Donor {
                file: 0,
                day_of_year: d,
                index: if bright(d) { 1.0 } else { 0.002 },
                air_c: 18.0,
                wind_m_s: 2.0,
            })
            .collect();
        let pool = DonorPool::from_daily(donors, vec![5000.0; DAYS]);
        let month: Vec<u8> = (0..DAYS as u16).map(|d| month_of(d) as u8).collect();
        let series = Series::new(&pool, month.clone(), YearKind::Real, YearSpread::None);
        let (mut sunny, mut all) = ([0.0; 12], [0.0; 12]);
        for trial in 0..2000 {
            for (d, day) in series.draw(1, trial, 0, DAYS).iter().enumerate() {
                assert!(day.index < 0.003 || day.index > 0.99, "{}", day.index);
                sunny[usize::from(month[d])] += f64::from(u8::from(day.index > 0.5));
                all[usize::from(month[d])] += 1.0;
            }
        }
        let wanted = |m: usize| {
            let days: Vec<u16> =
                (0..DAYS as u16).filter(|&d| usize::from(month[usize::from(d)]) == m).collect();
            days.iter().filter(|&&d| bright(d)).count() as f64 / days.len() as f64
        };
        let wanted = smoothed(std::array::from_fn(wanted), &[3.0, 2.0, 1.0]);
        for m in 0..12 {
            let share = sunny[m] / all[m];
            assert!((share - wanted[m]).abs() < 0.02, "month {m}: {share} for {}", wanted[m]);
        }
    }
}
