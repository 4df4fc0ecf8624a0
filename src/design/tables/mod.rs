//! From the values of each table to a part of the design: contradictions between values, and defaults that follow from
//! others.
//!
//! One file for each table; [`forms`] has what their lists share. Each value by itself is read and checked in
//! `reader`, what may be written in `keys`; numbers behind defaults are in `rules` and `chemistry`.

mod battery;
mod bench;
mod care;
mod coefficients;
mod control;
mod cover;
mod dirt;
mod electronics;
mod forms;
mod hours;
mod mount;
mod panel;
mod prices;
mod pump;
mod reach;
mod running;
mod site;
mod skyline;
mod trees;
mod water;
mod wish;

pub(super) use battery::battery;
pub(super) use care::care;
pub(super) use control::Controlled;
pub(super) use electronics::electronics;
pub(super) use mount::mount;
pub(super) use panel::panel;
pub(super) use prices::{price, prices};
pub(super) use pump::pump;
pub(super) use reach::flow_agrees;
pub(super) use running::running;
pub(super) use site::site;
pub(super) use water::water;
pub(super) use wish::wish;
