//! One day of sixteen units, minute by minute.
//!
//! ```text
//! input      the weather of a day, and the units it meets
//! ledger     the account of every flow          dusk    the run after sunset          probe   one lane recorded
//! causes     a missing minute's one cause
//! lanes      what some lanes carry through a day: morning, hours, close
//! minute     (with minute_parts) the minute as its data flow: light, wish, bus, jet, cause, dusk run, turn
//! running    the rules by which the pump is let run
//! socket     the socket behind which pump and mount may be
//! supply     the bus in a minute        attribute   evidence for the cause        water   the basin
//! frost      its ice
//! kernel     hours and minutes in order
//! step       the entry points
//! ```
//!
//! The parts themselves (panel, pump, battery, …) are in the folders beside this one and do not know of the day.

mod attribute;
mod causes;
mod dusk;
mod frost;
mod input;
mod kernel;
mod lanes;
mod ledger;
mod minute;
mod minute_parts;
mod probe;
mod running;
mod socket;
mod step;
mod supply;
mod water;

pub use input::DayInput;
pub use probe::{Noted, Watch};
pub use step::{step_day, trace_day, trace_day_into, watch_day};
