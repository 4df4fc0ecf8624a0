//! Typical years and a calendar -> sampled days for blocks of trials.
//!
//! The donor days of a trial come from [`Sampler::chain`], the minutes of a day from [`Sampler::fill`]. Both depend on
//! seed, trial and day alone: any day of any trial can be drawn again on its own.

use super::days::clear_day::ClearDay;
use super::days::dull_light::{DullLight, LEVELS};
use super::days::pool::DonorPool;
use super::days::replay::Replay;
use super::days::series::{SampledDay, Series};
use super::days::variability::Variability;
use super::file::year::{TypicalYear, YearKind};
use super::minutes::block_day::{BlockDay, TEN_MINUTE_STEPS};
use super::minutes::block_hours::{BlockHours, PrepareHours};
use super::minutes::broken_sky::UNBROKEN_LAG_1_H;
use super::minutes::cloud_laws::CLOUD_LAWS;
use super::minutes::clouds::{self, CHANGES, CloudHour, CloudState, GAPS_PER_MIN};
use super::minutes::noise::{NOISE, PULL};
use super::minutes::split::{ClearMinute, SplitHour};
use super::quantile_table::NORMAL;
use crate::design::YearSpread;
use crate::lanes::{self, BLOCK, Isa, RowF32, RowF64};
use crate::seed::{Purpose, stream};
use crate::sky::Calendar;
use crate::sky::air::saturation_kpa;
use crate::sky::calendar::DAYS;
use crate::units::dates::month_day;
use rand::{RngExt, rngs::ChaCha8Rng};
use rayon::prelude::*;
use std::sync::Arc;

#[cfg(test)]
mod tests;

/// Range of the factor by which the hours of a donor are scaled to the index of a day.
const SCALE_RANGE: (f64, f64) = (0.1, 4.0);

/// A donor day with less wind than this has the drawn wind in all hours, m/s.
const CALM_M_S: f64 = 0.2;
/// Largest wind of an hour, m/s (own choice; 12 on Beaufort's scale begins at 32.7).
const WIND_MAX_M_S: f64 = 40.0;

/// Names the random streams of one day of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlockKey {
    /// Seed of all chance.
    pub seed: u64,
    /// First trial of the block, a multiple of sixteen.
    pub first_trial: u64,
    /// Place of the day in the chain.
    pub day_index: usize,
}

/// Draws weather for one site; built once and shared by all threads.
#[derive(Clone, Debug)]
pub struct Sampler {
    calendar: Arc<Calendar>,
    pool: DonorPool,
    series: Series,
    /// What the light of days lacks, and its mean over all years.
    dull_light: DullLight,
    /// Days in the order of the files, instead of drawn ones.
    replay: Option<Replay>,
    clear: Vec<ClearDay>,
    /// The clear sky of each minute of each day.
    clear_minutes: Vec<Vec<ClearMinute>>,
    warnings: Vec<String>,
}

impl Sampler {
    /// A sampler over one typical year or a pool of real years.
    pub fn new(years: &[TypicalYear], calendar: Arc<Calendar>, year_spread: YearSpread) -> Sampler {
        let pool = DonorPool::new(years, &calendar);
        Sampler::over(pool, years, calendar, year_spread)
    }

    /// The same over the donor days of `years`, already brought together; at least one.
    pub fn over(
        pool: DonorPool,
        years: &[TypicalYear],
        calendar: Arc<Calendar>,
        year_spread: YearSpread,
    ) -> Sampler {
        let month: Vec<u8> = calendar.days.iter().map(|d| d.month).collect();
        let kind = match years {
            [year] => year.kind,
            _ => YearKind::Real,
        };
        let series = Series::new(&pool, month, kind, year_spread);
        Sampler::with_series(pool, series, years, calendar)
    }

    /// The same with a series already fitted to the pool.
    pub fn with_series(
        pool: DonorPool,
        series: Series,
        years: &[TypicalYear],
        calendar: Arc<Calendar>,
    ) -> Sampler {
        let clear: Vec<ClearDay> = calendar.days.iter().map(ClearDay::new).collect();
        let clear_kwh_m2 = clear.iter().map(|day| day.ghi_sum_w_h_m2() / 1000.0).collect();
        Sampler {
            dull_light: DullLight::new(clear_kwh_m2, |date, light| series.index_at(date, light)),
            clear,
            clear_minutes: calendar
                .days
                .par_iter()
                .map(|d| d.minutes.iter().map(ClearMinute::from).collect())
                .collect(),
            warnings: warnings(&pool, years),
            calendar,
            pool,
            series,
            replay: None,
        }
    }

