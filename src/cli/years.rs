//! `stilldays years DESIGN`

use super::batch::part;
use super::effort::Effort;
use super::failure::{Failure, Outcome, no_trial, print};
use super::output::{Audience, Show, StudyArgs, results_folder, write_results};
use std::path::PathBuf;
use stilldays::disk::Folder;
use stilldays::report;
use stilldays::study::batch::Share;
use stilldays::study::default_trials;
use stilldays::study::years::split::{FILE, LIVES, PartOfLives};
use stilldays::study::years::{self, MOST_YEARS, YearsSummary, plans};
use stilldays::study::{Engine, Plan, Sites};

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
    /// Also write a sheet in plain words for somebody, with what can be promised
    #[arg(long = "for", value_enum, value_name = "WHOM")]
    audience: Option<Audience>,
    /// Run only part K of N, to be combined by `gather`. `auto` and `auto/N`: the part with
    /// the number that a scheduler gave this task
    #[arg(long, value_name = "K/N", value_parser = part)]
    part: Option<Share>,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let (effort, lives) = args.study.effort.budgeted(
        default_trials::YEARS,
        "years does not take --until: say how many lives to simulate with --trials",
    )?;
    let plan = Plan::new(args.study.learned.read(&args.design)?, &Sites::new())?;
    let command = format!(
        "stilldays years {}{} --years {}{} {}",
        args.design.display(),
        args.study.learned.as_flag(),
        args.years,
        if args.weigh_care { " --weigh-care" } else { "" },
        effort.as_flags()
    );
    effort.tell_warnings(&plan);
    if let Some(share) = args.part {
        let part = PartOfLives::new(share, effort.seed, (lives, args.years, args.weigh_care), command)
            .of_design(&args.design, args.study.learned.path())
            .for_client(args.audience.is_some());
        return run_part(args, &effort, &plan, &part);
    }
    let folder = args.study.folder(&args.design)?;
    // Each year of each life is a trial for the bar.
    let bar =
        effort.bar(rounds(&plan, args.weigh_care) * lives * u64::from(args.years), &plan.file.design.title);
    let work = |engine: &Engine<'_>| {
        lived(engine, &plan, (lives, args.years, args.weigh_care), command).ok_or_else(no_trial)
    };
    effort.simulate_on(&folder, &bar, work, |answer| {
        write((effort.quiet, args.audience.is_some()), &args.study.show, &folder, &answer)
    })
}

/// The years, and plans of care if they are weighed.
pub(super) type Answer = (YearsSummary, Option<plans::Plans>);

/// Lives, years, and whether plans of care are weighed; `None` if it was stopped.
pub(super) fn lived(
    engine: &Engine<'_>,
    plan: &Plan,
    (lives, years, weigh_care): (u64, u16, bool),
    command: String,
) -> Option<Answer> {
    if weigh_care {
        let (lived, weighed) = plans::weigh(engine, plan, lives, years, command)?;
        return Some((lived, Some(weighed)));
    }
    Some((years::years(engine, plan, lives, years, command)?, None))
}

/// Writes the files and shows the answer.
pub(super) fn write(
    (quiet, for_client): (bool, bool),
    show: &Show,
    folder: &Folder,
    (lived, weighed): &Answer,
) -> Outcome {
    let mut files = vec![
        ("years.html", report::html::years(lived, weighed.as_ref()).into_bytes()),
        ("years.json", report::json::bytes(lived)),
        ("years.csv", report::csv::years(lived)),
    ];
    if let Some(weighed) = weighed {
        files.push(("care.json", report::json::bytes(weighed)));
        files.push(("care.csv", report::csv::care(weighed, lived)));
    }
    if for_client {
        files.push(("client.html", report::html::client_of_years(lived, show.units.system()).into_bytes()));
    }
    write_results(quiet, show, folder, &files, |style| report::text::years(lived, weighed.as_ref(), style))?;
    if for_client && !quiet {
        print(&format!("For the client: {}\n", folder.path().join("client.html").display()))?;
    }
    Ok(())
}

/// How many plans of care live.
fn rounds(plan: &Plan, weigh_care: bool) -> u64 {
    if weigh_care { plans::count(plan) } else { 1 }
}

/// Simulates one part of the lives, and leaves them in a folder of its own.
fn run_part(args: &Args, effort: &Effort, plan: &Plan, part: &PartOfLives) -> Outcome {
    let path = results_folder(&args.study.out.join(part.share().folder()), &args.design);
    let folder = Folder::take(&path)?;
    let told = |what: &str| {
        if effort.quiet {
            return Ok(());
        }
        print(&format!("part {} {what}: {}\n", part.share(), super::batch::shown(&path)))
    };
    if part.is_finished_in(&path) {
        return told("is finished already");
    }
    let own = rounds(plan, args.weigh_care) * part.own_lives(plan) * u64::from(args.years);
    let bar = effort.bar(own, &plan.file.design.title);
    effort.simulate_into(
        &folder,
        &bar,
        LIVES,
        |engine| part.live(engine, plan).ok_or_else(no_trial),
        || folder.write(&[(FILE, part.to_bytes())]).map(drop).map_err(Failure::from),
    )?;
    told("is finished")
}
