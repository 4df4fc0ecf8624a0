//! One day of sixteen units; mount, panel, bus, battery, pump, water; ledger.
//!
//! Pure stepping: no files, no random numbers, no `Result`. Chance enters only through the
//! sampled day and the drawn parts.
//!
//! ```text
//! scene    which minutes are wanted and stepped, what the skyline leaves
//! units    sixteen drawn designs in rows; the state they carry
//! light    what a day's weather is for a mount, before any state     aim      the mount
//! panel    single diode         pump     bench curve, jet            battery, kibam   rest curve, cold, two wells
//! bus      what hangs on it     on_battery, on_panel   where they meet                store   a battery through its day
//! water, drift   the basin      causes   why there was no jet        ledger   the accounts
//! day      the minute, written once over lanes                       probe, trace     one lane watched
//! single_unit    each link alone, for checks
//! ```

mod aim;
mod battery;
mod bus;
mod causes;
mod day;
mod drift;
mod kibam;
mod ledger;
pub mod light;
mod nozzle;
mod on_battery;
mod on_panel;
pub mod outcome;
mod panel;
mod probe;
mod pump;
mod rows;
pub mod scene;
pub mod single_unit;
mod step;
mod store;
pub mod trace;
mod units;
mod water;

pub use day::DayInput;
pub use light::Light;
pub use outcome::{Cause, DayBlock, Flow};
pub use scene::{Scene, SceneDay};
pub use step::{step_day, trace_day, trace_day_into};
pub use trace::{DayTrace, TraceMinute};
pub use units::{State, UnitBlock};
