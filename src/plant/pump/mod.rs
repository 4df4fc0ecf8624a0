//! The pump and its jet: current, jet height and flow at a voltage.
//!
//! Both come from the bench curve of the design ([`BenchCurve`](crate::design::BenchCurve)). When the pump runs is decided in
//! [`bus`](super::bus) and [`day`](super::day).

mod curve;

pub(crate) use curve::{PumpPoint, PumpUnit, Pumps, flow, hiccup_duty, highest_current_a, highest_jet_m};
