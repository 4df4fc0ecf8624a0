//! The input of a day's step.

use crate::plant::light::Light;
use crate::plant::scene::Scene;
use crate::plant::units::UnitBlock;
use crate::weather::BlockDay;

/// A day and the units it meets.
#[derive(Clone, Copy)]
pub struct DayInput<'a> {
    /// The season.
    pub scene: &'a Scene,
    /// Which of its days.
    pub index: usize,
    /// The units.
    pub units: &'a UnitBlock,
    /// The day's weather.
    pub weather: &'a BlockDay,
    /// The day's light on these units' mounts ([`Light::compute`]).
    pub light: &'a Light,
}
