//! The front door: read a design, change it, simulate it, read the answer.
//!
//! - [`Fountain`] is a checked design at its place, with its weather read.
//! - [`Effort`] says how much to simulate: trials or a wanted error, seed, threads.
//! - [`Simulation`] is the answer: headline figures with their errors, every number behind them, traces of single days, the
//!   page and the files that `stilldays run` writes.
//! - [`Error`] is all that can go wrong.
//!
//! ```
//! use stilldays::{Effort, Fountain};
//!
//! let fountain = Fountain::read("scenarios/mill-3-seeking-small-battery.toml")?;
//! let bigger = fountain.with("battery.capacity", "6 Ah ± 10 %")?;
//! let effort = Effort::trials(16).seed(1);
//! let (now, then) = (fountain.simulate(effort)?, bigger.simulate(effort)?);
//! // The jet goes on longer after sunset.
//! assert!(then.dusk_run_min().map(|run| run.mean) > now.dusk_run_min().map(|run| run.mean));
//! # Ok::<(), stilldays::Error>(())
//! ```
//!
//! Two designs at one place and one seed meet the same weather and the same luck with parts, so that their difference is
//! known better than either figure. The numbers are those of the command line: same design, trials and seed, same bytes.
//!
//! Not in here: comparisons with paired errors, remedies, maps, shelves of parts and batches. They are in
//! [`study`](crate::study), take a [`Plan`] ([`Fountain::plan`]) and an
//! [`Engine`](crate::study::Engine), and give results that [`report`](crate::report) turns into text and pages.

mod effort;
mod error;
mod simulation;

pub use crate::design::Change;
pub use crate::study::traces::Pick;
pub use effort::Effort;
pub use error::Error;
pub use simulation::Simulation;

use crate::design::{self, DesignFile};
use crate::study::run::{RunState, resume};
use crate::study::{Plan, Sites};
use std::convert::Infallible;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A checked design at its place, with its weather read: ready to be simulated. Cheap to clone.
#[derive(Clone)]
#[must_use]
pub struct Fountain {
    plan: Arc<Plan>,
    /// Weather already read, shared with all designs made from this one.
    sites: Arc<Sites>,
}

impl Fountain {
    /// Reads a design file and its weather files, whose paths are relative to the design's folder.
    ///
    /// # Errors
    /// [`Error::Refused`] with everything that is wrong with the design, or with its weather.
    ///
    /// ```
    /// use stilldays::{Error, Fountain};
    ///
    /// let Err(Error::Refused(problems)) = Fountain::read("no-such-design.toml") else { panic!() };
    /// assert!(problems.to_string().contains("no-such-design.toml"));
    /// ```
    pub fn read(path: impl AsRef<Path>) -> Result<Fountain, Error> {
        Fountain::of(design::read(path.as_ref())?, Arc::default())
    }

    /// The same from the text of a design. `path` need not exist: it names the text in messages, and weather files are
    /// looked for relative to its folder.
    ///
    /// # Errors
    /// As [`Fountain::read`].
    ///
    /// ```
    /// use stilldays::Fountain;
    ///
    /// let text = r#"
    /// [site]
    /// weather = "weather/fenholm.csv.gz"
    /// [panel]
    /// rated_power = "10 W ± 5 %"
    /// open_circuit_voltage = "10.8 V"
    /// [pump]
    /// bench = [["6 V", "290 mA", "430 mm"]]
    /// "#;
    /// let fountain = Fountain::parse("courtyard.toml", text)?;
    /// assert_eq!(fountain.file().design.panel.rated_power_w.nominal, 10.0);
    /// assert!(fountain.file().design.battery.is_none());
    /// # Ok::<(), stilldays::Error>(())
    /// ```
    pub fn parse(path: impl AsRef<Path>, text: impl Into<String>) -> Result<Fountain, Error> {
        Fountain::of(design::parse(path.as_ref(), text.into())?, Arc::default())
    }

    fn of(file: DesignFile, sites: Arc<Sites>) -> Result<Fountain, Error> {
        Ok(Fountain { plan: Arc::new(Plan::new(file, &sites)?), sites })
    }

    /// The design with this value in place of the one it has for `key` (`"battery.capacity"`). The value is what would
    /// stand in the file: `"6 Ah ± 10 %"`, `true`, `1.2`. All else stays as it is.
    ///
    /// # Errors
    /// [`Error::Refused`] if there is no such key, or if the changed design does not pass the checks.
    ///
    /// ```
    /// # use stilldays::Fountain;
    /// # let fountain = Fountain::read("scenarios/mill-3-seeking-small-battery.toml")?;
    /// let lower = fountain.with("wish.jet", "20 cm")?;
    /// assert_eq!(lower.file().design.wish.jet_m.nominal, 0.2);
    /// assert!(fountain.with("wish.jet", "20 W").is_err());
    /// # Ok::<(), stilldays::Error>(())
    /// ```
    pub fn with(&self, key: &str, value: impl Into<toml::Value>) -> Result<Fountain, Error> {
        self.changed(&[(key.to_owned(), Change::Set(value.into()))])
    }

