//! A season as it was: a design stepped through a file of actual days, day by day in their order. Only the minutes within the hours and
//! the parts are drawn, once for each trial.

use super::block_weather::BlockWeather;
use super::engine::{Engine, Progress};
use super::parts::PartDraws;
use super::plan::Plan;
use super::site::SiteModel;
use crate::lanes::BLOCK;
use crate::plant::{self, DayBlock, DayInput, Light, UnitBlock};
use crate::tally::{Moments, Summary};
use crate::units::dates::month_day;
use crate::weather::{BlockDay, BlockKey, SampledDay};
use rayon::prelude::*;
use serde::Serialize;

/// A day of the season as it was.
#[derive(Clone, Debug, Serialize)]
pub struct ReplayDay {
    /// "MM-DD".
    pub date: String,
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Light of the day on the horizontal, kWh/m².
    pub ghi_kwh_m2: f64,
    /// The same over that of a clear day.
    pub clearness: Option<f64>,
    /// Wanted minutes.
    pub wanted_min: f64,
    /// Jet that counts, min: mean over the trials.
    pub jet_min: f64,
    /// The same: 10 % and 90 % of the trials lie below.
    pub jet_min_80: [f64; 2],
    /// Share of the trials in which it was a still day.
    pub still: f64,
    /// Run after sunset, min; none without a sunset.
    pub dusk_run_min: Option<f64>,
    /// State of charge at sunset; none without a battery.
    pub soc_at_sunset: Option<f64>,
}

/// A season as it was.
#[derive(Serialize)]
pub struct Replay {
    /// Title and file of the design.
    pub design: [String; 2],
    /// File of the actual days, its SHA-256 and its origin.
    pub days_from: [String; 3],
    /// Whether that file is invented.
    pub invented: bool,
    /// Trials: each with its own parts and minutes.
    pub trials: u64,
    /// Seed.
    pub seed: u64,
    /// The days of the season that the file has, in their order.
    pub days: Vec<ReplayDay>,
    /// Still days among them: mean over the trials, standard deviation between trials.
    pub still_days: [f64; 2],
    /// Mean dusk run, min, over days and trials; standard deviation between trials.
    pub dusk_run_min: Option<[f64; 2]>,
    /// Days of the season that the file lacks.
    pub missing: Vec<String>,
    /// What the design expects of as many days of these months in any year, if it was simulated.
    pub any_year_still_days: Option<f64>,
    /// What the user should know.
    pub notes: Vec<String>,
}

impl Replay {
    /// Adds what a simulated season expects of the same days.
    #[must_use]
    pub fn beside(mut self, any_year: &Summary) -> Replay {
        let mut expected = 0.0;
        for month in &any_year.months {
            let days = self.days.iter().filter(|d| month_of(d.day_of_year) == month.month).count();
            expected += month.still_days.mean * days as f64 / f64::from(month.days.max(1));
        }
        self.any_year_still_days = Some(expected);
        self
    }
}

fn month_of(day: u16) -> u8 {
    crate::units::dates::month_and_day(day).0 as u8
}

/// One day of all trials.
#[derive(Default)]
struct DaySums {
    jet_min: Vec<f64>,
    dusk: Moments,
    soc: Moments,
    ghi: Moments,
}

