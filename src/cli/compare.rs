//! `stilldays compare A B …`

use super::effort::Effort;
use super::failure::Outcome;
use super::failure::no_trial;
use super::output::{Show, write_results};
use std::path::PathBuf;
use stilldays::report;
use stilldays::study::{Plan, Sites, compare};
use stilldays::{design, source::Problems};

#[derive(clap::Args)]
pub struct Args {
    /// Design files; the others are compared with the first
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
    let until = args.effort.until();
    let comparison = args.effort.simulate(&bar, |engine| compare::compare(engine, plans, until, &command))?;
    let comparison = comparison.ok_or_else(no_trial)?;

    let files = [
        ("compare.html", report::html::compare(&comparison).into_bytes()),
        ("compare.json", report::json::bytes(&comparison)),
        ("compare.csv", report::csv::compare(&comparison)),
    ];
    write_results(args.effort.quiet, &args.show, &args.out, &files, |style| {
        report::text::compare(&comparison, style)
    })
}
