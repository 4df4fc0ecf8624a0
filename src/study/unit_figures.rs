//! Still days and dusk run of given units, all under the same few seasons of weather, so that units and not weathers are compared.

use super::block_weather::BlockWeather;
use super::engine::{Engine, Progress};
use super::plan::Plan;
use crate::design::Design;
use crate::lanes::BLOCK;
use crate::plant::{self, DayBlock, DayInput, Light, UnitBlock};
use crate::tally::Trial;
use crate::weather::BlockDay;
use rayon::prelude::*;

/// What a unit comes to: means over the seasons it met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitFigures {
    /// Still days of the season.
    pub still_days: f64,
    /// Mean dusk run, min; `None` without evenings.
    pub dusk_run_min: Option<f64>,
}

/// Of each unit, over the first `seasons` trials of the engine's seed (1, 2, 4, 8 or 16; others are rounded down). Units that are left when
/// the engine is stopped are missing.
pub fn unit_figures(
    engine: &Engine<'_>,
    plan: &Plan,
    units: &[Design<f64>],
    seasons: usize,
) -> Vec<UnitFigures> {
    let seasons = (1 << seasons.clamp(1, BLOCK).ilog2()) as usize;
    let blocks: Vec<&[Design<f64>]> = units.chunks(BLOCK / seasons).collect();
    let found: Vec<Vec<UnitFigures>> = engine.pool.install(|| {
        blocks
            .par_iter()
            .map(|units| {
                if engine.stopped() {
                    return Vec::new();
                }
                let figures = block(engine, plan, units, seasons);
                let trials = (units.len() * seasons) as u64;
                (engine.progress)(Progress { trials, days: trials * plan.scene.days.len() as u64 });
                figures
            })
            .collect()
    });
    found.into_iter().flatten().collect()
}

/// Lane l is unit l / seasons under the weather of trial l mod seasons.
fn block(engine: &Engine<'_>, plan: &Plan, units: &[Design<f64>], seasons: usize) -> Vec<UnitFigures> {
    let lanes: Vec<Design<f64>> =
        (0..BLOCK).map(|lane| units[(lane / seasons).min(units.len() - 1)].clone()).collect();
    let block = UnitBlock::new(&lanes);
    let mut state = block.start_state();
    let mut trials: Vec<Trial> =
        (0..units.len() * seasons).map(|_| Trial::new(&plan.layout, engine.isa)).collect();
    let weather = BlockWeather::new(&plan.site.sampler, engine.seed, 0, plan.chain_days());
    let (mut day, mut light, mut out) = (BlockDay::default(), Light::default(), DayBlock::new());
    for index in 0..plan.scene.days.len() {
        weather.fill(engine.isa, plan.chain_offset() + index, &mut day);
        day.repeat(seasons);
        light.compute(engine.isa, &plan.scene, index, &block, &day);
        let input = DayInput { scene: &plan.scene, index, units: &block, weather: &day, light: &light };
        plant::step_day(engine.isa, input, &mut state, &mut out);
        for (lane, trial) in trials.iter_mut().enumerate() {
            trial.add_day(&plan.layout, &plan.scene.days[index], &out, lane);
        }
    }
    trials
        .chunks(seasons)
        .map(|trials| {
            let outcomes: Vec<_> = trials.iter().map(|t| t.outcome(&plan.layout)).collect();
            let n = outcomes.len() as f64;
            let dusk: Option<f64> = outcomes.iter().map(|o| o.dusk_run_min).sum();
            UnitFigures {
                still_days: outcomes.iter().map(|o| f64::from(o.still_days)).sum::<f64>() / n,
                dusk_run_min: dusk.map(|d| d / n),
            }
        })
        .collect()
}
