//! `stilldays compare A B …`

use super::effort::Effort;
use super::failure::Outcome;
use super::failure::no_trial;
use super::output::{Show, UnitsFrom, write_results};
use std::path::PathBuf;
use stilldays::disk::Folder;
use stilldays::report;
use stilldays::source::Problems;
use stilldays::study::{Engine, Plan, Sites, compare};

#[derive(clap::Args)]
pub struct Args {
    /// Design files; the others are compared with the first
    #[arg(required = true, num_args = 2.., value_name = "DESIGN")]
    designs: Vec<PathBuf>,
    /// Hold all designs to the wish of the first
    #[arg(long)]
    same_wish: bool,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results
    #[arg(long, value_name = "DIR", default_value = "results/compare")]
    out: PathBuf,
    #[command(flatten)]
    show: Show,
    #[command(flatten)]
    learned: UnitsFrom,
}

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let mut designs =
        args.designs.iter().map(|path| args.learned.read(path)).collect::<Result<Vec<_>, Problems>>()?;
    if args.same_wish
        && let Some((first, others)) = designs.split_first_mut()
    {
        for other in others {
            *other = other.with_wish_of(first)?;
        }
    }
    let plans =
        designs.into_iter().map(|file| Plan::new(file, &sites)).collect::<Result<Vec<_>, Problems>>()?;
    let names: Vec<String> = args.designs.iter().map(|p| p.display().to_string()).collect();
    let same_wish = if args.same_wish { " --same-wish" } else { "" }.to_owned() + &args.learned.as_flag();
    let command = format!("stilldays compare {}{same_wish} {}", names.join(" "), args.effort.as_flags());

    plans.iter().for_each(|plan| args.effort.tell_warnings(plan));
    let folder = Folder::take(&args.out)?;
    let bar = args.effort.bar(args.effort.until().most(), "designs side by side");
    let until = args.effort.until();
    let work = |engine: &Engine<'_>| compare::compare(engine, plans, until, &command).ok_or_else(no_trial);
    args.effort.simulate_on(&folder, &bar, work, |comparison| {
        let files = [
            ("compare.html", report::html::compare(&comparison).into_bytes()),
            ("compare.json", report::json::bytes(&comparison)),
            ("compare.csv", report::csv::compare(&comparison)),
        ];
        write_results(args.effort.quiet, &args.show, &folder, &files, |style| {
            report::text::compare(&comparison, style)
        })
    })
}
