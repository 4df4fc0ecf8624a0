//! Typical years and a calendar -> sampled days for blocks of trials.
//!
//! The donor days of a trial come from [`Sampler::chain`], the minutes of a day from [`Sampler::fill`]. Both depend on
//! seed, trial and day alone: any day of any trial can be drawn again on its own.

use super::days::calibrate;
use super::days::chain::Chain;
use super::days::clear_day::ClearDay;
use super::days::pool::DonorPool;
use super::days::variability::{self, Variability};
use super::file::year::TypicalYear;
use super::minutes::block_day::{BlockDay, TEN_MINUTE_STEPS};
use super::minutes::block_hours::{BlockHours, PrepareHours};
use super::minutes::cloud_laws::CLOUD_LAWS;
use super::minutes::clouds::{self, CHANGES, CloudState};
use super::minutes::noise::{NOISE, PULL};
use super::minutes::split::{ClearMinute, SplitHour};
use crate::design::YearSpread;
use crate::lanes::{self, BLOCK, Isa, RowF32};
use crate::seed::{Purpose, stream};
use crate::sky::Calendar;
use crate::units::dates::month_day;
use rand::{RngExt, rngs::ChaCha8Rng};
use std::sync::Arc;

#[cfg(test)]
mod tests;

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
    chain: Chain,
    clear: Vec<ClearDay>,
    /// The clear sky of each minute of each day.
    clear_minutes: Vec<Vec<ClearMinute>>,
    wanted: Option<Variability>,
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
        let wanted = variability::wanted(year_spread, &pool, &month, calendar.place.latitude_deg);
        let mut chain = Chain::new(&pool, month);
        calibrate::calibrate(&mut chain, &pool, wanted.as_ref());
        let warnings = warnings(&pool, years);
        Sampler {
            clear: calendar.days.iter().map(ClearDay::new).collect(),
            clear_minutes: calendar
                .days
                .iter()
                .map(|d| d.minutes.iter().map(ClearMinute::from).collect())
                .collect(),
            calendar,
            pool,
            chain,
            wanted,
            warnings,
        }
    }

    /// Donor days for one trial: `days` consecutive days of the year from `first_day` (0..365) on, wrapping.
    pub fn chain(&self, seed: u64, trial: u64, first_day: u16, days: usize) -> Vec<u32> {
        self.chain.draw(seed, trial, first_day, days)
    }

    /// The minutes of one day for the sixteen trials of a block. `day_of_year` (0..365) is the date whose sun shines;
    /// `donors` come from [`Sampler::chain`].
    pub fn fill(&self, isa: Isa, key: BlockKey, day_of_year: u16, donors: [u32; BLOCK], out: &mut BlockDay) {
        debug_assert!(key.first_trial.is_multiple_of(BLOCK as u64));
        let day = usize::from(day_of_year);
        let (calendar, clear) = (&self.calendar.days[day], &self.clear[day]);
        let mut hours = BlockHours::default();
        self.copy_donors(usize::from(calendar.month), clear, &donors, &mut hours, out);
        let n = calendar.minutes.len();
        out.dni_w_m2.resize(n, RowF32::default());
        out.dhi_w_m2.resize(n, RowF32::default());
        pull(key, out);

        let (noise, mut clouds) = BlockClouds::draw(key);
        clouds.draw_amplitudes(clear, &mut hours);
        lanes::run(isa, PrepareHours { hours: &mut hours, clear });
        for (patchy, share) in out.patchy.iter_mut().zip(&hours.share) {
            for (patchy, &f) in patchy.0.iter_mut().zip(&share.0) {
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

    /// Indices of the donors, with the month's factors for low hours, and their other columns.
    fn copy_donors(
        &self,
        month: usize,
        clear: &ClearDay,
        donors: &[u32; BLOCK],
        hours: &mut BlockHours,
        out: &mut BlockDay,
    ) {
        let factors = &self.pool.factors()[month];
        for (lane, &donor) in donors.iter().enumerate() {
            let donor = &self.pool.hours()[donor as usize];
            for h in 0..24 {
                [hours.beam[h].0[lane], hours.diffuse[h].0[lane]] = donor.carried(h, clear, factors);
                out.air_c[h].0[lane] = donor.air_c[h];
                out.wind_m_s[h].0[lane] = donor.wind_m_s[h];
                out.humidity[h].0[lane] = donor.humidity[h];
            }
            out.rain_mm.0[lane] = donor.rain_mm;
        }
        out.donor = *donors;
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
        self.wanted.as_ref()
    }
    /// Correlation of the clear-sky index of neighbouring days, less their months' means: of the files.
    pub(crate) fn file_lag_1(&self) -> f64 {
        self.chain.lag_1(&calibrate::true_pairs(&self.pool))
    }
    /// The same of `years` sampled years.
    pub(crate) fn sampled_lag_1(&self, seed: u64, years: u64) -> f64 {
        let chains: Vec<Vec<u32>> = (0..years).map(|t| self.chain(seed, t, 0, 365)).collect();
        self.chain.lag_1(&chains)
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

/// The clouds of a day: a stream and a state for each trial of the block.
struct BlockClouds {
    streams: [ChaCha8Rng; BLOCK],
    states: [CloudState; BLOCK],
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
            sunny: None,
        });
        (noise, BlockClouds { streams, states })
    }

    /// One uniform number in (0, 1) for the amplitude of each hour.
    fn draw_amplitudes(&mut self, clear: &ClearDay, hours: &mut BlockHours) {
        for h in slots_with_sun(clear) {
            for (amplitude_draw, rng) in hours.amplitude_draw[h].0.iter_mut().zip(&mut self.streams) {
                *amplitude_draw = (f64::from(rng.random::<u32>()) + 0.5) / 4_294_967_296.0;
            }
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
            clouds::pass(state, rng, minutes, share, next_share, change);
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
