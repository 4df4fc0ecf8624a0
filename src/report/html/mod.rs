//! Numbers to HTML: one self-contained page for each study, no network.

mod batch;
mod battery;
mod card;
mod causes;
mod choose;
mod compare;
mod days;
mod dusk;
mod grid;
mod hours;
mod inputs;
mod learned;
mod page;
mod parts;
mod remedies;
mod replay;
mod run;
mod shares;
mod still;
mod trust;
mod water;
mod years;

pub use batch::batch;
pub use card::card;
pub use choose::choose;
pub use compare::compare;
pub use grid::grid;
pub use learned::learned;
pub(crate) use page::page;
pub use remedies::remedies;
pub use replay::replay;
pub use run::{run, run_with_remedies};
pub use years::years;
