//! Years made up from twelve monthly means, for a place without a weather file.
//!
//! ```text
//! read        CLIMATE.toml -> Climate
//! month_law   how the days of a month differ, by its mean
//! day_air     how the mean temperatures of days differ
//! days        monthly means -> irradiation and temperature of days, drawn as from a weather file
//! hours       daily irradiation -> hourly irradiance
//! air         temperature, humidity, wind, rain of the same hours
//! year        all of it -> TypicalYear, one or several
//! ```

mod air;
mod climate;
pub mod daily;
mod day_air;
mod days;
mod draws;
mod hours;
pub mod month_law;
mod read;
mod year;

pub use climate::{Climate, STARTER, Setting};
pub use read::{parse, read};
pub use year::{file_bytes, year, years};
