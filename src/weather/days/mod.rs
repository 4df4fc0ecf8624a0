//! Days of the files as donors, and the series that gives each date of a trial its light and its donor.
//!
//! ```text
//! window         the part of the year around a date
//! clear_day      hourly means of the clear sky of a date
//! pool           donor days: the files as indices of the clear sky
//! season         mean course of a daily quantity over the year
//! distribution   the index (or temperature) of a date as quantiles, also beyond the days of the file
//! dull_light     how far the light of days stays below given amounts, and its mean over all years
//! correlation    how far two quantities of days go together
//! variability    how much months and years differ
//! aims           how much they should, and how long weather should last, by what the file shows of its climate
//! moments        means and variances of months and years of a correlated series, without drawing
//! persistence    the memory of the series that meets the aims
//! wind           the wind of a chain: lasting, and with the light
//! series         the days of a trial: index, temperature, wind, donor
//! replay         the days of the files in their own order
//! ```
//!
//! What becomes of the hours of a donor day is in `minutes`.

pub mod aims;
pub mod clear_day;
mod correlation;
pub mod distribution;
pub mod dull_light;
pub mod moments;
pub mod persistence;
pub mod pool;
pub mod replay;
pub mod season;
pub mod series;
pub mod variability;
pub mod wind;
pub mod window;

pub use pool::DonorPool;
pub use series::SampledDay;
pub use window::HALF_WINDOW_DAYS;
