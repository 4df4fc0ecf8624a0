//! `stilldays run DESIGN…`

use super::failure::Outcome;
use super::failure::{Failure, no_trial, print, report_failure};
use super::output::{Audience, StudyArgs, write_results};
use std::path::{Path, PathBuf};
use std::time::Instant;
use stilldays::report;
use stilldays::report::html::{DayPage, RunExtras};
use stilldays::study::default_trials;
use stilldays::study::remedies;
use stilldays::study::run::FinishedRun;
use stilldays::study::simulate::run_trials;
use stilldays::study::summary;
use stilldays::study::{Engine, Plan, Sites, traces};

#[derive(clap::Args)]
pub struct Args {
    /// Design files
    #[arg(required = true, value_name = "DESIGN")]
    designs: Vec<PathBuf>,
    /// Also rank single changes to each design, and show the ranking in its page
    #[arg(long)]
    remedies: bool,
    /// Also write a sheet in plain words for somebody
    #[arg(long = "for", value_enum, value_name = "WHOM")]
    audience: Option<Audience>,
    #[command(flatten)]
    study: StudyArgs,
}

/// The page of days to watch.
const DAYS: &str = "days.html";

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let mut refused = false;
    for path in &args.designs {
        match one(path, args, &sites) {
            Ok(()) if !args.study.effort.quiet => print("\n")?,
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

/// Reads and simulates one design, and writes its results.
fn one(path: &Path, args: &Args, sites: &Sites) -> Outcome {
    let StudyArgs { effort, show, learned, .. } = &args.study;
    let plan = Plan::new(learned.read(path)?, sites)?;
    effort.tell_warnings(&plan);
    let folder = args.study.folder(path)?;
    let until = effort.until();
    let units = show.units.system();
    let with_remedies = if args.remedies { " --remedies" } else { "" }.to_owned() + &learned.as_flag();
    let command = format!("stilldays run {} {}{with_remedies}", path.display(), effort.as_flags());
    let bar = effort.bar(until.most(), &plan.file.design.title);
    let work = |engine: &Engine<'_>| {
        let began = Instant::now();
        let FinishedRun { state, history } = run_trials(engine, &plan, until);
        bar.finish_and_clear();
        let took = began.elapsed();
        let summary = summary::summarise(&plan, &state.tally, effort.seed, command).ok_or_else(no_trial)?;
        let (traces, days) = traces::of_run(engine, &plan, history);
        let page = (!days.is_empty())
            .then(|| report::html::day(&DayPage::of(&plan, effort.seed, &summary.cautions, units), &days));
        let weighed = match args.remedies {
            true => {
                let budget = until.most().min(default_trials::REMEDIES);
                bar.reset();
                bar.set_length(budget + remedies::LACKING_TRIALS);
                bar.set_message("remedies");
                let command = &summary.run.command;
                Some(remedies::weigh(engine, plan, None, budget, command).ok_or_else(no_trial)?)
            }
            false => None,
        };
        let extras = RunExtras {
            traces: &traces,
            days_page: page.as_ref().map(|_| DAYS),
            remedies: weighed.as_ref(),
            units,
        };
        let mut out = report::files_of_run(&summary, &state.tally, extras);
        out.extend(page.map(|page| (DAYS, page.into_bytes())));
        if args.audience == Some(Audience::Client) {
            out.push(("client.html", report::html::client(&summary, units).into_bytes()));
        }
        out.extend(weighed.iter().flat_map(super::remedies::files));
        Ok((summary, took, out))
    };
    effort.simulate_on(&folder, &bar, work, |(summary, took, out)| {
        write_results(effort.quiet, show, &folder, &out, |style| {
            report::text::run(&summary, Some(took), style)
        })?;
        if args.audience == Some(Audience::Client) && !effort.quiet {
            print(&format!("For the client: {}\n", folder.path().join("client.html").display()))?;
        }
        Ok(())
    })
}
