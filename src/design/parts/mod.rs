//! What a design consists of: one type for each table of the file, every value checked.
//!
//! Types are generic over the number: [`Uncertain`](crate::units::Uncertain) as read, `f64` as drawn. How they are read
//! is in `tables`, what may be written in `keys`. A file uses only those above it in this list: trees, site, wish, coefficients,
//! cover, dirt, panel, mount, chemistry, battery, electronics, pump, nozzle, bench_curve, water, control, running.

mod battery;
mod bench_curve;
mod care;
mod chemistry;
mod coefficients;
mod control;
mod cover;
mod dirt;
mod electronics;
mod mount;
mod nozzle;
mod panel;
mod pump;
mod running;
mod site;
mod trees;
mod water;
mod wish;

pub use battery::Battery;
pub use bench_curve::{BenchCurve, BenchKnot};
pub use care::{Care, SETTING_UP_DAYS, Winter};
pub(in crate::design) use chemistry::Usual;
pub use chemistry::{Chemistry, REST_CHARGES};
pub use coefficients::{Cable, Coefficients, cable_ohm};
pub use control::{Control, Hold, Measure, Reserve, Rest, Slow, Speed, Threshold};
pub(in crate::design) use control::{HOLD_UNTIL, SLOW_SPEED, SLOWER_SPEED, ThresholdKeys};
pub use cover::Cover;
pub use dirt::{Dirt, Litter};
pub use electronics::{Charging, Electronics, FedFirst, Socket};
pub use mount::{Head, Mount, MountKind};
pub use nozzle::jet_height_m;
pub use panel::{CellTechnology, Front, Panel};
pub use pump::{BenchPoint, Nozzle, Pump, PumpKind};
pub use running::{Running, RunsWhen};
pub use site::{Site, WeatherYears, YearSpread};
pub use trees::{TreeKind, Trees};
pub use water::{Ice, TopUp, Water};
pub use wish::{DayTime, Wish};
