//! Sun, clear sky, irradiance on a plane, and where opposed photocells balance.
//!
//! ```text
//! sun          the sun's position           horizon    sunrise, sunset, dusk
//! clear        the sky without clouds       decompose  beam and diffuse from global irradiance
//! calendar     sun and clear sky of every minute of a year at one place
//! skyline      what stands before the horizon
//! plane        irradiance on a plane        incidence  loss at the panel's cover
//! seek         where a light-seeking head balances                walls   a head with walls
//! air          water vapour
//! ```
//!
//! What depends only on the calendar is computed once per site ([`Calendar`]) and shared by all trials and designs. What depends on
//! a trial's clouds is written over lanes. The clouds themselves are in [`weather`](crate::weather); what panel and mount make of
//! the light, in [`plant`](crate::plant).

pub mod air;
pub mod calendar;
pub mod clear;
pub mod decompose;
pub mod foliage;
pub mod horizon;
pub mod incidence;
pub mod plane;
pub mod seek;
pub mod skyline;
pub mod sun;
mod walls;

pub use calendar::{Calendar, CalendarDay, Place, SunMinute};
pub use foliage::LeafYear;
pub use plane::{PlaneLight, Sky, SunTerms, on_plane};
pub use seek::{DeadBand, HeadBalance, HeadOptics, angle_between, balance};
pub use skyline::{OpenSky, Skyline};
pub use sun::Sun;

#[cfg(test)]
mod tests;
