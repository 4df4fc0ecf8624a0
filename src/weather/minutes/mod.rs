//! From the hours of a day to its minutes, sixteen trials side by side.
//!
//! ```text
//! block_day     what comes out: the weather of one day for a block
//! cloud_laws    length and speed of clouds, gaps between them
//! noise         fixed tables of correlated noise
//! clouds        when the sun is out within an hour
//! amplitude     how much the light of an hour varies
//! broken_sky    which hours have clouds, and what their light is like
//! block_hours   indices of the hours; sunlit share and variation of each
//! split         one hour -> minutes of beam and diffuse, with the means of the hour kept
//! ```
//!
//! Which days they are of is drawn in `days`; `sampler` brings both together.

pub mod amplitude;
pub mod block_day;
pub mod block_hours;
pub mod broken_sky;
pub mod cloud_laws;
pub mod clouds;
pub mod noise;
pub mod split;

pub use block_day::BlockDay;
