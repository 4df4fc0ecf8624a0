//! `stilldays compare A B …`

use super::Outcome;
use super::common::{Effort, Show, hand_over};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use stilldays::report;
use stilldays::study::{Plan, Sites, compare};
use stilldays::{design, source::Problems};

#[derive(clap::Args)]
pub struct Args {
    /// Design files; the others are held against the first
    #[arg(required = true, num_args = 2.., value_name = "DESIGN")]
    designs: Vec<PathBuf>,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results
    #[arg(long, value_name = "DIR", default_value = "results/compare")]
    out: PathBuf,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let plans = args
        .designs
        .iter()
        .map(|path| Plan::new(design::read(path)?, &sites))
        .collect::<Result<Vec<_>, Problems>>()?;
    let names: Vec<String> = args.designs.iter().map(|p| p.display().to_string()).collect();
    let command = format!("stilldays compare {} {}", names.join(" "), args.effort.as_flags());

    let bar = args.effort.bar(args.effort.until().most(), "designs side by side");
    let tick = |p: stilldays::study::Progress| bar.inc(p.trials);
    let stop = AtomicBool::new(false);
    let engine = args.effort.engine(&args.effort.pool()?, &tick, &stop);
    let comparison = compare::compare(&engine, plans, args.effort.until(), &command);
    bar.finish_and_clear();

    let files = [
        ("compare.html", report::html::compare(&comparison).into_bytes()),
        ("compare.json", report::json::bytes(&comparison)),
        ("compare.csv", report::csv::compare(&comparison)),
    ];
    hand_over(&args.effort, &args.show, &args.out, &files, |style| report::text::compare(&comparison, style))
}
