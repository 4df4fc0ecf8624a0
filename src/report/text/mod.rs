//! Numbers to text for a terminal. Each text ends in a newline.

mod choose;
mod compare;
mod day;
mod grid;
mod remedies;
mod run;
mod screen;
mod weather;
pub mod wrap;
mod years;

pub use choose::choose;
pub use compare::compare;
pub use day::day;
pub use grid::grid;
pub use remedies::remedies;
pub use run::run;
pub use weather::weather;
pub use years::years;
