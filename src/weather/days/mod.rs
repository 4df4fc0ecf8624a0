//! Days of the files as donors, and the chain that draws one for each date of a trial.
//!
//! ```text
//! window        the part of the year around a date
//! clear_day     hourly means of the clear sky of a date
//! pool          donor days: the files as indices of the clear sky
//! season        mean and standard deviation of a daily quantity over the year
//! neighbours    which days are like which
//! chain         one donor day after the other; tilted, so that months and years differ
//! variability   how much months and years differ, and how much they should
//! means         long-run monthly means of a chain, held to those of the files
//! calibrate     the tilt that gives a chain the wanted variability
//! ```
//!
//! What becomes of the hours of a donor day is in `minutes`.

pub mod calibrate;
pub mod chain;
pub mod clear_day;
mod means;
pub mod neighbours;
pub mod pool;
pub mod season;
pub mod variability;
pub mod window;

pub use pool::DonorPool;
pub use window::HALF_WINDOW_DAYS;
