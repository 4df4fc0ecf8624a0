//! The battery: charge by coulombs, voltage by rest curve and resistance, temperature by a lag.
//!
//! `rest_curve` is voltage over charge; `kibam` the two wells of lead-acid; `pack` the drawn batteries of a block and what cold
//! makes of them; `day` a battery through the minutes and hours of a day. The voltage under load is found in
//! [`bus`](super::bus); wear over the years is counted in `tally`.

mod day;
mod kibam;
mod pack;
mod rest_curve;

pub(crate) use day::BatteryDay;
pub(crate) use kibam::{Kibam, KibamRows};
pub(crate) use pack::{Batteries, BatteryRows, BatteryUnit, charge_v};
pub(crate) use rest_curve::RestCurve;
