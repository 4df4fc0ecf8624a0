//! File -> typical year -> sampler -> sampled day of minutes.

pub mod day;
pub mod invent;
pub mod year;

pub use day::BlockDay;
pub use year::{Hour, TypicalYear};
