//! A simulated fountain: its answer.

use super::{Effort, Error, Fountain, Pick};
use crate::plant::DayTrace;
use crate::report::html::RunExtras;
use crate::report::{self, Style, write};
use crate::study::block_history::BlockHistory;
use crate::study::run::FinishedRun;
use crate::study::{summary, traces};
use crate::tally::summary::{DayCount, Estimate, Minutes, Month};
use crate::tally::{Summary, Tally};
use crate::units::System;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// A simulated fountain: headline figures, every number behind them, single days, page and files.
///
/// Shown with `{}` it is the summary that `stilldays run` prints.
#[derive(Clone, Debug)]
#[must_use]
pub struct Simulation {
    fountain: Fountain,
    effort: Effort,
    tally: Tally,
    history: Option<BlockHistory>,
    summary: Summary,
}

impl Simulation {
    pub(super) fn of(fountain: Fountain, effort: Effort, run: FinishedRun) -> Simulation {
        let file = fountain.file();
        let (path, flags) = (file.path.display(), effort.as_flags());
        let command = match &file.variant {
            None => format!("stilldays run {path} {flags}"),
            Some(changes) => format!("stilldays run DESIGN {flags} (DESIGN: {path} with {changes})"),
        };
        let tally = run.state.tally;
        let summary = summary::summarise(&fountain.plan, &tally, effort.seed, command)
            .unwrap_or_else(|| unreachable!("an effort has at least one trial"));
        Simulation { fountain, effort, tally, history: run.history, summary }
    }

    /// Still days a month: mean over season and trials, and its standard error.
    pub fn still_days_a_month(&self) -> Estimate {
        self.summary.season.still_days_per_month
    }

    /// Still days a month that gardens see whose weather files look like these: 80 % of them lie within. The error of the
    /// simulation is part of it.
    pub fn still_days_at_places(&self) -> Option<[f64; 2]> {
        self.summary.weather_input.as_ref().map(|r| r.still_days_per_month)
    }

    /// Still days in the worst month of each trial.
    pub fn worst_month(&self) -> &DayCount {
        &self.summary.season.worst_month
    }

    /// Share of years in which no month has more still days than `wish.still_days`.
    pub fn bearable_years(&self) -> Estimate {
        self.summary.season.bearable_years
    }

    /// Minutes the jet goes on after sunset, over evenings; `None` if the wish does not reach beyond sunset.
    pub fn dusk_run_min(&self) -> Option<&Minutes> {
        self.summary.season.dusk_run_min.as_ref()
    }

    /// Years the battery will last; `None` without a battery, or if not computable.
    pub fn battery_life_years(&self) -> Option<[f64; 3]> {
        let life = self.summary.battery.as_ref()?.life?;
        Some([life.p10, life.p50, life.p90])
    }

    /// The months of the season.
    pub fn months(&self) -> &[Month] {
        &self.summary.months
    }

    /// Every number, as `summary.json` holds them.
    pub fn summary(&self) -> &Summary {
        &self.summary
    }

    /// The counts that the numbers are made from.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// One day of one trial (counted from 0) minute by minute: weather, aim, voltages, charge, jet, cause. Trials that were
    /// not simulated will do as well.
    ///
    /// # Errors
    /// [`Error::OutOfSeason`], [`Error::NoDay`]; [`Error::Threads`] as [`Fountain::simulate`].
    ///
    /// ```
    /// # use stilldays::{Effort, Fountain};
    /// use stilldays::fountain::Pick;
    /// # let fountain = Fountain::read("scenarios/mill-3-seeking-small-battery.toml")?;
    /// # let simulation = fountain.simulate(Effort::trials(1))?;
    /// let day = simulation.trace(0, Pick::Dull)?;
    /// let counted = day.minutes.iter().filter(|minute| minute.counted).count();
    /// println!("{counted} min of jet on day {} of the year", day.day_of_year);
    /// # Ok::<(), stilldays::Error>(())
    /// ```
    pub fn trace(&self, trial: u64, pick: Pick) -> Result<DayTrace, Error> {
        let stop = AtomicBool::new(false);
        let engine = self.effort.engine(&stop)?;
        traces::one(&engine, &self.fountain.plan, trial, pick).ok_or(match pick {
            Pick::Date(day_of_year) => Error::OutOfSeason { day_of_year },
            Pick::Bright | Pick::Typical | Pick::Dull | Pick::Still | Pick::Worst(_) => Error::NoDay,
        })
    }

    /// The page of `stilldays run`, a whole HTML file that needs no other.
    ///
    /// # Errors
    /// [`Error::Threads`] as [`Fountain::simulate`]: three days are stepped again, to be drawn.
    pub fn page(&self, units: System) -> Result<String, Error> {
        Ok(report::html::run(&self.summary, &self.three_days()?, units))
    }

    /// Writes the files of `stilldays run` into a folder, which is made if need be: page, summary, months, distributions,
    /// tally, but no days to watch. All but the page are always in SI units. Gives their paths.
    ///
    /// # Errors
    /// [`Error::Write`], and as [`Simulation::page`].
    pub fn write(&self, folder: impl AsRef<Path>, units: System) -> Result<Vec<PathBuf>, Error> {
        let traces = self.three_days()?;
        let extras = RunExtras { traces: &traces, units, ..RunExtras::default() };
        let files = report::files_of_run(&self.summary, &self.tally, extras);
        Ok(write::all(folder.as_ref(), &files)?)
    }

    /// The summary that `stilldays run` prints, set as `style` says.
    pub fn to_text(&self, style: Style) -> String {
        report::text::run(&self.summary, None, style)
    }

    fn three_days(&self) -> Result<Vec<DayTrace>, Error> {
        let stop = AtomicBool::new(false);
        let engine = self.effort.engine(&stop)?;
        Ok(traces::three_days(&engine, &self.fountain.plan, self.history.clone()))
    }
}

impl fmt::Display for Simulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.to_text(Style { unicode: true, ..Style::PLAIN }))
    }
}
