//! Numbers to text for a terminal. Each text ends in a newline.

mod card;
mod choose;
mod compare;
mod day;
mod grid;
mod kept;
mod learned;
mod remedies;
mod replay;
mod run;
mod screen;
mod weather;
pub mod wrap;
mod years;

pub use card::card;
pub use choose::choose;
pub use compare::compare;
pub use day::day;
pub use grid::grid;
pub use learned::learned;
pub use remedies::remedies;
pub use replay::replay;
pub use run::run;
pub use weather::{weather, weather_pool};
pub use years::years;
