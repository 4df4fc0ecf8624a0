//! The entry points: one day of a block, with or without a trace of one lane.

use super::input::DayInput;
use super::kernel::DayKernel;
use super::probe::{NoProbe, TraceProbe, Watch};
use crate::lanes::{Isa, Kernel, run};
use crate::plant::record::{DayBlock, DayTrace};
use crate::plant::state::State;

/// Steps sixteen units through one day of the scene; `out` is overwritten, `state` goes on to the next day.
pub fn step_day(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock) {
    run(isa, DayKernel { input, state, out, probe: &mut NoProbe });
}

/// The same day with readings of all lanes taken ([`Watch::begin`] says which).
pub fn watch_day(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock, watch: &mut Watch) {
    run(isa, DayKernel { input, state, out, probe: watch });
}

/// The same day with one lane recorded minute by minute. The kernel is the same, and `state` advances for all lanes. The caller fills
/// in label and trial.
pub fn trace_day(input: DayInput<'_>, lane: usize, state: &mut State) -> DayTrace {
    trace_day_into(input, lane, state, &mut DayBlock::new())
}

/// [`trace_day`] that also gives the day's outcome.
pub fn trace_day_into(input: DayInput<'_>, lane: usize, state: &mut State, out: &mut DayBlock) -> DayTrace {
    let mut watch = TraceProbe::new(lane);
    // On plain numbers: a probed kernel for each instruction set is not needed, the bits are the same.
    DayKernel { input, state, out, probe: &mut watch }.run::<f32>();
    let day = &input.scene.days[input.index];
    let calendar = &input.scene.calendar;
    DayTrace {
        label: String::new(),
        day_of_year: day.day_of_year,
        trial: 0,
        sunrise_min: calendar.days[usize::from(day.day_of_year)].sunrise_min,
        sunset_min: day.sunset_min,
        day_start_h: calendar.day_start_h,
        rain_mm: input.weather.rain_mm.0[lane],
        usable_l: input.units.basins.rows.usable_l.0[lane],
        minutes: watch.minutes,
    }
}
