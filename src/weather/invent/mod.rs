//! A typical year made up from twelve monthly means, for a place without a weather file.
//!
//! ```text
//! read    CLIMATE.toml -> Climate
//! days    monthly means -> daily clearness indices   markov, matrices
//! hours   daily clearness -> hourly irradiance
//! air     temperature, humidity, wind, rain of the same hours
//! year    all of it -> TypicalYear
//! ```

mod air;
mod climate;
pub mod daily;
mod days;
mod hours;
pub mod markov;
pub mod matrices;
mod read;
mod year;

pub use climate::{Climate, STARTER, Setting};
pub use read::{parse, read};
pub use year::{file_bytes, year};
