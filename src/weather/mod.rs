//! File -> typical year -> sampler -> sampled day of minutes.

pub mod checks;
pub mod day;
pub mod invent;
pub mod plain;
pub mod read;
pub mod year;

pub use day::BlockDay;
pub use read::{load, load_from_bytes};
pub use year::{Hour, TypicalYear};
