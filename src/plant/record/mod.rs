//! What the plant writes down: the outcome of a day, the minutes of a traced day, and the causes of stillness.
//!
//! Nothing is computed here. [`day`](super::day) fills these in; `tally` adds days up.

mod cause;
mod day_block;
pub(crate) mod rows;
mod rule_at_work;
mod step;
mod trace;

pub use cause::Cause;
pub use day_block::{DayBlock, Flow};
pub use rule_at_work::RuleAtWork;
pub(crate) use step::MINUTE_H;
pub use trace::{DayTrace, OnPanel, TraceMinute};
