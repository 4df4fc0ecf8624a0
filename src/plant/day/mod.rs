//! One day of sixteen units, minute by minute: the one description of how the parts act together.

mod causes;
mod kernel;
mod ledger;
mod probe;
mod step;

pub use kernel::DayInput;
pub use step::{step_day, trace_day, trace_day_into};
