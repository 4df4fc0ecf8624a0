//! `stilldays years DESIGN`

use super::failure::Outcome;
use super::failure::no_trial;
use super::output::{StudyArgs, write_results};
use std::path::PathBuf;
use stilldays::study::default_trials;
use stilldays::study::years::{self, MOST_YEARS, plans};
use stilldays::study::{Plan, Sites};
use stilldays::{design, report};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Lives to simulate. Default {}", default_trials::YEARS))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file; its table [care] says who replaces what
    design: PathBuf,
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_YEARS)), help = format!("Years of each life, 1 to {MOST_YEARS}"))]
    years: u16,
    /// Also weigh plans of care against each other: still days against money
    #[arg(long)]
    weigh_care: bool,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let (effort, lives) = args.study.effort.budgeted(
        default_trials::YEARS,
        "years does not take --until: say how many lives to simulate with --trials",
    )?;
    let plan = Plan::new(design::read(&args.design)?, &Sites::new())?;
    let command = format!(
        "stilldays years {} --years {}{} {}",
        args.design.display(),
        args.years,
        if args.weigh_care { " --weigh-care" } else { "" },
        effort.as_flags()
    );
    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    // Each year of each life is a trial for the bar.
    let rounds = if args.weigh_care { plans::count(&plan) } else { 1 };
    let bar = effort.bar(rounds * lives * u64::from(args.years), &plan.file.design.title);
    let both = effort.simulate(&bar, |engine| {
        if args.weigh_care {
            let (lived, weighed) = plans::weigh(engine, &plan, lives, args.years, command)?;
            return Some((lived, Some(weighed)));
        }
        Some((years::years(engine, &plan, lives, args.years, command)?, None))
    })?;
    let (lived, weighed) = both.ok_or_else(no_trial)?;
    let mut files = vec![
        ("years.html", report::html::years(&lived, weighed.as_ref()).into_bytes()),
        ("years.json", report::json::bytes(&lived)),
        ("years.csv", report::csv::years(&lived)),
    ];
    if let Some(weighed) = &weighed {
        files.push(("care.json", report::json::bytes(weighed)));
        files.push(("care.csv", report::csv::care(weighed, &lived)));
    }
    write_results(effort.quiet, &args.study.show, &folder, &files, |style| {
        report::text::years(&lived, weighed.as_ref(), style)
    })
}
