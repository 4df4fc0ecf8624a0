//! Sun, clear sky, irradiance on a plane, and where opposed photocells balance.
//!
//! What depends only on the calendar is computed once per site ([`Calendar`]) and shared by all
//! trials and designs. What depends on a trial's clouds is written over lanes.

pub mod calendar;

pub use calendar::{Calendar, CalendarDay, Place, SunMinute};
