//! One day of sixteen units: mount, panel, bus, battery, pump, water; ledger.
//!
//! Pure stepping: no files, no random numbers, no `Result`. Chance enters only through the
//! sampled day and the drawn parts.

pub mod outcome;
pub mod scene;
pub mod trace;

pub use outcome::{Cause, DayBlock, Flow};
pub use scene::SceneDay;
pub use trace::{DayTrace, TraceMinute};
