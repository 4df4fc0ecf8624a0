//! The way in: one day of a block, or one lane of it watched.

use super::day::{DayKernel, Today};
use super::outcome::DayBlock;
use super::probe::{Blind, Watch};
use super::trace::DayTrace;
use super::units::State;
use crate::lanes::{Isa, Kernel, run};

/// Steps sixteen units through one day of the scene; `out` is overwritten, `state` goes on to the next day.
pub fn step_day(isa: Isa, today: Today<'_>, state: &mut State, out: &mut DayBlock) {
    run(isa, DayKernel { today, state, out, probe: &mut Blind });
}

/// The same day with one lane written down minute by minute: the same kernel, and `state` goes on for all lanes.
/// Label and trial are the caller's to fill in.
pub fn trace_day(today: Today<'_>, lane: usize, state: &mut State) -> DayTrace {
    trace_day_into(today, lane, state, &mut DayBlock::new())
}

/// [`trace_day`] that also gives the day's outcome.
pub fn trace_day_into(today: Today<'_>, lane: usize, state: &mut State, out: &mut DayBlock) -> DayTrace {
    let mut watch = Watch { lane, minutes: Vec::new() };
    // Straight on plain numbers: there is no need of a watched kernel for each instruction set.
    DayKernel { today, state, out, probe: &mut watch }.run::<f32>();
    let day = &today.scene.days[today.index];
    let calendar = &today.scene.calendar;
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
