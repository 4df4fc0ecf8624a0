//! `stilldays check DESIGN…`, for designs and logbooks

use super::effort::Effort;
use super::failure::{Failure, Outcome, no_trial, print, report_failure};
use super::output::{UnitsArg, terminal};
use indicatif::ProgressBar;
use std::path::PathBuf;
use stilldays::design;
use stilldays::logbook;
use stilldays::report::{self, words::escaped};
use stilldays::study::key_figures::{self, KeyFigures};
use stilldays::study::{Plan, Sites, simulate};
use stilldays::tally::Summary;
use stilldays::units::System;

#[derive(clap::Args)]
pub struct Args {
    /// Design files
    #[arg(required = true, value_name = "DESIGN")]
    designs: Vec<PathBuf>,
    /// Also check a logbook, and whether each design has the parts it speaks of
    #[arg(long, value_name = "FILE")]
    logbook: Option<PathBuf>,
    /// Units of the figures
    #[arg(long, value_enum, default_value_t = UnitsArg::Si)]
    units: UnitsArg,
}

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let mut refused = 0;
    let logbook = args.logbook.as_deref().map(logbook::read).transpose()?;
    let agreeing = |file: design::DesignFile| match &logbook {
        Some(logbook) => logbook::fits(logbook, &file.design).map(|()| file),
        None => Ok(file),
    };
    for path in &args.designs {
        match design::read(path).and_then(agreeing).and_then(|file| Plan::new(file, &sites)) {
            Ok(plan) => print(&checked(&plan, args)?)?,
            Err(problems) => {
                report_failure(Failure::Refused(problems));
                refused += 1;
            }
        }
    }
    if refused > 0 {
        return Err(Failure::Reported);
    }
    match &logbook {
        Some(logbook) => print(&counted(logbook)),
        None => Ok(()),
    }
}

/// What is to be said of a valid logbook: what it holds, and what is odd.
fn counted(logbook: &logbook::Logbook) -> String {
    let mut days: Vec<logbook::Date> = logbook.entries.iter().map(|e| e.date).collect();
    days.dedup();
    let (n, path) = (logbook.entries.len(), logbook.path.display());
    let [first, .., last] = days[..] else {
        return format!("{path}: valid: {n} {}\n", if n == 1 { "entry" } else { "entries, all on one day" });
    };
    let mut text = format!("{path}: valid: {n} entries on {} days, {first} to {last}\n", days.len());
    let columns = terminal(System::Si).width - 2;
    for warning in &logbook.warnings {
        text += &item("note:", warning, columns);
    }
    text
}

/// What is to be said of a valid design: warnings, a few figures that its builder can check by eye, and cautions.
fn checked(plan: &Plan, args: &Args) -> Result<String, Failure> {
    let summary = few_trials(plan)?;
    let (path, title) = (plan.file.path.display(), escaped(&plan.file.design.title));
    let columns = terminal(args.units.system()).width - 2;
    let item = |mark: &str, text: &str| item(mark, text, columns);
    let mut text = format!("{path}: valid: {title}\n");
    for warning in &summary.warnings {
        text += &item("note:", warning);
    }
    let figures = KeyFigures::of(plan, &summary);
    for line in report::words::key_figures(&figures, args.units.system()) {
        text += &item("by eye:", &line);
    }
    text += &item("weather:", &report::words::more_weather(plan.site.input()));
    for caution in &summary.cautions {
        text += &item("caution:", caution);
    }
    Ok(text)
}

fn few_trials(plan: &Plan) -> Result<Summary, Failure> {
    let trials = Some(key_figures::TRIALS);
    let effort = Effort { trials, until: None, seed: 1, threads: Some(1), quiet: true };
    let summary = effort
        .simulate(&ProgressBar::hidden(), |engine| simulate(engine, plan, effort.until(), String::new()))?;
    summary.ok_or_else(no_trial)
}

/// A marked paragraph, wrapped with a hanging indent.
fn item(mark: &str, text: &str, columns: usize) -> String {
    let indent = mark.len() + 3;
    let mut out = String::new();
    for (i, line) in report::text::wrap::wrap(&escaped(text), columns - indent).iter().enumerate() {
        let lead = if i == 0 { format!("  {mark} ") } else { " ".repeat(indent) };
        out += &format!("{lead}{line}\n");
    }
    out
}
