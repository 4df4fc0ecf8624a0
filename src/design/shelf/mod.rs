//! Shelves: the parts that can be bought, with prices, and the builds that they make.
//!
//! `part` holds the types, `read` reads `[[shelf.panel]]` and the like, each as if it were a table of a design; `build`
//! puts one part of each kind into a design. Which build is best is decided in [`study::choose`](crate::study::choose).

mod build;
mod part;
mod read;

pub use build::{Build, GIVEN_WAY};
pub use part::{BUILDS_MAX, Checked, Kind, Part, SAMPLE, SAMPLE_NAME, Shelf};
pub use read::{parse_shelf, read_shelf};
