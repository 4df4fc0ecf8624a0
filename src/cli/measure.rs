//! `stilldays measure DESIGN`

use super::failure::{Failure, Outcome, no_trial};
use super::output::{StudyArgs, write_results};
use std::path::PathBuf;
use stilldays::learn::card;
use stilldays::study::{Plan, Sites};
use stilldays::{logbook, report};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.hide(true)), mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// Logbook to learn from first
    #[arg(long, value_name = "FILE")]
    logbook: Option<PathBuf>,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let StudyArgs { effort, show, .. } = &args.study;
    if effort.trials.is_some() || effort.until.is_some() {
        let why =
            "measure takes neither --trials nor --until: it simulates as many units as its figures need";
        return Err(Failure::Usage(why.to_owned()));
    }
    let file = args.study.learned.read(&args.design)?;
    let logbook = args.logbook.as_deref().map(logbook::read).transpose()?;
    if let Some(logbook) = &logbook {
        logbook::fits(logbook, &file.design)?;
    }
    let plan = Plan::new(file, &Sites::new())?;
    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.bar(0, &plan.file.design.title);
    effort.simulate_on(
        &folder,
        &bar,
        |engine| {
            let (expect, tick) = (|more: u64| bar.inc_length(more), || bar.inc(1));
            let found = card(engine, &plan, logbook.as_ref(), (&expect, &tick));
            found.map_err(Failure::Message)?.ok_or_else(no_trial)
        },
        |found| {
            let files = report::files_of_card(&found, show.units.system());
            write_results(effort.quiet, show, &folder, &files, |style| report::text::card(&found, style))
        },
    )
}
