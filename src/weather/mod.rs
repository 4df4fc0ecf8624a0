//! Weather: a file becomes a typical year, a typical year becomes a sampler, and the sampler gives the
//! minutes of a day.
//!
//! Floors, each using only those before it:
//!
//! ```text
//! quantile_table   distributions as tables: a draw is a look-up
//! file             bytes -> rows -> checked hours of a year, with a fitted clear sky
//! input            what kind of files they are, and how far an answer from them may be off
//! days             donor days and the chain that orders them; how much years differ
//! minutes          the hours of a day -> minutes of beam and diffuse light, with clouds
//! sampler          all of it: trial, day -> [`BlockDay`]
//! invent           twelve monthly means -> years, where there is no file
//! ```
//!
//! Not here: the sun and the clear sky (`sky`), what a panel makes of the light (`plant::light`), sampled years
//! compared with their file (`study::sampled_years`).

pub mod days;
pub mod file;
pub mod input;
pub mod invent;
pub mod minutes;
pub mod quantile_table;
pub mod sampler;

#[cfg(test)]
mod testing;

pub use days::dull_light::LEVELS as DULL_LEVELS;
pub use days::{DonorPool, HALF_WINDOW_DAYS, SampledDay};
pub use file::{Hour, TypicalYear, YearKind, load, load_from_bytes, read_limited};
pub use minutes::BlockDay;
pub use sampler::{BlockKey, Sampler};
