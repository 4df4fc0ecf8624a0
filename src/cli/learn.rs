//! `stilldays learn DESIGN LOGBOOK`

use super::failure::{Failure, Outcome, no_trial};
use super::output::{StudyArgs, write_results};
use indicatif::ProgressBar;
use std::path::PathBuf;
use std::sync::Arc;
use stilldays::learn::{Findings, LearnEffort, Request, findings};
use stilldays::study::{Engine, Plan, SiteModel, Sites};
use stilldays::{design, logbook, report};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.hide(true)), mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// Logbook: what was seen and measured (`stilldays new --logbook` writes an example)
    logbook: PathBuf,
    /// Hourly weather of the actual days, from a station nearby; part of a year is enough
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    /// Weigh faults against a sound fountain even if no entry is odd
    #[arg(long)]
    explain: bool,
    /// Units of each of the two runs; default: 256, fewer for a long logbook
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(16..=4096))]
    rows: Option<u16>,
    /// Paths of weather for each unit; default: 32 to 128, by the number of entries
    #[arg(long, value_name = "K", value_parser = ["16", "32", "64", "128", "256"])]
    paths: Option<String>,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let StudyArgs { effort, show, .. } = &args.study;
    if effort.trials.is_some() || effort.until.is_some() {
        let why = "learn takes neither --trials nor --until: --rows and --paths say how hard it tries";
        return Err(Failure::Usage(why.to_owned()));
    }
    let logbook = logbook::read(&args.logbook)?;
    let mut file = design::read(&args.design)?;
    // A logbook is learned from what the design says; units learned before came from earlier entries, which it still holds.
    file.learned = None;
    logbook::fits(&logbook, &file.design)?;
    let plan = Plan::new(file, &Sites::new())?;
    let actual = args.weather.as_deref().map(|path| SiteModel::of_days(path, &plan.site)).transpose()?;
    let command = command(args);
    let request = Request {
        logbook: &logbook,
        actual: actual.as_ref(),
        effort: LearnEffort {
            rows: args.rows.map(usize::from),
            draws: args.paths.as_ref().and_then(|p| p.parse().ok()),
        },
        explain: args.explain,
        command: &command,
    };
    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.bar(0, &plan.file.design.title);
    let mut refusals = Vec::new();
    effort.simulate_on(
        &folder,
        &bar,
        |engine| learn(engine, &plan, &request, &bar),
        |found| {
            let files = report::files_of_learning(&found, show.units.system());
            refusals.clone_from(&found.refusals);
            write_results(effort.quiet, show, &folder, &files, |style| report::text::learned(&found, style))
        },
    )?;
    match refusals.is_empty() {
        true => Ok(()),
        false => Err(Failure::Message(format!(
            "no units were written: {}. Leave out entries that are doubtful or many alike, add one that measures a part, or try harder with --rows 512",
            refusals.join("; ")
        ))),
    }
}

fn learn(
    engine: &Engine<'_>,
    plan: &Plan,
    request: &Request<'_>,
    bar: &ProgressBar,
) -> Result<Findings, Failure> {
    // The bar counts likelihoods alone.
    let quiet = |_| ();
    let engine = Engine { progress: &quiet, pool: Arc::clone(&engine.pool), ..*engine };
    let expect = |more: u64| bar.inc_length(more);
    let tick = || bar.inc(1);
    findings(&engine, plan, request, (&expect, &tick)).map_err(Failure::Message)?.ok_or_else(no_trial)
}

/// The command that makes the result again.
fn command(args: &Args) -> String {
    let mut text = format!("stilldays learn {} {}", args.design.display(), args.logbook.display());
    if let Some(weather) = &args.weather {
        text += &format!(" --weather {}", weather.display());
    }
    if args.explain {
        text += " --explain";
    }
    if let Some(rows) = args.rows {
        text += &format!(" --rows {rows}");
    }
    if let Some(paths) = &args.paths {
        text += &format!(" --paths {paths}");
    }
    text + &format!(" --seed {}", args.study.effort.seed)
}
