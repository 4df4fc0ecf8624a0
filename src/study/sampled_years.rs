//! Sampled years compared with the weather file they come from: the numbers of the `weather` command.
//!
//! Needs no design: it draws the same trials as a run does, and counts their weather. Text, CSV and JSON
//! of these numbers are made in `report::weather`.

use super::block_weather::BlockWeather;
use super::plan::{CHAIN_START, RUN_IN_DAYS};
use crate::lanes::{BLOCK, Isa};
use crate::sky::Calendar;
use crate::sky::calendar::DAYS;
use crate::weather::days::clear_day::ClearDay;
use crate::weather::days::variability::Variability;
use crate::weather::{BlockDay, Hour, Sampler, TypicalYear};
use rayon::prelude::*;
use serde::Serialize;
use std::ops::Range;

/// Daily clearness below which spells are counted.
pub(crate) const SPELLS_BELOW: [f64; 2] = [0.2, 0.3];
/// Beam above which a minute counts as bright sunshine, W/m² (WMO).
pub(crate) const BRIGHT_ABOVE_W_M2: f64 = 120.0;
/// Cosine of the zenith angle above which minute ramps are counted: sun above 10°.
const RAMPS_ABOVE: f64 = 0.173_648;
/// Years of which only the days are drawn, for dull spells and variability.
const DAILY_YEARS: u64 = 600;
/// Days of a chain that reaches the end of the calendar year.
const CHAIN_DAYS: usize = RUN_IN_DAYS + DAYS;

/// Sampled years against the file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SampledVsFile {
    /// Seed of the sampled years.
    pub seed: u64,
    /// Sampled years of minutes.
    pub minute_years: u64,
    /// Sampled years of days alone, for spread and spells.
    pub daily_years: u64,
    /// January to December.
    pub months: Vec<MonthVsFile>,
    /// Annual GHI of the file, kWh/m², mean of its years; days that are missing count as their month's mean.
    pub file_ghi_kwh_m2: f64,
    /// Mean annual GHI of the sampled minutes, kWh/m².
    pub sampled_ghi_kwh_m2: f64,
    /// Coefficient of variation of sampled annual sums.
    pub annual_variation: f64,
    /// What it should be; `None` if the donors alone decide.
    pub wanted_annual_variation: Option<f64>,
    /// Kolmogorov-Smirnov distance of the daily clear-sky index, sampled against file.
    pub daily_index_ks: f64,
    /// Correlation of a day's clear-sky index with the day before's, both less their month's mean: the file's.
    pub file_lag_1: f64,
    /// The same of the sampled years.
    pub sampled_lag_1: f64,
    /// Runs of dull days.
    pub spells: Vec<SpellVsFile>,
    /// Share of minutes with the sun up that have bright sunshine (DNI > 120 W/m²), sampled.
    pub bright_minutes: f64,
    /// The same of the file's hours, each as a whole: coarser, so only near the former.
    pub file_bright_hours: f64,
    /// Minute-to-minute steps of the clear-sky index with the sun above 10°, sampled.
    pub ramps: Ramps,
}

/// A month, sampled against file.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MonthVsFile {
    /// 1..=12.
    pub month: u8,
    /// Mean daily GHI of the file, kWh/m²; `None` if it has no whole day of the month.
    pub file_ghi_kwh_m2_d: Option<f64>,
    /// Of the sampled minutes.
    pub sampled_ghi_kwh_m2_d: f64,
    /// Coefficient of variation of the sampled sums of the month.
    pub variation: f64,
    /// What it should be; `None` if the donors alone decide.
    pub wanted_variation: Option<f64>,
}

/// Longest runs of days below a daily clearness, days.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpellVsFile {
    /// Daily clearness (GHI over extraterrestrial).
    pub clearness_below: f64,
    /// Longest of the file (of each year's longest the greatest).
    pub file_longest: u32,
    /// Median over sampled years of the longest of the year.
    pub median: f64,
    /// Nine sampled years of ten have none longer.
    pub p90: f64,
    /// Median over sampled decades of the longest of the decade.
    pub longest_in_10_years: f64,
    /// The same of thirty years.
    pub longest_in_30_years: f64,
}

