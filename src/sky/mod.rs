//! Sun, clear sky, irradiance on a plane, and where opposed photocells balance.
//!
//! What depends only on the calendar is computed once per site ([`Calendar`]) and shared by all
//! trials and designs. What depends on a trial's clouds is written over lanes.

pub mod air;
pub mod calendar;
pub mod clear;
pub mod decompose;
pub mod horizon;
pub mod incidence;
pub mod plane;
pub mod seek;
pub mod skyline;
pub mod sun;

pub use calendar::{Calendar, CalendarDay, Place, SunMinute};
pub use plane::{PlaneLight, Sky, SunTerms, on_plane};
pub use seek::{DeadBand, HeadBalance, angle_between, balance};
pub use skyline::{OpenSky, Skyline};
pub use sun::Sun;

#[cfg(test)]
mod tests;
