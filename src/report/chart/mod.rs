//! A small kit for charts as SVG: scales, axes, marks, and what a reader points at.
//!
//! Every chart is [`WIDTH`] units wide, so that its letters stay readable when the page is as
//! narrow as a phone. Colours come from the page's style sheet by class; drawing and values
//! are the caller's.

mod bars;
mod cells;
mod curve;
mod dots;
pub(crate) mod heat;
mod plot;
mod scale;
mod stacked;

pub use bars::{Bar, bars, histogram};
pub use cells::{Lattice, Level, Mark, cells};
pub use curve::{Band, Line, area, line};
pub use dots::{Dot, dots, dots_on, reach};
pub use heat::png;
pub use plot::{Hit, Plot, WIDTH, coordinate, svg};
pub use scale::Scale;
pub use stacked::stack;
