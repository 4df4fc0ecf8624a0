//! File -> typical year -> sampler -> sampled day of minutes.

pub mod amplitude;
pub mod chain;
pub mod clear_hours;
pub mod clouds;
pub mod day;
pub mod laws;
pub mod minutes;
pub mod neighbours;
pub mod noise;
pub mod pool;
pub mod sampler;
pub mod season;
pub mod spread;
pub mod checks;
pub mod closure;
pub mod day;
pub mod invent;
pub mod plain;
pub mod read;
pub mod turbidity;
pub mod year;
pub mod year_sun;

#[cfg(test)]
mod sampler_tests;
#[cfg(test)]
mod testing;

pub use day::BlockDay;
pub use pool::DonorPool;
pub use sampler::Sampler;
pub use read::{load, load_from_bytes};
pub use year::{Hour, TypicalYear};
