//! Numbers to CSV.
//!
//! The first line is a comment that says where the numbers come from. What cannot be computed is an empty field.
//! Numbers are written so that they read back as the same `f64`.

mod batch;
mod cells;
mod choose;
mod compare;
mod day;
mod grid;
mod kept;
mod learned;
mod remedies;
mod replay;
mod run;
mod weather;
mod years;

pub use batch::ranking;
pub use cells::Origin;
pub use choose::choose;
pub use compare::compare;
pub use day::day;
pub use grid::grid;
pub use kept::{cells_over_years, over_years};
pub use learned::{learned_entries, learned_quantities};
pub use remedies::remedies;
pub use replay::replay;
pub use run::{distributions, months};
pub use weather::{DaysCsv, MinutesCsv, weather};
pub use years::{care, years};