/// Steps the design through the days of `actual`; `None` if stopped. Days that it lacks are drawn, and not counted.
pub fn replay(engine: &Engine<'_>, plan: &Plan, actual: &SiteModel, trials: u64) -> Option<Replay> {
    let scene = &plan.scene;
    let known: Vec<Option<SampledDay>> =
        scene.days.iter().map(|d| actual.sampler.day_as_it_was(d.day_of_year)).collect();
    let blocks: Vec<u64> = (0..trials.div_ceil(BLOCK as u64)).collect();
    let found: Vec<Vec<DayBlock>> = engine.pool.install(|| {
        blocks
            .par_iter()
            .map(|&block| {
                if engine.stopped() {
                    return Vec::new();
                }
                let days = one_block(engine, plan, (actual, &known), block);
                let trials = (trials - block * BLOCK as u64).min(BLOCK as u64);
                (engine.progress)(Progress { trials, days: trials * days.len() as u64 });
                days
            })
            .collect()
    });
    if engine.stopped() {
        return None;
    }
    let lanes = |block: usize| (trials - (block * BLOCK) as u64).min(BLOCK as u64) as usize;
    let counted: Vec<usize> =
        (0..scene.days.len()).filter(|&k| scene.days[k].season_day >= 0 && known[k].is_some()).collect();
    let mut still_by_trial = vec![0.0; trials as usize];
    let mut dusk_by_trial: Vec<Moments> = (0..trials).map(|_| Moments::default()).collect();
    let mut days = Vec::new();
    for &index in &counted {
        let day = &scene.days[index];
        let mut sums = DaySums::default();
        for (block, outcome) in found.iter().enumerate() {
            for lane in 0..lanes(block) {
                let (trial, out) = (block * BLOCK + lane, &outcome[index]);
                sums.jet_min.push(out.jet_min.0[lane]);
                let still =
                    day.wanted_min() > 0.0 && out.jet_min.0[lane] < plan.file.design.wish.still_below_min;
                still_by_trial[trial] += f64::from(u8::from(still));
                if day.sunset_min.is_some() {
                    sums.dusk.push(out.dusk_run_min.0[lane]);
                    dusk_by_trial[trial].push(out.dusk_run_min.0[lane]);
                }
                sums.soc.push(out.soc_at_sunset.0[lane]);
                sums.ghi.push(out.ghi_wh_m2.0[lane]);
            }
        }
        days.push(of_day(plan, index, sums));
    }
    let (mut still, mut dusk) = (Moments::default(), Moments::default());
    still_by_trial.iter().for_each(|s| still.push(*s));
    dusk_by_trial.iter().filter_map(Moments::mean).for_each(|d| dusk.push(d));
    let of = |m: &Moments| m.mean().map(|mean| [mean, m.se().unwrap_or(0.0) * (m.n() as f64).sqrt()]);
    let missing = (0..scene.days.len())
        .filter(|&k| scene.days[k].season_day >= 0 && known[k].is_none())
        .map(|k| month_day(scene.days[k].day_of_year))
        .collect();
    let year = &actual.years[0];
    let mut notes: Vec<String> = year.warnings.clone();
    notes.extend(plan.file.learned_note());
    Some(Replay {
        design: [plan.file.design.title.clone(), plan.file.path.display().to_string()],
        days_from: [year.path.display().to_string(), actual.sha256.clone(), year.origin.clone()],
        invented: year.invented,
        trials,
        seed: engine.seed,
        days,
        still_days: of(&still).unwrap_or([0.0; 2]),
        dusk_run_min: of(&dusk),
        missing,
        any_year_still_days: None,
        notes,
    })
}

fn of_day(plan: &Plan, index: usize, mut sums: DaySums) -> ReplayDay {
    let day = &plan.scene.days[index];
    sums.jet_min.sort_by(f64::total_cmp);
    let jet = &sums.jet_min;
    let at = |share: f64| jet[((jet.len() - 1) as f64 * share) as usize];
    let still = jet.iter().filter(|m| **m < plan.file.design.wish.still_below_min).count();
    let clear = plan.site.calendar.days[usize::from(day.day_of_year)].clear_wh_m2();
    let ghi = sums.ghi.mean().unwrap_or(0.0);
    ReplayDay {
        date: month_day(day.day_of_year),
        day_of_year: day.day_of_year,
        ghi_kwh_m2: ghi / 1000.0,
        clearness: (clear > 0.0).then(|| ghi / clear),
        wanted_min: day.wanted_min(),
        jet_min: jet.iter().sum::<f64>() / jet.len() as f64,
        jet_min_80: [at(0.1), at(0.9)],
        still: if day.wanted_min() > 0.0 { still as f64 / jet.len() as f64 } else { 0.0 },
        dusk_run_min: sums.dusk.mean(),
        soc_at_sunset: plan.file.design.battery.as_ref().and(sums.soc.mean()),
    }
}

/// The days of sixteen trials.
fn one_block(
    engine: &Engine<'_>,
    plan: &Plan,
    (actual, known): (&SiteModel, &[Option<SampledDay>]),
    block: u64,
) -> Vec<DayBlock> {
    let first_trial = block * BLOCK as u64;
    let draws = PartDraws::new(&plan.file);
    let designs: Vec<_> =
        (0..BLOCK as u64).map(|lane| draws.draw(engine.seed, first_trial + lane).0).collect();
    let units = UnitBlock::new(&designs);
    let mut state = units.start_state();
    let drawn = BlockWeather::new(&plan.site.sampler, engine.seed, first_trial, plan.chain_days());
    let (mut weather, mut light) = (BlockDay::default(), Light::default());
    known
        .iter()
        .enumerate()
        .map(|(index, day)| {
            let k = plan.chain_offset() + index;
            match day {
                Some(day) => {
                    let key = BlockKey { seed: engine.seed, first_trial, day_index: k };
                    let date = plan.scene.days[index].day_of_year;
                    actual.sampler.fill(engine.isa, key, date, [*day; BLOCK], &mut weather);
                }
                None => drawn.fill(engine.isa, k, &mut weather),
            }
            light.compute(engine.isa, &plan.scene, index, &units, &weather);
            let input =
                DayInput { scene: &plan.scene, index, units: &units, weather: &weather, light: &light };
            let mut out = DayBlock::new();
            plant::step_day(engine.isa, input, &mut state, &mut out);
            // Only a few numbers of a day are asked for later.
            out.soc = Vec::new();
            out
        })
        .collect()
}