    /// The same, but with the years of the files in their order instead of sampled ones: trial k meets year k, counted round.
    pub fn replaying(self) -> Sampler {
        Sampler { replay: Some(Replay::new(&self.pool)), ..self }
    }

    /// Whether it replays its files.
    pub(crate) fn replays(&self) -> bool {
        self.replay.is_some()
    }

    /// What the light of consecutive days of a chain lacks in all beyond its mean over all years, kWh/m²; `first_day` (0..365) is the date of the
    /// first.
    pub(crate) fn dull_light(&self, first_day: usize, days: &[SampledDay]) -> [f64; LEVELS] {
        let days = days.iter().enumerate().map(|(k, day)| ((first_day + k) % DAYS, f64::from(day.index)));
        self.dull_light.beyond_mean(days)
    }

    /// A day of the year (0..365) as it was, if the sampler replays its files and one has all hours of it.
    pub fn day_as_it_was(&self, day_of_year: u16) -> Option<SampledDay> {
        self.replay.as_ref()?.given(day_of_year)
    }

    /// The days of one trial: `days` consecutive days of the year from `first_day` (0..365) on, wrapping.
    pub fn chain(&self, seed: u64, trial: u64, first_day: u16, days: usize) -> Vec<SampledDay> {
        match &self.replay {
            Some(replay) => replay.draw(trial, first_day, days),
            None => self.series.draw(seed, trial, first_day, days),
        }
    }

    /// The minutes of one day for the sixteen trials of a block. `day_of_year` (0..365) is the date whose sun shines;
    /// `days` come from [`Sampler::chain`], one for each trial.
    pub fn fill(
        &self,
        isa: Isa,
        key: BlockKey,
        day_of_year: u16,
        days: [SampledDay; BLOCK],
        out: &mut BlockDay,
    ) {
        debug_assert!(key.first_trial.is_multiple_of(BLOCK as u64));
        let day = usize::from(day_of_year);
        let (calendar, clear) = (&self.calendar.days[day], &self.clear[day]);
        let mut hours = BlockHours::default();
        self.copy_donors(usize::from(calendar.month), clear, &days, &mut hours, out);
        let n = calendar.minutes.len();
        out.dni_w_m2.resize(n, RowF32::default());
        out.dhi_w_m2.resize(n, RowF32::default());
        pull(key, out);
        litter(key, out);
        out.rain_known = self.pool.rain_known();

        let (noise, mut clouds) = BlockClouds::draw(key);
        clouds.draw_amplitudes(clear, &mut hours);
        lanes::run(isa, PrepareHours { hours: &mut hours, clear });
        for (h, patchy) in out.patchy.iter_mut().enumerate() {
            for (lane, patchy) in patchy.0.iter_mut().enumerate() {
                let f = hours.share[h].0[lane];
                *patchy = 4.0 * f * (1.0 - f);
            }
        }
        for h in slots_with_sun(clear) {
            let range = clear.minutes[h].clone();
            let mut changes = [RowF32::default(); CHANGES];
            clouds.pass(h, &hours, clear, &mut changes);
            let offset = calendar.first + range.start - 60 * h;
            lanes::run(
                isa,
                SplitHour {
                    slot: h,
                    hours: &hours,
                    clear,
                    sky: &self.clear_minutes[day][range.clone()],
                    offset,
                    noise: &noise[60 * h + offset..],
                    changes: &changes,
                    dni: &mut out.dni_w_m2[range.clone()],
                    dhi: &mut out.dhi_w_m2[range],
                },
            );
        }
    }