    /// The design without a key, which then takes its default, or without a whole table (`"battery"`).
    ///
    /// # Errors
    /// As [`Fountain::with`].
    pub fn without(&self, key: &str) -> Result<Fountain, Error> {
        self.changed(&[(key.to_owned(), Change::Remove)])
    }

    /// The design with a quantity multiplied by `factor` (above 0). Its spread grows alike, and so does what belongs to the
    /// same part: a panel of twice the power has twice the short-circuit current, a battery of twice the capacity half the
    /// resistance.
    ///
    /// # Errors
    /// As [`Fountain::with`]; also if the key holds no quantity.
    pub fn scaled(&self, key: &str, factor: f64) -> Result<Fountain, Error> {
        let mut changes = self.plan.file.companions(key, factor);
        changes.push((key.to_owned(), Change::Scale(factor)));
        self.changed(&changes)
    }

    /// The design with several changes made at once: for keys that pass the checks only together. Its `[[remedy]]` tables
    /// are left out.
    ///
    /// # Errors
    /// As [`Fountain::with`].
    pub fn changed(&self, changes: &[(String, Change)]) -> Result<Fountain, Error> {
        let file = &self.plan.file;
        let new: Vec<String> = changes.iter().map(|(key, change)| in_words(key, change)).collect();
        let all: Vec<&str> =
            file.variant.as_deref().into_iter().chain(new.iter().map(String::as_str)).collect();
        let changed = file.patched(&all.join(", "), changes)?;
        if Sites::name(&changed) == Sites::name(file) {
            return Ok(Fountain {
                plan: Arc::new(self.plan.beside(changed)),
                sites: Arc::clone(&self.sites),
            });
        }
        Fountain::of(changed, Arc::clone(&self.sites))
    }

    /// The design as read and checked, with every value it rests on.
    pub fn file(&self) -> &DesignFile {
        &self.plan.file
    }

    /// The design as text, changes included, with whole paths to its weather: it can be kept in any folder. `None` if a path
    /// is not UTF-8.
    pub fn to_toml(&self) -> Option<String> {
        self.plan.file.standalone()
    }

    /// What is odd about design and weather, one line each.
    pub fn warnings(&self) -> Vec<String> {
        self.plan.file.warning_lines().into_iter().chain(self.plan.warnings()).collect()
    }

    /// What the studies take.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Simulates as much as `effort` says, on its threads. The same design and effort give the same numbers on any
    /// machine and any number of threads.
    ///
    /// # Errors
    /// [`Error::Effort`] if `effort` asks for the impossible, [`Error::Threads`] if they cannot be started.
    ///
    /// ```
    /// # use stilldays::{Effort, Fountain};
    /// let fountain = Fountain::read("scenarios/mill-3-seeking-small-battery.toml")?;
    /// let simulation = fountain.simulate(Effort::trials(16).seed(7))?;
    /// assert_eq!(simulation.summary().run.trials, 16);
    /// println!("{simulation}");
    /// # Ok::<(), stilldays::Error>(())
    /// ```
    pub fn simulate(&self, effort: Effort) -> Result<Simulation, Error> {
        self.simulate_watched(effort, |_| ControlFlow::Continue(()))
    }

    /// The same; `watch` is told now and then how many trials are done. If it breaks, the simulation ends early, with the
    /// trials that it has.
    ///
    /// # Errors
    /// As [`Fountain::simulate`].
    pub fn simulate_watched(
        &self,
        effort: Effort,
        mut watch: impl FnMut(u64) -> ControlFlow<()>,
    ) -> Result<Simulation, Error> {
        let stop = AtomicBool::new(false);
        let engine = effort.engine(&stop)?;
        let mut after_wave = |state: &RunState| {
            if watch(state.tally.trials()).is_break() {
                stop.store(true, Ordering::Relaxed);
            }
            Ok::<(), Infallible>(())
        };
        let start = RunState::start(&self.plan);
        let Ok(run) = resume(&engine, &self.plan, effort.until(), start, &mut after_wave);
        Ok(Simulation::of(self.clone(), effort, run))
    }
}

impl std::fmt::Debug for Fountain {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let file = &self.plan.file;
        f.debug_struct("Fountain")
            .field("path", &file.path)
            .field("variant", &file.variant)
            .finish_non_exhaustive()
    }
}

/// A change as messages and pages name it.
fn in_words(key: &str, change: &Change) -> String {
    match change {
        Change::Set(toml::Value::String(text)) => format!("{key} = {text}"),
        Change::Set(value) => format!("{key} = {value}"),
        Change::Remove => format!("without {key}"),
        Change::Scale(factor) => format!("{key} × {factor}"),
    }
}
