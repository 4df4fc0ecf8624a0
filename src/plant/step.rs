//! The way in: one day of a block, or one lane of it watched.

use super::day::DayKernel;
use super::outcome::DayBlock;
use super::probe::{Blind, Watch};
use super::scene::Scene;
use super::trace::DayTrace;
use super::units::{State, Units};
use crate::lanes::{Isa, Kernel, run};
use crate::weather::BlockDay;

/// Steps sixteen units through one day of the scene; `out` is overwritten, `state` goes on to the next day.
pub fn step_day(
    isa: Isa,
    scene: &Scene,
    index: usize,
    units: &Units,
    weather: &BlockDay,
    state: &mut State,
    out: &mut DayBlock,
) {
    run(isa, DayKernel { scene, index, units, weather, state, out, probe: &mut Blind });
}

/// The same day with one lane written down minute by minute: the same kernel, and `state` goes on for all lanes.
/// Label and trial are the caller's to fill in.
pub fn trace_day(
    scene: &Scene,
    index: usize,
    units: &Units,
    lane: usize,
    weather: &BlockDay,
    state: &mut State,
) -> DayTrace {
    trace_day_into(scene, index, units, lane, weather, state, &mut DayBlock::new())
}

/// [`trace_day`] that also gives the day's outcome.
pub fn trace_day_into(
    scene: &Scene,
    index: usize,
    units: &Units,
    lane: usize,
    weather: &BlockDay,
    state: &mut State,
    out: &mut DayBlock,
) -> DayTrace {
    let mut watch = Watch { lane, minutes: Vec::new() };
    // Straight on plain numbers: there is no need of a watched kernel for each instruction set.
    DayKernel { scene, index, units, weather, state, out, probe: &mut watch }.run::<f64>();
    let day = &scene.days[index];
    DayTrace {
        label: String::new(),
        day_of_year: day.day_of_year,
        trial: 0,
        sunrise_min: scene.calendar.days[usize::from(day.day_of_year)].sunrise_min,
        sunset_min: day.sunset_min,
        day_start_h: scene.calendar.day_start_h,
        minutes: watch.minutes,
    }
}
