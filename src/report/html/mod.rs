//! Numbers to HTML: one self-contained page for each study, no network.

mod batch;
mod battery;
mod causes;
mod choose;
mod compare;
mod days;
mod dusk;
mod grid;
mod hours;
mod inputs;
mod page;
mod parts;
mod remedies;
mod run;
mod shares;
mod still;
mod trust;
mod water;
mod years;

pub use batch::batch;
pub use choose::choose;
pub use compare::compare;
pub use grid::grid;
pub use remedies::remedies;
pub use run::{run, run_with_remedies};
pub use years::years;
