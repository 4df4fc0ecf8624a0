//! One year of one life.

use super::unit::Replaced;
use crate::tally::YearVerdict;
use serde::{Deserialize, Serialize};

/// One year of one life.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Year {
    pub still_days: u32,
    pub wish: YearVerdict,
    /// Share of evenings that reach the wished dusk run; none without evenings.
    pub evenings_met: Option<f64>,
    pub jet_h: f64,
    /// Days of the season without a pump that works.
    pub broken_days: u32,
    /// Days of the season on which the mount is broken.
    pub stuck_days: u32,
    /// Share of its capacity when new that the battery holds at the start of the year.
    pub capacity_left: Option<f64>,
    /// Whether the battery's life is used up at the end of the year.
    pub battery_worn_out: bool,
    /// Largest residuals of its accounts on any day: energy, Wh; charge, Ah; water, L.
    pub residuals: [f64; 3],
    pub replaced: Replaced,
}
