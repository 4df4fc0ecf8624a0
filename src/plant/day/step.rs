//! The way in: one day of a block, or one lane of it watched.

use super::input::DayInput;
use super::kernel::DayKernel;
use super::probe::{NoProbe, TraceProbe};
use crate::lanes::{Isa, Kernel, run};
use crate::plant::record::{DayBlock, DayTrace};
use crate::plant::state::State;

/// Steps sixteen units through one day of the scene; `out` is overwritten, `state` goes on to the next day.
pub fn step_day(isa: Isa, input: DayInput<'_>, state: &mut State, out: &mut DayBlock) {
    run(isa, DayKernel { input, state, out, probe: &mut NoProbe });
}

/// The same day with one lane written down minute by minute: the same kernel, and `state` goes on for all lanes.
/// Label and trial are the caller's to fill in.
pub fn trace_day(input: DayInput<'_>, lane: usize, state: &mut State) -> DayTrace {
    trace_day_into(input, lane, state, &mut DayBlock::new())
}

/// [`trace_day`] that also gives the day's outcome.
pub fn trace_day_into(input: DayInput<'_>, lane: usize, state: &mut State, out: &mut DayBlock) -> DayTrace {
    let mut watch = TraceProbe { lane, minutes: Vec::new() };
    // Straight on plain numbers: there is no need of a watched kernel for each instruction set.
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
        minutes: watch.minutes,
    }
}
