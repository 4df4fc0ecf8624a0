//! One day of sixteen units: mount, panel, bus, battery, pump, water, and the account of every flow.
//!
//! Pure stepping: no files, no random numbers, no `Result`. Chance enters only through the sampled day and the drawn parts. What
//! days add up to is in [`tally`](crate::tally); how trials are run, in [`study`](crate::study).
//!
//! ```text
//! record       what is written down: outcome of a day, causes, traced minutes
//! panel        single diode          pump   bench curve, jet          mount   reach and turn
//! surface      what lies on the panel from day to day: dirt, leaves, droppings
//! state        what a unit carries from minute to minute and from day to day
//! water        evaporation, drift, the basin's account
//! bus          the voltage at which panel, battery, pump and mount agree
//! ageing       how fast a battery wears on the shelf and by cycles
//! battery      rest curve, cold, two wells, a battery through its day
//! rules        the rules by which the pump is let run
//! scene        the days of a season: which minutes are wanted and stepped, what the skyline leaves
//! units        sixteen drawn designs side by side
//! light        the day's light on their mounts, before any state
//! day          the minute: light, demand, bus, jet, cause, turn; written once over lanes
//! single_unit  each part alone for one unit, for checks and tables
//! ```
//!
//! A folder or file uses only those above it in this list.

pub(crate) mod ageing;
mod battery;
mod bus;
mod day;
mod light;
mod mount;
mod panel;
mod pump;
mod record;
mod rules;
mod scene;
pub mod single_unit;
mod state;
mod surface;
mod units;
mod water;

pub use day::{DayInput, Noted, Watch, step_day, trace_day, trace_day_into, watch_day};
pub use light::Light;
pub use record::{Cause, DayBlock, DayTrace, Flow, OnPanel, RuleAtWork, TraceMinute};
pub use scene::{Scene, SceneDay};
pub use state::State;
pub use units::UnitBlock;
