//! `stilldays remedies DESIGN`

use super::Outcome;
use super::common::{Effort, Show, hand_over, results_folder};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use stilldays::study::default_trials;
use stilldays::study::remedies::{self, By, Remedies};
use stilldays::study::{Plan, Sites};
use stilldays::{design, report};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Most trials; fewer if the first three are settled before. Default {}", default_trials::REMEDIES))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// What counts
    #[arg(long, value_enum, default_value_t = ByArg::StillDays)]
    by: ByArg,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results; the design gets one of its own in it
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    show: Show,
}

#[derive(clap::ValueEnum, Clone, Copy)]
enum ByArg {
    /// Still days avoided
    StillDays,
    /// Minutes of dusk run won
    DuskRun,
    /// Money for each still day avoided
    Money,
}

impl ByArg {
    fn of(self) -> (By, &'static str) {
        match self {
            ByArg::StillDays => (By::StillDays, "still-days"),
            ByArg::DuskRun => (By::DuskRun, "dusk-run"),
            ByArg::Money => (By::Money, "money"),
        }
    }
}

pub fn run(args: &Args) -> Outcome {
    let (effort, budget) = args.effort.budgeted(
        default_trials::REMEDIES,
        "remedies takes no --until: it goes on until the first three are settled, or --trials are done",
    )?;
    let plan = Plan::new(design::read(&args.design)?, &Sites::new())?;
    let (by, name) = args.by.of();
    let command = format!("stilldays remedies {} --by {name} {}", args.design.display(), effort.as_flags());

    let bar = effort.bar(budget, &plan.file.design.title);
    let tick = |p: stilldays::study::Progress| bar.inc(p.trials);
    let stop = AtomicBool::new(false);
    let engine = effort.engine(&effort.pool()?, &tick, &stop);
    let weighed = remedies::weigh(&engine, plan, by, budget, &command);
    bar.finish_and_clear();

    let folder = results_folder(args.out.as_deref(), &args.design);
    hand_over(&effort, &args.show, &folder, &files(&weighed), |style| report::text::remedies(&weighed, style))
}

/// Everything that weighing leaves behind, by name.
pub fn files(weighed: &Remedies) -> Vec<report::write::File<'static>> {
    vec![
        ("remedies.html", report::html::remedies(weighed).into_bytes()),
        ("remedies.json", report::json::bytes(weighed)),
        ("remedies.csv", report::csv::remedies(weighed)),
    ]
}
