//! `stilldays batch FOLDER`

use super::batch_progress::BatchProgress;
use super::effort::Effort;
use super::failure::{Failure, Outcome, deaf_to_ctrl_c, print, report_failure};
use super::output::{Show, UnitsArg};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use stilldays::disk::{Real, write::File};
use stilldays::plant::DayTrace;
use stilldays::report;
use stilldays::report::html::RunExtras;
use stilldays::study::batch::{Batch, BatchError, BatchSummary, Ended, ResultWriter, Share, scheduler};
use stilldays::tally::{Summary, Tally};

#[derive(clap::Args)]
pub struct Args {
    /// Folder of designs; folders in it are searched, too
    folder: PathBuf,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
    /// Run only part K of N, to be combined by `gather`. `auto` and `auto/N`: the part with
    /// the number of this task in a scheduler's array
    #[arg(long, value_name = "K/N", value_parser = part)]
    part: Option<Share>,
    #[command(flatten)]
    show: Show,
}

pub fn part(text: &str) -> Result<Share, String> {
    scheduler::part(text, &|name| std::env::var(name).ok())
}

pub fn run(args: &Args) -> Outcome {
    if args.part.is_some() && args.effort.until.is_some() {
        return Err(Failure::Usage(
            "--part cannot be used with --until, which needs all trials to decide when to stop; use --trials"
                .to_owned(),
        ));
    }
    let progress = BatchProgress::new(&args.effort);
    let stop = interrupt()?;
    let tick = |p: stilldays::study::Progress| progress.trials(p.trials);
    let engine = args.effort.engine(&args.effort.pool()?, &tick, stop);
    let batch = Batch {
        engine: &engine,
        disk: &Real,
        writer: &ReportFiles(args.show.units),
        on_event: &|event| progress.on_event(&event),
        folder: &args.folder,
        out: &args.out,
        until: args.effort.until(),
    };
    let ended = batch.run(args.part);
    progress.finish();
    let ended = ended.map_err(failure)?;
    if !args.effort.quiet {
        let place = match args.part {
            Some(share) => format!("Part: {}\n", args.out.join(share.folder()).display()),
            None => format!("Page and numbers: {}\n", args.out.join("index.html").display()),
        };
        print(&format!("{}\n{}{place}", ending(ended), progress.on_invented_weather()))?;
        if args.part.is_none() {
            args.show.open(&args.out.join("index.html"));
        }
    }
    outcome(ended, engine.stopped())
}

/// Results as those of `run`, but without the time it took, so that bytes are equal.
pub struct ReportFiles(pub UnitsArg);

impl ResultWriter for ReportFiles {
    fn design_files(&self, summary: &Summary, tally: &Tally, days: &[DayTrace]) -> Vec<File<'static>> {
        let extras = RunExtras { traces: days, units: self.0.system(), ..RunExtras::default() };
        report::files_of_run(summary, tally, extras)
    }
    fn batch_files(&self, summary: &BatchSummary) -> Vec<File<'static>> {
        vec![
            ("ranking.csv", report::csv::ranking(summary)),
            ("summary.json", report::json::bytes(summary)),
            ("index.html", report::html::batch(summary).into_bytes()),
        ]
    }
    fn shown(&self) -> String {
        match self.0 {
            UnitsArg::Si => "si".to_owned(),
            UnitsArg::Us => "us".to_owned(),
        }
    }
}

/// How long the trials in progress are waited for.
const PATIENCE: Duration = Duration::from_millis(800);

/// A flag that the first Ctrl-C (or a request to end) raises. The second ends the program at once, and so does [`PATIENCE`].
pub fn interrupt() -> Result<&'static AtomicBool, Failure> {
    static STOP: AtomicBool = AtomicBool::new(false);
    ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
        anstream::eprintln!("stopping after the trials in progress; press Ctrl-C again to stop at once");
        // Whatever takes longer (a slow disk, very long seasons) is not waited for: files change as a whole or not at all.
        let end = || {
            std::thread::sleep(PATIENCE);
            anstream::eprintln!("error: stopped; run the same command again to continue");
            std::process::exit(130);
        };
        // Where the system forbids another thread, a second Ctrl-C has to wait as well.
        if std::thread::Builder::new().spawn(end).is_err() {
            end();
        }
    })
    .map_err(deaf_to_ctrl_c)?;
    Ok(&STOP)
}

/// Why a batch could not go on.
pub fn failure(stop: BatchError) -> Failure {
    match stop {
        BatchError::Folder { .. } => Failure::Usage(stop.to_string()),
        other => Failure::Message(other.to_string()),
    }
}

/// How many designs were finished, failed, or are left, in one line.
pub fn ending(ended: Ended) -> String {
    let mut parts = vec![format!("{} finished", ended.finished)];
    if ended.failed > 0 {
        parts.push(format!("{} failed", ended.failed));
    }
    if ended.unfinished > 0 {
        parts.push(format!("{} left to do", ended.unfinished));
    }
    parts.join(", ")
}

/// Success only if every design was finished.
pub fn outcome(ended: Ended, stopped: bool) -> Outcome {
    if stopped && ended.unfinished > 0 {
        report_failure(Failure::Message("stopped; run the same command again to continue".to_owned()));
    }
    if ended.failed + ended.unfinished > 0 { Err(Failure::Reported) } else { Ok(()) }
}

/// A path for a message.
pub fn shown(path: &Path) -> String {
    report::words::escaped(&path.display().to_string()).into_owned()
}
