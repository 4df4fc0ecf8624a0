//! `stilldays run DESIGN…`

use super::Outcome;
use super::common::{Effort, Failure, Show, hand_over, print, report_failure, results_folder};
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::time::Instant;
use stilldays::design;
use stilldays::report;
use stilldays::study::default_trials;
use stilldays::study::remedies::{self, By};
use stilldays::study::run::FinishedRun;
use stilldays::study::simulate::run_trials;
use stilldays::study::summary;
use stilldays::study::{Plan, Sites, traces};

#[derive(clap::Args)]
pub struct Args {
    /// Design files
    #[arg(required = true, value_name = "DESIGN")]
    designs: Vec<PathBuf>,
    /// Weigh single changes as well, and show them in the page's part 7
    #[arg(long)]
    remedies: bool,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results; each design gets one of its own in it
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let mut refused = false;
    for path in &args.designs {
        let folder = results_folder(args.out.as_deref(), path);
        match one(path, &folder, args, &sites) {
            Ok(()) if !args.effort.quiet => print("\n")?,
            Ok(()) => {}
            Err(Failure::BrokenPipe) => return Err(Failure::BrokenPipe),
            Err(failure) => {
                report_failure(failure);
                refused = true;
            }
        }
    }
    if refused { Err(Failure::Reported) } else { Ok(()) }
}

/// Reads, simulates, and hands over the results of one design.
fn one(path: &Path, folder: &Path, args: &Args, sites: &Sites) -> Outcome {
    let effort = &args.effort;
    let plan = Plan::new(design::read(path)?, sites)?;
    let until = effort.until();
    let bar = effort.bar(until.most(), &plan.file.design.title);
    let tick = |p: stilldays::study::Progress| bar.inc(p.trials);
    let stop = AtomicBool::new(false);
    let pool = effort.pool()?;
    let engine = effort.engine(&pool, &tick, &stop);
    let began = Instant::now();
    let FinishedRun { state, history } = run_trials(&engine, &plan, until);
    bar.finish_and_clear();
    let took = began.elapsed();
    let weighs = if args.remedies { " --remedies" } else { "" };
    let command = format!("stilldays run {} {}{weighs}", path.display(), effort.as_flags());
    let summary = summary::summarise(&plan, &state.tally, effort.seed, command);
    let days = traces::three_days(&engine, &plan, history);
    let units = args.show.units.system();
    let mut out = report::files_of_run(&summary, &state.tally, &days, units);
    if args.remedies {
        let budget = until.most().min(default_trials::REMEDIES);
        let weighed = remedies::weigh(&engine, plan, By::StillDays, budget, &summary.run.command);
        out[0].1 = report::html::run_with_remedies(&summary, &days, Some(&weighed), units).into_bytes();
        out.extend(super::remedies::files(&weighed));
    }
    hand_over(effort, &args.show, folder, &out, |style| report::text::run(&summary, Some(took), style))
}
