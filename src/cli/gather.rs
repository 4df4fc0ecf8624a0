//! `stilldays gather FOLDER…`

use super::batch::{ReportFiles, ending, failure, interrupt, outcome};
use super::batch_progress::BatchProgress;
use super::effort::Effort;
use super::failure::{Failure, Outcome, no_trial, print};
use super::output::{Show, UnitsFrom, results_folder};
use super::years;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use stilldays::disk::{Folder, Real};
use stilldays::report::{self, number};
use stilldays::study::batch::gather::{Parts, Wanted};
use stilldays::study::batch::part_status::{PartState, PartsStatus};
use stilldays::study::batch::{Batch, BatchError};
use stilldays::study::run::Until;
use stilldays::study::years::split::PartsOfLives;
use stilldays::study::{Engine, Plan, Sites};

#[derive(clap::Args)]
pub struct Args {
    /// Folders with parts made by `batch --part` or `years --part`, or folders that contain such folders
    #[arg(required = true, value_name = "FOLDER")]
    folders: Vec<PathBuf>,
    /// Folder of designs; default: where the parts were made from
    #[arg(long, value_name = "DIR")]
    designs: Option<PathBuf>,
    /// Folder for results
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
    /// Take the parts that there are, as far as they are: fewer trials, and the error of so many
    #[arg(long, conflicts_with = "status")]
    so_far: bool,
    /// Only tell how far the parts are, and which have to be submitted again
    #[arg(long)]
    status: bool,
    /// With --status: as JSON
    #[arg(long, requires = "status")]
    json: bool,
    /// Threads; default: one for each core that this process was given
    #[arg(long, value_name = "T", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// No progress bar and no summary on the terminal
    #[arg(long)]
    quiet: bool,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let lives = PartsOfLives::find(&args.folders).map_err(|error| failure(BatchError::Parts(error)))?;
    if let Some(parts) = lives {
        if args.status || args.so_far {
            return Err(Failure::Usage(
                "parts of `years` are gathered when all are finished: without --status and --so-far"
                    .to_owned(),
            ));
        }
        return gather_lives(args, &parts);
    }
    if args.status {
        return status(args);
    }
    let parts = Parts::find(&args.folders, if args.so_far { Wanted::SoFar } else { Wanted::All })
        .map_err(|error| failure(BatchError::Parts(error)))?;
    let folder = args.designs.as_deref().unwrap_or_else(|| parts.folder());
    if args.designs.is_none() && !folder.is_dir() {
        return Err(Failure::Usage(format!(
            "the folder {}, which the parts were made from, does not exist; give the folder of designs with --designs",
            super::batch::shown(folder)
        )));
    }
    let until = parts.until();
    let trials = match until {
        Until::Trials(n) => Some(n),
        Until::HalfWidth(_) => None,
    };
    let effort = Effort { trials, until: None, seed: parts.seed(), threads: args.threads, quiet: args.quiet };
    let progress = BatchProgress::new(&effort);
    let stop = interrupt()?;
    let tick = |_: stilldays::study::Progress| ();
    let engine = effort.engine(&effort.pool()?, &tick, stop);
    let batch = Batch {
        engine: &engine,
        disk: &Real,
        writer: &ReportFiles(args.show.units),
        on_event: &|event| progress.on_event(&event),
        folder,
        out: &args.out,
        until,
    };
    let ended = batch.gather(&parts);
    progress.finish();
    let ended = ended.map_err(failure)?;
    if !args.quiet {
        let page = args.out.join("index.html");
        print(&format!(
            "{}\n{}Page and numbers: {}\n",
            ending(ended),
            progress.on_invented_weather(),
            page.display()
        ))?;
        args.show.open(&page);
    }
    outcome(ended, engine.stopped())
}

/// Writes what `years` would have written with all lives in one.
fn gather_lives(args: &Args, parts: &PartsOfLives) -> Outcome {
    let what = parts.first();
    let design = match &args.designs {
        Some(folder) => folder.join(what.design.file_name().unwrap_or_default()),
        None => what.design.clone(),
    };
    let plan = Plan::new(UnitsFrom::of_file(what.units_from.clone()).read(&design)?, &Sites::new())?;
    let journal = parts.journal(&plan).map_err(|error| failure(BatchError::Parts(error)))?;
    let folder = Folder::take(&results_folder(&args.out, &design))?;
    let effort = Effort {
        trials: Some(what.lives),
        until: None,
        seed: what.seed,
        threads: args.threads,
        quiet: args.quiet,
    };
    effort.tell_warnings(&plan);
    let (tick, never) = (|_: stilldays::study::Progress| (), AtomicBool::new(false));
    let engine = Engine { journal: Some(&journal), ..effort.engine(&effort.pool()?, &tick, &never) };
    let size = (what.lives, what.years, what.weigh_care);
    let answer = years::lived(&engine, &plan, size, what.command.clone()).ok_or_else(no_trial)?;
    years::write((args.quiet, what.for_client), &args.show, &folder, &answer)
}

/// Tells how far the parts are.
fn status(args: &Args) -> Outcome {
    let status = PartsStatus::look(&args.folders).map_err(|error| failure(BatchError::Parts(error)))?;
    if args.json {
        return print(&String::from_utf8_lossy(&report::json::bytes(&status)));
    }
    let mut text = String::new();
    for part in &status.parts {
        let (done, of) = (number::grouped(part.trials_done), number::grouped(part.trials));
        text += &format!("part {:>5}  {:8}", part.part, part.state.word());
        if part.folder.is_some() {
            text += &format!("  {done} of {of} trials");
        }
        if let (PartState::Running | PartState::Stopped, Some(started)) = (part.state, part.started_s_ago) {
            text += &format!(", started {} ago", span(started));
        }
        if let (PartState::Running | PartState::Stopped, Some(saved)) = (part.state, part.saved_s_ago) {
            text += &format!(", saved {} ago", span(saved));
        }
        text.push('\n');
    }
    let count = |state: PartState| format!("{} {}", status.count(state), state.word());
    let states = [PartState::Done, PartState::Running, PartState::Stopped, PartState::Missing];
    text += &format!("{}\n", states.map(count).join(", "));
    if !status.submit_again.is_empty() {
        text += &format!("Submit again, with --part auto/{}: {}\n", status.parts.len(), status.submit_again);
    }
    print(&text)
}

/// A time in the largest unit of which there are two.
fn span(seconds: u64) -> String {
    match seconds {
        0..120 => format!("{seconds} s"),
        120..7200 => format!("{} min", seconds / 60),
        7200..172_800 => format!("{} h", seconds / 3600),
        _ => format!("{} days", seconds / 86_400),
    }
}
