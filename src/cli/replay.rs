//! `stilldays replay DESIGN --weather FILE`

use super::failure::{Outcome, no_trial};
use super::output::{StudyArgs, write_results};
use std::path::PathBuf;
use stilldays::report;
use stilldays::study::replay::replay;
use stilldays::study::run::Until;
use stilldays::study::{Plan, SiteModel, Sites, simulate};

/// Builds of the design that meet the same days: parts and minutes differ.
const TRIALS: u64 = 64;

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Builds of the design, each with its own drawn parts and minutes; default {TRIALS}"))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// Hourly weather of the actual days, from a station nearby; part of a year is enough
    #[arg(long, value_name = "FILE")]
    weather: PathBuf,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let (effort, trials) = args.study.effort.budgeted(
        TRIALS,
        "replay does not take --until: the days are given; --trials says how many builds meet them",
    )?;
    let plan = Plan::new(args.study.learned.read(&args.design)?, &Sites::new())?;
    let actual = SiteModel::of_days(&args.weather, &plan.site)?;
    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.bar(2 * trials, &plan.file.design.title);
    let (found, any_year) = effort.simulate(&bar, |engine| {
        let found = replay(engine, &plan, &actual, trials);
        (found, simulate(engine, &plan, Until::Trials(trials), String::new()))
    })?;
    let found = found.ok_or_else(no_trial)?;
    let found = match any_year {
        Some(any_year) => found.beside(&any_year),
        None => found,
    };
    let files = report::files_of_replay(&found);
    write_results(effort.quiet, &args.study.show, &folder, &files, |style| {
        report::text::replay(&found, style)
    })
}
