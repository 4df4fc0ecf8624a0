//! Simulates lives, block by block: sixteen units at a time, year after year. Blocks run in parallel and are gathered in their
//! order, so the result does not depend on the threads.

use super::unit::{Replaced, Unit};
use crate::lanes::BLOCK;
use crate::study::engine::Engine;
use crate::study::parts::PartDraws;
use crate::study::plan::Plan;
use crate::tally::{Tally, YearVerdict};
use rayon::prelude::*;

/// Trials between the weather of one year and that of the next: year y of life k has the weather of trial k + y times this.
const YEAR_STRIDE: u64 = 1 << 32;

/// One year of one life.
#[derive(Clone, Copy, Debug)]
pub(super) struct Year {
    pub still_days: u32,
    pub wish: YearVerdict,
    /// Share of evenings that reach the wished dusk run; none without evenings.
    pub evenings_met: Option<f64>,
    pub jet_h: f64,
    /// Days of the season without a pump that works.
    pub broken_days: u32,
    /// Share of its capacity when new that the battery holds at the start of the year.
    pub capacity_left: Option<f64>,
    /// Whether the battery's life is used up at the end of the year.
    pub battery_worn_out: bool,
    pub replaced: Replaced,
}

/// All lives.
pub(super) struct Lived {
    /// By life, then by year.
    pub lives: Vec<Vec<Year>>,
    /// The first years, as a run would tally them.
    pub first: Tally,
    pub years: u16,
}

/// Simulates so many lives of so many years; `None` if it was stopped before all were done.
pub(super) fn live(engine: &Engine<'_>, plan: &Plan, lives: u64, years: u16) -> Option<Lived> {
    let blocks = lives.div_ceil(BLOCK as u64);
    let results: Vec<Option<Block>> = engine.pool.install(|| {
        (0..blocks).into_par_iter().map(|block| Block::live(engine, plan, block, lives, years)).collect()
    });
    let mut lived = Lived { lives: Vec::new(), first: Tally::new(&plan.layout), years };
    for block in results {
        let block = block?;
        lived.lives.extend(block.lives);
        lived
            .first
            .merge(&block.first)
            .unwrap_or_else(|_| unreachable!("tallies of one plan have one shape"));
    }
    Some(lived)
}

/// Sixteen lives, or fewer in the last block.
struct Block {
    lives: Vec<Vec<Year>>,
    first: Tally,
}

impl Block {
    fn live(engine: &Engine<'_>, plan: &Plan, block: u64, lives: u64, years: u16) -> Option<Block> {
        let first_life = block * BLOCK as u64;
        let keep = (lives - first_life).min(BLOCK as u64) as usize;
        let care = plan.file.design.care;
        let cleanings = cleanings(care.clean_panel_every_days, plan.layout.days.len());
        let draws = PartDraws::new(&plan.file);
        let (drawn, luck): (Vec<_>, Vec<_>) =
            (first_life..first_life + BLOCK as u64).map(|life| draws.draw(engine.seed, life)).unzip();
        let mut units: Vec<Unit> = drawn
            .into_iter()
            .zip(first_life..)
            .map(|(design, life)| Unit::new(design, engine.seed, life))
            .collect();
        let mut result = Block { lives: vec![Vec::new(); keep], first: Tally::new(&plan.layout) };
        for year in 0..years {
            if engine.stopped() {
                return None;
            }
            let mut replaced: Vec<Replaced> = units.iter_mut().map(|unit| unit.spring(&care)).collect();
            replaced.iter_mut().for_each(|done| done.visits += cleanings);
            let capacity: Vec<Option<f64>> = units.iter().map(Unit::capacity_left).collect();
            let designs: Vec<_> = units.iter().map(Unit::design).collect();
            let mut broken = [0u32; BLOCK];
            let weather = first_life + u64::from(year) * YEAR_STRIDE;
            let trials = engine.season(plan, &designs, weather, keep, &mut |season_day, out| {
                for (lane, unit) in units.iter_mut().enumerate() {
                    // The run-in wears nothing: it stands for the days before the first season only.
                    if season_day >= 0 && !unit.day(out.pump_h.0[lane], &care, &mut replaced[lane]) {
                        out.stand_still(lane);
                        broken[lane] += 1;
                    }
                }
            });
            for (lane, trial) in trials.iter().enumerate() {
                let outcome = trial.outcome(&plan.layout);
                units[lane].end_year(trial.wear_of_year());
                result.lives[lane].push(Year {
                    still_days: outcome.still_days,
                    wish: outcome.year,
                    evenings_met: outcome.wish_met,
                    jet_h: outcome.jet_min / 60.0,
                    broken_days: broken[lane],
                    capacity_left: capacity[lane],
                    battery_worn_out: units[lane].battery_is_worn_out(),
                    replaced: replaced[lane],
                });
                if year == 0 {
                    result.first.add_trial(&plan.layout, trial, &luck[lane]);
                }
            }
            (engine.progress)(crate::study::Progress {
                trials: keep as u64,
                days: (plan.scene.days.len() * keep) as u64,
            });
        }
        Some(result)
    }
}

/// How often the panel is cleaned in a season, the first time on its first day.
fn cleanings(every_days: Option<u16>, season_days: usize) -> u32 {
    every_days.map_or(0, |every| season_days.div_ceil(usize::from(every.max(1))) as u32)
}
