//! `grid`: still days over two quantities of a design, cell by cell.
//!
//! All cells meet the same weather and part luck. By default a cell stops as soon as its still days are known precisely
//! enough, and it is clear whether it meets the wish, or it can no longer be the cheapest that does. The chance of a wrong
//! decision is bounded ([`ERROR_RATE`]).
//!
//! [`Axis`] reads what is varied, [`map`](map()) does the rest. Pages and CSV are made in `report`.

mod axis;
mod cell_runs;
mod control_variate;
mod lines;
mod map;
mod over_years;
mod price;

pub use axis::Axis;
pub use cell_runs::{CLEAR_DAYS, CLEAR_SHARE, CellEffort, ERROR_RATE};
pub use lines::lines;
pub use map::{Cell, Grid, LEVELS, Level, LinePoint, SCHEMA, map};
pub use over_years::{CellBuild, KeptCell, OverYears};