/// Steps from one minute to the next of the clear-sky index.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ramps {
    /// Share above 0.1.
    pub above_0_1: f64,
    /// Share above 0.3.
    pub above_0_3: f64,
    /// 95th percentile.
    pub p95: f64,
    /// 99th percentile.
    pub p99: f64,
}

/// One minute with the sun up of a sampled year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SampledMinute {
    /// Day of the year, 1..=365.
    pub day: u16,
    /// Minute of the day, 0..1440 from the start of the day ([`Calendar::day_start_h`]).
    pub minute: u16,
    /// Global horizontal, W/m².
    pub ghi_w_m2: f64,
    /// Beam normal, W/m².
    pub dni_w_m2: f64,
    /// Diffuse horizontal, W/m².
    pub dhi_w_m2: f64,
    /// Air, °C.
    pub air_c: f64,
    /// Wind at 10 m, m/s.
    pub wind_m_s: f64,
}

/// Samples `blocks` times sixteen years of minutes, and [`struct@SampledVsFile`]'s `daily_years` of days, and holds them
/// against the files the sampler was built from. `blocks` is at least 1.
pub fn compare(sampler: &Sampler, years: &[TypicalYear], isa: Isa, seed: u64, blocks: u64) -> SampledVsFile {
    let calendar = sampler.calendar();
    let clear: Vec<f64> = sampler.pool().potential_wh_m2().to_vec();
    let daily = daily_years(sampler, seed);
    let minutes = MinuteTotals::sample(sampler, isa, seed, blocks);
    let file_days = file_days(years, calendar);
    let file_month = |m: usize| {
        let of: Vec<f64> =
            file_days.iter().filter(|d| month(calendar, d.day) == m).map(|d| d.ghi_wh_m2 / 1000.0).collect();
        if of.is_empty() { None } else { Some(of.iter().sum::<f64>() / of.len() as f64) }
    };
    let sums: Vec<[f64; 12]> = daily
        .iter()
        .map(|index| {
            let mut sums = [0.0; 12];
            for (day, k) in index.iter().enumerate() {
                sums[month(calendar, day)] += k * clear[day];
            }
            sums
        })
        .collect();
    let variability = Variability::of_sums(&sums);
    let mut days_in = [0_usize; 12];
    (0..DAYS).for_each(|d| days_in[month(calendar, d)] += 1);
    let trials = (blocks * BLOCK as u64) as f64;
    let months: Vec<MonthVsFile> = (0..12)
        .map(|m| MonthVsFile {
            month: m as u8 + 1,
            file_ghi_kwh_m2_d: file_month(m),
            sampled_ghi_kwh_m2_d: minutes.month_wh_m2[m] / trials / days_in[m] as f64 / 1000.0,
            variation: variability.monthly[m],
            wanted_variation: sampler.wanted_variability().map(|w| w.monthly[m]),
        })
        .collect();
    let by_days =
        |f: &dyn Fn(&MonthVsFile) -> f64| months.iter().zip(days_in).map(|(m, n)| f(m) * n as f64).sum();
    let file_index: Vec<f64> = file_days.iter().filter_map(|d| index(d, &clear)).collect();
    SampledVsFile {
        seed,
        minute_years: blocks * BLOCK as u64,
        daily_years: DAILY_YEARS,
        file_ghi_kwh_m2: by_days(&|m| m.file_ghi_kwh_m2_d.unwrap_or(m.sampled_ghi_kwh_m2_d)),
        sampled_ghi_kwh_m2: by_days(&|m| m.sampled_ghi_kwh_m2_d),
        months,
        annual_variation: variability.annual,
        wanted_annual_variation: sampler.wanted_variability().map(|w| w.annual),
        daily_index_ks: ks_distance(file_index, minutes.daily_index.clone()),
        file_lag_1: sampler.file_lag_1(),
        sampled_lag_1: sampler.sampled_lag_1(seed, 100),
        spells: SPELLS_BELOW.iter().map(|&b| spell(b, &daily, &file_days, calendar, &clear)).collect(),
        bright_minutes: minutes.bright as f64 / (minutes.up.max(1)) as f64,
        file_bright_hours: bright_hours(years, calendar),
        ramps: minutes.ramps(),
    }
}

