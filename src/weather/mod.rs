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
pub mod year;

#[cfg(test)]
mod sampler_tests;
#[cfg(test)]
mod testing;

pub use day::BlockDay;
pub use pool::DonorPool;
pub use sampler::Sampler;
pub use year::{Hour, TypicalYear};
