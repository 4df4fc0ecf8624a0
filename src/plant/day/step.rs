//! The entry points: one day of a block, with or without a trace of one lane.

use super::input::DayInput;
use super::kernel::DayKernel;
use super::probe::{TraceProbe, Watch};
use crate::lanes::{BLOCK, Isa, Kernel, run};
use crate::plant::record::{DayBlock, DayTrace, OnPanel};
use crate::plant::state::State;
use crate::plant::surface::SurfaceDay;
use std::ops::Range;

/// What lies on the panels this day.
fn surface_of(input: &DayInput<'_>, state: &mut State) -> Option<SurfaceDay> {
    let day = &input.scene.days[input.index];
    let fall = input.scene.leaf_year.leaves_fall(f64::from(day.day_of_year));
    let surfaces = input.units.surfaces.as_ref()?;
    Some(surfaces.morning(&mut state.surface, (day.season_day, fall), input.weather))
}

/// Books what lay on the panels.
fn close_surface(surface: Option<&SurfaceDay>, out: &mut DayBlock) {
    if let Some(surface) = surface {
        surface.book(out);
    }
}

/// What lies on the panel of a lane.
fn on_panel(input: &DayInput<'_>, surface: Option<&SurfaceDay>, lane: usize) -> Option<OnPanel> {
    let cover = match surface {
        Some(surface) => surface.cover.as_ref(),
        None => input.units.cover.as_ref(),
    };
    let dirt_share = surface.map_or(0.0, |s| 1.0 - s.clean.0[lane] / s.washed.0[lane].max(1e-9));
    let (covered_cells, covered_share) = cover.map_or((0.0, 0.0), |c| (c.covered.0[lane], c.share.0[lane]));
    let lies = dirt_share > 0.0 || covered_cells > 0.0;
    lies.then_some(OnPanel { dirt_share, covered_cells, covered_share })
}

/// Steps sixteen units through one day of the scene; `out` is overwritten, `state` goes on to the next day.
pub fn step_day(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock) {
    step(isa, input, state, out, None);
}

/// The same day with readings of all lanes taken ([`Watch::begin`] says which).
pub fn watch_day(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock, watch: &mut Watch) {
    step(isa, input, state, out, Some(watch));
}

fn step(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock, mut watch: Option<&mut Watch>) {
    let surface = surface_of(&input, state);
    run(isa, DayKernel { input, lanes: 0..BLOCK, surface: surface.as_ref(), state, out, probe: &mut watch });
    close_surface(surface.as_ref(), out);
}

/// The day of one lane, minute by minute, from the state before it. The kernel is the same. The caller fills in label and trial.
pub fn trace_day(input: DayInput<'_>, lane: usize, mut state: State) -> DayTrace {
    trace_lanes(input, lane..lane + 1, lane, &mut state, &mut DayBlock::new())
}

/// The same day with one lane recorded, while all are stepped: `state` goes on to the next day, and `out` is the day's outcome.
pub fn trace_day_into(input: DayInput<'_>, lane: usize, state: &mut State, out: &mut DayBlock) -> DayTrace {
    trace_lanes(input, 0..BLOCK, lane, state, out)
}

fn trace_lanes(
    input: DayInput<'_>,
    lanes: Range<usize>,
    lane: usize,
    state: &mut State,
    out: &mut DayBlock,
) -> DayTrace {
    let mut watch = TraceProbe::new(lane);
    // On plain numbers: a probed kernel for each instruction set is not needed, the bits are the same.
    let surface = surface_of(&input, state);
    DayKernel { input, lanes, surface: surface.as_ref(), state, out, probe: &mut watch }.run::<f32>();
    close_surface(surface.as_ref(), out);
    let day = &input.scene.days[input.index];
    let calendar = &input.scene.calendar;
    DayTrace {
        label: String::new(),
        day_of_year: day.day_of_year,
        trial: 0,
        sunrise_min: calendar.days[usize::from(day.day_of_year)].sunrise_min,
        sunset_min: day.sunset_min,
        day_start_h: calendar.day_start_h,
        on_panel: on_panel(&input, surface.as_ref(), lane),
        rain_mm: input.weather.rain_mm.0[lane],
        usable_l: input.units.basins.rows.usable_l.0[lane],
        minutes: watch.minutes,
    }
}