/// Calls `each` with every minute of one trial with the sun up, in order. `days` count from the start of the chain
/// ([`CHAIN_START`]), as in a run: [`RUN_IN_DAYS`] is 1 January.
pub fn minutes_of_trial(
    sampler: &Sampler,
    isa: Isa,
    seed: u64,
    trial: u64,
    days: Range<usize>,
    mut each: impl FnMut(SampledMinute),
) {
    let first_trial = trial - trial % BLOCK as u64;
    let lane = (trial - first_trial) as usize;
    let weather = BlockWeather::new(sampler, seed, first_trial, days.end);
    let mut day = BlockDay::default();
    for t in days {
        let date = (usize::from(CHAIN_START) + t) % DAYS;
        weather.fill(isa, t, &mut day);
        let calendar = &sampler.calendar().days[date];
        for (k, sun) in calendar.minutes.iter().enumerate() {
            let minute = calendar.first + k;
            let (dni, dhi) = day.light(k, lane);
            each(SampledMinute {
                day: date as u16 + 1,
                minute: minute as u16,
                ghi_w_m2: dni * sun.up + dhi,
                dni_w_m2: dni,
                dhi_w_m2: dhi,
                air_c: day.air_c[minute / 60].0[lane],
                wind_m_s: day.wind_m_s[minute / 60].0[lane],
            });
        }
    }
}

fn month(calendar: &Calendar, day: usize) -> usize {
    usize::from(calendar.days[day].month)
}

/// Daily clear-sky indices of many sampled years.
fn daily_years(sampler: &Sampler, seed: u64) -> Vec<Vec<f64>> {
    (0..DAILY_YEARS)
        .into_par_iter()
        .map(|trial| {
            let chain = sampler.chain(seed, trial, CHAIN_START, CHAIN_DAYS);
            chain[RUN_IN_DAYS..].iter().map(|d| f64::from(d.index)).collect()
        })
        .collect()
}

/// A whole day of a file.
struct FileDay {
    file: usize,
    day: usize,
    ghi_wh_m2: f64,
}

fn file_days(years: &[TypicalYear], calendar: &Calendar) -> Vec<FileDay> {
    let mut out = Vec::new();
    for (file, year) in years.iter().enumerate() {
        for day in 0..DAYS {
            let hours: Option<Vec<Hour>> = (0..24).map(|h| year.hours[calendar.hour_index(day, h)]).collect();
            if let Some(hours) = hours {
                let ghi_wh_m2 = hours.iter().map(|h| h.ghi_w_m2.max(0.0)).sum();
                out.push(FileDay { file, day, ghi_wh_m2 });
            }
        }
    }
    out
}

fn index(day: &FileDay, clear: &[f64]) -> Option<f64> {
    let clear = clear[day.day];
    (clear > 0.0).then(|| day.ghi_wh_m2 / clear)
}

/// What is counted over sampled minutes.
#[derive(Default)]
struct MinuteTotals {
    /// Energy by month, Wh/m², of all trials.
    month_wh_m2: [f64; 12],
    /// Clear-sky index of each day and trial.
    daily_index: Vec<f64>,
    /// Minutes with the sun up.
    up: u64,
    /// Of these, with bright sunshine.
    bright: u64,
    /// Steps in bins of [`STEP`], the last for all that is larger.
    steps: Vec<u64>,
}
/// Width of a bin of steps, of the clear-sky index.
const STEP: f64 = 0.002;
/// How many there are.
const STEPS: usize = 750;

