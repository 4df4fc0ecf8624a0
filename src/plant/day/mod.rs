//! One day of sixteen units, minute by minute.
//!
//! ```text
//! input      what a day brings, and to whom
//! ledger     the account of every flow          dusk    the run after sunset          probe   one lane watched
//! causes     a missing minute's one cause
//! lanes      what some lanes carry through a day: morning, hours, close
//! minute     (with minute_parts) the minute as its data flow: light, wish, bus, jet, cause, dusk run, turn
//! supply     the bus in a minute        attribute   evidence for the cause        water   the basin
//! kernel     hours and minutes in order
//! step       the way in
//! ```
//!
//! The parts that act here know nothing of each other; they stand in the folders beside this one.

mod attribute;
mod causes;
mod dusk;
mod input;
mod kernel;
mod lanes;
mod ledger;
mod minute;
mod minute_parts;
mod probe;
mod step;
mod supply;
mod water;

pub use input::DayInput;
pub use step::{step_day, trace_day, trace_day_into};
