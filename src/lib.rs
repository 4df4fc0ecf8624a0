//! On how many days a month will a small sun-powered jet of water stand still, and why?
//!
//! stilldays takes one design (panel, mount, battery, pump, basin) at one place with a weather file, draws hundreds of seasons of
//! weather and parts from it, steps each of them minute by minute, and counts: still days, how long the jet goes on after sunset,
//! how hard the battery is worked, and what stopped the jet. This is the library; the program of the same name is made from it.
//!
//! # Start here
//!
//! ```
//! use stilldays::{Effort, Fountain};
//!
//! let fountain = Fountain::read("scenarios/mill-3-seeking-small-battery.toml")?;
//! let simulation = fountain.simulate(Effort::trials(32).seed(1))?;
//!
//! let still = simulation.still_days_a_month();
//! println!("{:.1} still days a month, standard error {:.2}", still.mean, still.se.unwrap_or(f64::NAN));
//! assert!(simulation.months().iter().all(|month| month.still_days.p90 <= f64::from(month.days)));
//! # Ok::<(), stilldays::Error>(())
//! ```
//!
//! [`Fountain`] is a design with its weather, [`Effort`] says how much to simulate, [`Simulation`] is the answer, [`Error`] what can go
//! wrong. `examples/one_run.rs` and `examples/battery_sizes.rs` are two whole programs.
//!
//! # Where to go on
//!
//! 1. [`fountain`]: change a design, trace a day, write the page.
//! 2. [`design`]: what a design holds, and how its file is read and checked. Its values are quantities of [`units`], with how well each
//!    is known; what is wrong with a file is a list of [`source::Problem`]s.
//! 3. [`weather`]: from a file of hours to sampled days of minutes, over the sun and clear sky of [`sky`].
//! 4. [`plant`]: what mount, panel, battery, pump and basin do in each minute, for sixteen trials at once ([`lanes`]).
//! 5. [`tally`]: from many days to distributions with errors; [`tally::Summary`] documents every number.
//! 6. [`study`]: many trials in parallel; comparisons, remedies, maps, choice from a shelf, batches.
//! 7. [`report`]: numbers as text, CSV, JSON and HTML.
//!
//! [`seed`] makes all random numbers and [`disk`] writes all files.
//!
//! # How data flows
//!
//! A module uses only modules above it in this list (held by a test):
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
//! logbook  what an owner saw and measured on single days
//! plant    one day of sixteen units: mount, panel, bus, battery, pump, water; ledger
//! tally    distributions, rainflow, intervals; all mergeable
//! study    trials in parallel, stopping, compare, remedies, grid, choose, batch
//! learn    which units of a design agree with a logbook
//! report   numbers -> text, CSV, JSON, HTML
//! fountain the front door: read, change, simulate, read the answer
//! ```
//!
//! # Conventions
//!
//! - Azimuth in degrees from north, clockwise (east = 90); tilt from the horizontal; angles are degrees in designs and tables, radians in
//!   kernels. Irradiance in W/m². Battery current is positive while discharging. Time is local standard time, minutes from the start of
//!   the day. The suffix of a name tells its unit: `_w`, `_v`, `_ah`, `_min`.
//! - A number that cannot be computed is `None` (`null` in JSON), never 0.
//! - The same design, trials and seed give the same bytes on any machine and any number of threads.
//! - The library never prints and never reads a clock to decide a number.

pub mod design;
pub mod disk;
pub mod fountain;
pub mod lanes;
pub mod learn;
pub mod logbook;
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
