//! The pump and its jet: current, jet height and flow at a voltage.
//!
//! `curve` is the bench curve and the affinity laws; `nozzle` turns a head into a jet. When the pump runs is decided in
//! [`bus`](super::bus) and [`day`](super::day).

mod curve;
mod nozzle;

pub(crate) use curve::{PumpPoint, PumpUnit, Pumps, flow, hiccup_duty, highest_current_a};
pub use nozzle::jet_height_m;
