//! File -> typical year -> sampler -> sampled day of minutes.

mod checks;
pub mod clock;
pub mod closure;
mod counted;
pub mod day;
pub mod describe;
mod fill;
pub mod plain;
pub mod read;
pub mod turbidity;
pub mod year;
pub mod year_sun;

pub use day::BlockDay;
pub use read::{load, load_from_bytes};
pub use year::{Hour, TypicalYear};
