//! What lay on the panel, in figures.

use serde::{Deserialize, Serialize};

/// A mean with its 95 % interval; none below two trials.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Within {
    /// Mean over trials.
    pub mean: f64,
    /// Its 95 % interval.
    pub interval_95: Option<[f64; 2]>,
}

/// What lay on the panel over a season.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct PanelSurface {
    /// Share of the light on the panel that dirt took which rain or a hand takes away.
    pub dirt_share: Within,
    /// Share that snow took.
    pub snow_share: Within,
    /// Days with leaves or droppings on it.
    pub littered_days: Within,
}