/// One day of one trial.
struct DayEnergy {
    /// 0..12.
    month: usize,
    /// On the horizontal, Wh/m².
    wh_m2: f64,
    /// Under the clear sky, Wh/m².
    clear_wh_m2: f64,
}

impl MinuteTotals {
    fn new() -> MinuteTotals {
        MinuteTotals { steps: vec![0; STEPS], ..MinuteTotals::default() }
    }

    /// Blocks in parallel. Counts add up in any order; energies are summed day by day afterwards, so that the
    /// number of threads changes no bit.
    fn sample(sampler: &Sampler, isa: Isa, seed: u64, blocks: u64) -> MinuteTotals {
        let parts: Vec<(MinuteTotals, Vec<DayEnergy>)> = (0..blocks)
            .into_par_iter()
            .map(|block| MinuteTotals::of_block(sampler, isa, seed, block))
            .collect();
        let mut out = MinuteTotals::new();
        for (counts, days) in parts {
            out.up += counts.up;
            out.bright += counts.bright;
            out.steps.iter_mut().zip(counts.steps).for_each(|(sum, n)| *sum += n);
            for day in days {
                out.month_wh_m2[day.month] += day.wh_m2;
                if day.clear_wh_m2 > 0.0 {
                    out.daily_index.push(day.wh_m2 / day.clear_wh_m2);
                }
            }
        }
        out
    }

    /// Counts of one block, and its days in order of date and trial.
    fn of_block(sampler: &Sampler, isa: Isa, seed: u64, block: u64) -> (MinuteTotals, Vec<DayEnergy>) {
        let mut counts = MinuteTotals::new();
        let mut days = Vec::with_capacity(DAYS * BLOCK);
        let mut day = BlockDay::default();
        let weather = BlockWeather::new(sampler, seed, block * BLOCK as u64, CHAIN_DAYS);
        for (date, t) in (RUN_IN_DAYS..CHAIN_DAYS).enumerate() {
            weather.fill(isa, t, &mut day);
            days.extend((0..BLOCK).map(|lane| counts.add(sampler, date, &day, lane)));
        }
        (counts, days)
    }

    fn add(&mut self, sampler: &Sampler, date: usize, day: &BlockDay, lane: usize) -> DayEnergy {
        let calendar = &sampler.calendar().days[date];
        let (mut energy, mut clear_energy) = (0.0, 0.0);
        let mut before: Option<f64> = None;
        for (k, sun) in calendar.minutes.iter().enumerate() {
            let (dni, dhi) = day.light(k, lane);
            let ghi = dni * sun.up + dhi;
            let clear = sun.dni_clear_w_m2 * sun.up + sun.dhi_clear_w_m2;
            energy += ghi / 60.0;
            clear_energy += clear / 60.0;
            self.up += 1;
            self.bright += u64::from(dni > BRIGHT_ABOVE_W_M2);
            let now = (sun.up > RAMPS_ABOVE).then(|| ghi / clear);
            if let (Some(a), Some(b)) = (before, now) {
                self.steps[(((b - a).abs() / STEP) as usize).min(STEPS - 1)] += 1;
            }
            before = now;
        }
        DayEnergy { month: usize::from(calendar.month), wh_m2: energy, clear_wh_m2: clear_energy }
    }

    fn ramps(&self) -> Ramps {
        let all: u64 = self.steps.iter().sum();
        let above = |x: f64| {
            let n: u64 = self.steps[(x / STEP).round() as usize..].iter().sum();
            n as f64 / all.max(1) as f64
        };
        let at = |p: f64| {
            let mut below = 0;
            let bin = self.steps.iter().position(|&n| {
                below += n;
                below as f64 >= p * all as f64
            });
            (bin.unwrap_or(0) as f64 + 0.5) * STEP
        };
        Ramps { above_0_1: above(0.1), above_0_3: above(0.3), p95: at(0.95), p99: at(0.99) }
    }
}

