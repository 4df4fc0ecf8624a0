//! stilldays: on how many days a month will a small sun-powered jet of water stand still, and why.
//!
//! Data flows one way; a module uses only modules above it in this list (held by a test):
//!
//! ```text
//! units    quantities with units and uncertainty
//! source   a place in a file: path, line, column, excerpt; shared by all input errors
//! disk     files written whole or not at all; folders held by one program
//! seed     the only place where random streams are made
//! lanes    sixteen trials side by side, and the mathematics whose bits reach a result
//! design   file -> checked design
//! sky      sun, clear sky, irradiance on a plane, where opposed photocells balance
//! weather  file -> typical year -> sampler -> sampled day of minutes
//! plant    one day of sixteen units: mount, panel, bus, battery, pump, water; ledger
//! tally    distributions, rainflow, intervals; all mergeable
//! study    trials in parallel, stopping, compare, remedies, grid, choose, batch
//! report   numbers -> text, CSV, JSON, HTML
//! fountain the front door: read, change, simulate, read the answer
//! ```
//!
//! Conventions: azimuth in degrees from north, clockwise (east = 90); tilt from the horizontal;
//! angles are degrees in designs and tables, radians in kernels; irradiance W/m²; battery current
//! positive while discharging; time is local standard time, minutes from the start of the day.
//!
//! The library never prints and never reads a clock to decide a number.

pub mod design;
pub mod disk;
pub mod fountain;
pub mod lanes;
pub mod plant;
pub mod report;
pub mod seed;
pub mod sky;
pub mod source;
pub mod study;
pub mod tally;
pub mod units;
pub mod weather;

pub use fountain::{Effort, Error, Fountain, Simulation};

/// Version written into every output.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
