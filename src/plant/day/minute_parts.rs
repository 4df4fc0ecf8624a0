//! The parts of a minute, in the order in which they are computed: light, wish, bus, jet.

use crate::lanes::Lane;
use crate::plant::bus::OperatingPoint;
use crate::plant::mount::{Direction, Turn};
use crate::plant::panel::Cells;
use crate::plant::rules::Ruled;
use crate::sky::SunMinute;

/// The light of a minute, and the panel under it.
pub(super) struct MinuteLight<'a, V: Lane> {
    /// The sun, and its place among the day's minutes with the sun up.
    pub sun: Option<(&'a SunMinute, usize)>,
    /// A mount that seeks the light goes to its waiting position instead.
    pub resting: V::Mask,
    /// Where the panel looks, and where a moving mount would look.
    pub aim: Direction<V>,
    pub target: Direction<V>,
    /// Angle off target below which a mount stays where it is, rad.
    pub band_rad: V,
    /// Irradiance on the panel, W/m².
    pub plane_w_m2: V,
    /// The panel in this light.
    pub cells: Cells<V>,
    /// The most its label says it gives in this light, W.
    pub label_w: V,
}

/// What is wanted of a minute.
pub(super) struct MinuteWish<V: Lane> {
    /// Number of the minute in the day.
    pub minute: usize,
    /// Wanted share of it, 0..=1.
    pub share: f64,
    /// Share of it that is wanted and in which the clock lets the pump run, 0..=1.
    pub run_share: f64,
    /// Share of it in which the rules let the pump run, 0..=1.
    pub let_run: V,
    /// What the rules of a controller decide.
    pub ruled: Ruled<V>,
    /// Ice stops the jet.
    pub frozen: V::Mask,
    /// Neither ice nor wind nor low water nor a fault stops the pump.
    pub pump_may_run: V::Mask,
    /// The turn the mount would make; `None` if it cannot turn at all.
    pub turn: Option<Turn<V>>,
    /// Share of the minute in which it hunts: its motors turn and get nowhere.
    pub hunting: V,
    /// Share of the minute its motors would turn in all.
    pub motion: V,
}

/// The bus in a minute.
pub(super) struct BusMinute<V: Lane> {
    /// Where it settled.
    pub point: OperatingPoint<V>,
    /// Share of the minute the pump is switched on.
    pub switched_on: V,
    /// The battery is cut off, or too weak to start the pump.
    pub battery_flat: V::Mask,
}

/// The jet of a minute.
pub(super) struct MinuteJet<V: Lane> {
    /// The pump runs for as much of the minute as it has to.
    pub full_duty: V::Mask,
    /// The jet counts.
    pub counts: V::Mask,
    /// Wanted minutes of jet that count, 0..=1.
    pub counted_min: V,
}