/// Share of the file's hours with the sun up whose mean beam, over the part of the hour with the
/// sun up, is bright; weighted by that part.
fn bright_hours(years: &[TypicalYear], calendar: &Calendar) -> f64 {
    let clear: Vec<ClearDay> = calendar.days.iter().map(ClearDay::new).collect();
    let (mut bright, mut up) = (0, 0);
    for year in years {
        for (day, clear) in clear.iter().enumerate() {
            for h in 0..24 {
                let minutes = clear.minutes[h].len();
                if let (Some(hour), true) = (year.hours[calendar.hour_index(day, h)], minutes > 0) {
                    up += minutes;
                    let mean = hour.dni_w_m2 * 60.0 / minutes as f64;
                    bright += if mean > BRIGHT_ABOVE_W_M2 { minutes } else { 0 };
                }
            }
        }
    }
    bright as f64 / up.max(1) as f64
}

fn spell(
    below: f64,
    daily: &[Vec<f64>],
    file: &[FileDay],
    calendar: &Calendar,
    clear: &[f64],
) -> SpellVsFile {
    let outside: Vec<f64> = calendar.days.iter().map(|d| d.extraterrestrial_wh_m2()).collect();
    let dull = |day: usize, wh_m2: f64| wh_m2 < below * outside[day];
    let mut longest: Vec<f64> = daily
        .iter()
        .map(|y| f64::from(longest_run(y.iter().enumerate().map(|(d, k)| (d, dull(d, k * clear[d]))))))
        .collect();
    let of = |n: usize, longest: &[f64]| {
        let mut most: Vec<f64> =
            longest.chunks_exact(n).map(|c| c.iter().copied().fold(0.0, f64::max)).collect();
        quantile(&mut most, 0.5)
    };
    let (ten, thirty) = (of(10, &longest), of(30, &longest));
    let files = file.iter().map(|d| d.file + 1).max().unwrap_or(0);
    let of_file = |f: usize| {
        longest_run(file.iter().filter(|d| d.file == f).map(|d| (d.day, dull(d.day, d.ghi_wh_m2))))
    };
    SpellVsFile {
        clearness_below: below,
        file_longest: (0..files).map(of_file).max().unwrap_or(0),
        median: quantile(&mut longest, 0.5),
        p90: quantile(&mut longest, 0.9),
        longest_in_10_years: ten,
        longest_in_30_years: thirty,
    }
}

/// Longest run of dull days; a day that is missing ends a run.
fn longest_run(days: impl Iterator<Item = (usize, bool)>) -> u32 {
    let (mut run, mut most, mut next) = (0, 0, 0);
    for (day, dull) in days {
        run = match dull {
            true if day == next => run + 1,
            true => 1,
            false => 0,
        };
        next = day + 1;
        most = most.max(run);
    }
    most
}

/// Quantile by straight lines between order statistics; sorts. NaN of nothing.
fn quantile(values: &mut [f64], p: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let Some(last) = values.len().checked_sub(1) else { return f64::NAN };
    let at = p * last as f64;
    let i = at as usize;
    values[i] + (at - i as f64) * (values[(i + 1).min(last)] - values[i])
}

/// Largest difference of two distribution functions; 0 if either is empty.
fn ks_distance(mut a: Vec<f64>, mut b: Vec<f64>) -> f64 {
    a.sort_by(f64::total_cmp);
    b.sort_by(f64::total_cmp);
    let share = |v: &[f64], x: f64| v.partition_point(|&y| y <= x) as f64 / v.len() as f64;
    a.iter()
        .chain(&b)
        .map(|&x| (share(&a, x) - share(&b, x)).abs())
        .filter(|d| d.is_finite())
        .fold(0.0, f64::max)
}
