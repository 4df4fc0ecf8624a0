//! The solar panel: from its label to its current at any voltage, light and temperature.
//!
//! `diode` fits the label, `reconcile` makes it one that can be fitted; `unit` is a drawn panel with its surroundings; `cells` is its curve in one minute's light, `covered` that of a string with
//! covered cells.
//! The light on it comes from [`sky`](crate::sky); where it meets the loads is found in [`bus`](super::bus).

mod cells;
mod covered;
mod diode;
mod reconcile;
mod unit;

pub use cells::Cells;
pub(crate) use cells::{Curve, IvPoint, Terminal};
pub(crate) use covered::{CoverRows, CoverUnit, CoveredString};
pub use diode::{Diode, Label};
pub(crate) use unit::{PanelRows, PanelUnit};
