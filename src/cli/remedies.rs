//! `stilldays remedies DESIGN`

use super::failure::Outcome;
use super::failure::no_trial;
use super::output::{StudyArgs, write_results};
use std::path::PathBuf;
use stilldays::report;
use stilldays::study::default_trials;
use stilldays::study::remedies::{self, By, Remedies};
use stilldays::study::{Engine, Plan, Sites};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Maximum trials; stops sooner if the order of the first three is clear. Default {}", default_trials::REMEDIES))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// What to rank by; default: what the wish lacks most, still days, dusk run or water
    #[arg(long, value_enum)]
    by: Option<ByArg>,
    #[command(flatten)]
    study: StudyArgs,
}

#[derive(clap::ValueEnum, Clone, Copy)]
enum ByArg {
    /// Still days avoided
    StillDays,
    /// Minutes of dusk run gained
    DuskRun,
    /// Minutes no longer lost to low water
    LowWater,
    /// Cost of each still day avoided
    Money,
}

impl ByArg {
    fn of(self) -> (By, &'static str) {
        match self {
            ByArg::StillDays => (By::StillDays, "still-days"),
            ByArg::DuskRun => (By::DuskRun, "dusk-run"),
            ByArg::LowWater => (By::LowWater, "low-water"),
            ByArg::Money => (By::Money, "money"),
        }
    }
}

pub fn run(args: &Args) -> Outcome {
    let (effort, budget) = args.study.effort.budgeted(
        default_trials::REMEDIES,
        "remedies does not take --until: it stops by itself when the order of the first three is clear or --trials is reached",
    )?;
    let plan = Plan::new(args.study.learned.read(&args.design)?, &Sites::new())?;
    let (by, name) = args.by.map(ByArg::of).unzip();
    let by_flag = name.map_or(String::new(), |name| format!(" --by {name}")) + &args.study.learned.as_flag();
    let command = format!("stilldays remedies {}{by_flag} {}", args.design.display(), effort.as_flags());

    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.bar(budget + remedies::LACKING_TRIALS, &plan.file.design.title);
    let work = |engine: &Engine<'_>| remedies::weigh(engine, plan, by, budget, &command).ok_or_else(no_trial);
    effort.simulate_on(&folder, &bar, work, |weighed| {
        write_results(effort.quiet, &args.study.show, &folder, &files(&weighed), |style| {
            report::text::remedies(&weighed, style)
        })
    })
}

/// The files of a ranking, by name.
pub fn files(weighed: &Remedies) -> Vec<report::write::File<'static>> {
    vec![
        ("remedies.html", report::html::remedies(weighed).into_bytes()),
        ("remedies.json", report::json::bytes(weighed)),
        ("remedies.csv", report::csv::remedies(weighed)),
    ]
}
