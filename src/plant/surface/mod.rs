//! What lies on the panel from day to day: dirt that grows, leaves and droppings that come by chance, snow.
//!
//! ```text
//! dirt      growth, washing rain, hand cleaning        litter    what falls, how long it stays, what it covers
//! snow      when it covers, when it slides
//! day       dirt and litter on the panels of a block, once a day, in plain numbers
//! ```
//!
//! Nothing here happens within the minute: its day gets a share of light and covered cells for the string, its hours snow.

mod day;
mod dirt;
mod litter;
mod snow;

pub(crate) use day::{SurfaceDay, SurfaceState, Surfaces};
pub use dirt::{Dirt, DirtState};
pub(crate) use snow::{after_hour as snow_after_hour, covers as snow_covers};
