//! File -> typical year -> sampler -> sampled day of minutes.

pub mod amplitude;
pub mod chain;
mod checks;
pub mod clear_hours;
pub mod clock;
pub mod closure;
pub mod clouds;
mod counted;
pub mod day;
pub mod describe;
mod fill;
pub mod invent;
pub mod laws;
mod means;
pub mod minutes;
pub mod neighbours;
pub mod noise;
pub mod plain;
pub mod pool;
pub mod read;
pub mod sampler;
pub mod season;
pub mod spread;
pub mod turbidity;
pub mod year;
pub mod year_sun;

#[cfg(test)]
mod sampler_tests;
#[cfg(test)]
mod testing;

pub use day::BlockDay;
pub use pool::DonorPool;
pub use read::{load, load_from_bytes};
pub use sampler::Sampler;
pub use year::{Hour, TypicalYear};