    /// The hours of the donors under the sun of the date, scaled to the index and the temperature of the day.
    fn copy_donors(
        &self,
        month: usize,
        clear: &ClearDay,
        days: &[SampledDay; BLOCK],
        hours: &mut BlockHours,
        out: &mut BlockDay,
    ) {
        let factors = &self.pool.factors()[month];
        let clear_wh_m2 = clear.ghi_sum_w_h_m2();
        for (lane, day) in days.iter().enumerate() {
            let donor = &self.pool.hours()[day.donor as usize];
            let mut energy_wh_m2 = 0.0;
            let mut carried = [[0.0; 2]; 24];
            for (h, carried) in carried.iter_mut().enumerate() {
                *carried = donor.carried(h, clear, factors);
                energy_wh_m2 += carried[0] * clear.beam_horizontal_w_m2[h] + carried[1] * clear.dhi_w_m2[h];
            }
            let wanted_wh_m2 = f64::from(day.index) * clear_wh_m2;
            let scale = if energy_wh_m2 > 0.0 {
                (wanted_wh_m2 / energy_wh_m2).clamp(SCALE_RANGE.0, SCALE_RANGE.1)
            } else {
                1.0
            };
            let donor_day = &self.pool.donors()[day.donor as usize];
            let donor_air_c = donor_day.air_c;
            let warmer_c = f64::from(day.air_c) - donor_air_c;
            let wind_m_s = f64::from(day.wind_m_s);
            // A donor without wind has no course of the day to give.
            let (windier, all_day_m_s) = match donor_day.wind_m_s > CALM_M_S {
                true => (wind_m_s / donor_day.wind_m_s, 0.0),
                false => (0.0, wind_m_s),
            };
            // The vapour of the donor in air of another temperature.
            let drier = saturation_kpa(donor_air_c) / saturation_kpa(f64::from(day.air_c));
            for (h, &[beam, diffuse]) in carried.iter().enumerate() {
                [hours.beam[h].0[lane], hours.diffuse[h].0[lane]] = [scale * beam, scale * diffuse];
                out.air_c[h].0[lane] = donor.air_c[h] + warmer_c;
                out.wind_m_s[h].0[lane] = (donor.wind_m_s[h] * windier + all_day_m_s).min(WIND_MAX_M_S);
                out.snow_cm[h].0[lane] = snow_cm(donor.rain_by_hour_mm[h], donor.air_c[h] + warmer_c);
                out.humidity[h].0[lane] = (donor.humidity[h] * drier).min(1.0);
                out.rain_by_hour_mm[h].0[lane] = donor.rain_by_hour_mm[h];
            }
            out.rain_mm.0[lane] = donor.rain_mm;
        }
        out.donor = days.map(|day| day.donor);
    }

    /// The donor days.
    pub fn pool(&self) -> &DonorPool {
        &self.pool
    }
    /// The calendar it was built with.
    pub(crate) fn calendar(&self) -> &Arc<Calendar> {
        &self.calendar
    }
    /// The variability of months and years aimed at; `None` if the donors alone decide.
    pub(crate) fn wanted_variability(&self) -> Option<&Variability> {
        self.series.wanted()
    }
    /// Correlation of the clear-sky index of neighbouring days, less their months' means: of the files.
    pub(crate) fn file_lag_1(&self) -> f64 {
        self.series.shown().lag_1
    }
    /// The same of `years` sampled years.
    pub(crate) fn sampled_lag_1(&self, seed: u64, years: u64) -> f64 {
        let month = |date: usize| usize::from(self.calendar.days[date].month);
        let chains: Vec<Vec<SampledDay>> = (0..years).map(|t| self.chain(seed, t, 0, 365)).collect();
        let mut sums = [[0.0; 2]; 12];
        for (date, day) in chains.iter().flat_map(|c| c.iter().enumerate()) {
            let s = &mut sums[month(date)];
            *s = [s[0] + f64::from(day.index), s[1] + 1.0];
        }
        let anomaly = |date: usize, day: &SampledDay| {
            let [sum, n] = sums[month(date)];
            f64::from(day.index) - sum / n
        };
        let (mut square, mut cross) = (0.0, 0.0);
        for chain in &chains {
            for (date, pair) in chain.windows(2).enumerate() {
                let (before, now) = (anomaly(date, &pair[0]), anomaly(date + 1, &pair[1]));
                square += now * now;
                cross += before * now;
            }
        }
        if square > 0.0 { cross / square } else { 0.0 }
    }
    /// What the user should know about the donor days.
    pub(crate) fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }
}

/// Hour slots with the sun up for some of their minutes.
fn slots_with_sun(clear: &ClearDay) -> impl Iterator<Item = usize> + '_ {
    (0..24).filter(|&h| !clear.minutes[h].is_empty())
}

/// The disturbance of a light-seeking mount: a stretch of a fixed table, chosen by one draw.
fn pull(key: BlockKey, out: &mut BlockDay) {
    let mut rng = stream(key.seed, Purpose::MountPull, key.first_trial, key.day_index as u64);
    let at = rng.random::<u32>() as usize % PULL.starts;
    out.pull.clear();
    out.pull.extend_from_slice(&PULL.rows[at..at + TEN_MINUTE_STEPS]);
}

/// Height of the snow that a precipitation (mm) falls as, cm: all of it below 0 °C, none above 2 °C; 1 mm of water is 1 cm of snow (common
/// practice, no source).
fn snow_cm(rain_mm: f64, air_c: f64) -> f64 {
    rain_mm * (0.5 * (2.0 - air_c)).clamp(0.0, 1.0)
}

/// What falls on the panels of the block: one stream for all its trials.
fn litter(key: BlockKey, out: &mut BlockDay) {
    let mut rng = stream(key.seed, Purpose::Litter, key.first_trial, key.day_index as u64);
    for chance in out.litter.iter_mut().flat_map(|row| &mut row.0) {
        *chance = rng.random();
    }
}

/// The clouds of a day: a stream and a state for each trial of the block.
struct BlockClouds {
    streams: [ChaCha8Rng; BLOCK],
    states: [CloudState; BLOCK],
    room: CloudHour,
}

impl BlockClouds {
    /// The noise of the day, by minute, and its clouds. One stretch of the noise table serves the block: each lane has
    /// a series of its own in it.
    fn draw(key: BlockKey) -> (&'static [RowF32], BlockClouds) {
        let mut streams: [ChaCha8Rng; BLOCK] = std::array::from_fn(|lane| {
            stream(key.seed, Purpose::Clouds, key.first_trial + lane as u64, key.day_index as u64)
        });
        let noise_at = streams[0].random::<u32>() as usize % NOISE.starts;
        let noise = &NOISE.rows[noise_at..noise_at + 1440];
        let states = std::array::from_fn(|lane| CloudState {
            speed_m_s: CLOUD_LAWS.speed_m_s.at(streams[lane].random::<u32>()),
            gaps_per_min: GAPS_PER_MIN,
            sunny: None,
        });
        (noise, BlockClouds { streams, states, room: CloudHour::default() })
    }

    /// One draw for each hour: of its lowest bits a uniform number in (0, 1) for the amplitude, of its highest a normal one, correlated
    /// from hour to hour, for whether the sky is unbroken.
    fn draw_amplitudes(&mut self, clear: &ClearDay, hours: &mut BlockHours) {
        const LOW_BITS: u32 = 22;
        let fresh = (1.0 - UNBROKEN_LAG_1_H * UNBROKEN_LAG_1_H).sqrt();
        let mut before: Option<RowF64> = None;
        for h in slots_with_sun(clear) {
            for (lane, rng) in self.streams.iter_mut().enumerate() {
                let draw = rng.random::<u32>();
                let low = draw & ((1 << LOW_BITS) - 1);
                hours.amplitude_draw[h].0[lane] = (f64::from(low) + 0.5) / f64::from(1 << LOW_BITS);
                let normal = NORMAL.at(draw);
                hours.unbroken_draw[h].0[lane] =
                    before.map_or(normal, |b| UNBROKEN_LAG_1_H * b.0[lane] + fresh * normal);
            }
            before = Some(hours.unbroken_draw[h]);
        }
    }

    /// Lets the clouds pass over an hour: writes how the sunlit share changes from minute to minute.
    fn pass(&mut self, slot: usize, hours: &BlockHours, clear: &ClearDay, changes: &mut [RowF32; CHANGES]) {
        let minutes = clear.minutes[slot].len();
        let next = if slot < 23 { slot + 1 } else { slot };
        for (lane, (rng, state)) in self.streams.iter_mut().zip(&mut self.states).enumerate() {
            let share = hours.share[slot].0[lane];
            if share <= 0.0 || share >= 1.0 {
                changes[0].0[lane] = share as f32;
                // Shares of 0 and 1 leave no doubt how the hour ends.
                if clear.edges[slot] {
                    state.sunny = Some(share > 0.5);
                }
                continue;
            }
            let next_share = hours.share[next].0[lane];
            let change = |minute: usize, by: f64| changes[minute].0[lane] += by as f32;
            clouds::pass(&mut self.room, state, rng, minutes, (share, next_share), change);
        }
    }
}

/// Days of the files that could not be donors, file by file.
fn warnings(pool: &DonorPool, years: &[TypicalYear]) -> Vec<String> {
    let mut out = Vec::new();
    for (file, year) in years.iter().enumerate() {
        let days: Vec<u16> =
            pool.missing().iter().filter(|m| usize::from(m.file) == file).map(|m| m.day_of_year).collect();
        if days.is_empty() {
            continue;
        }
        let mut spans: Vec<(u16, u16)> = Vec::new();
        for day in &days {
            match spans.last_mut() {
                Some((_, last)) if *last + 1 == *day => *last = *day,
                _ => spans.push((*day, *day)),
            }
        }
        let text: Vec<String> = spans
            .iter()
            .map(
                |&(a, b)| if a == b { month_day(a) } else { format!("{} to {}", month_day(a), month_day(b)) },
            )
            .collect();
        out.push(format!(
            "{}: {} of 365 days have missing hours and are never drawn: {}",
            year.path.display(),
            days.len(),
            text.join(", ")
        ));
    }
    out
}
