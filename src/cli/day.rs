//! `stilldays day DESIGN`

use super::effort::Effort;
use super::failure::Outcome;
use super::failure::{Failure, print};
use super::output::{Show, results_folder};
use indicatif::ProgressBar;
use std::path::PathBuf;
use stilldays::design;
use stilldays::disk::Folder;
use stilldays::report;
use stilldays::report::html::DayPage;
use stilldays::study::traces::{self, Pick, PickedDay};
use stilldays::study::{Plan, Sites};
use stilldays::units::dates;

#[derive(clap::Args)]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// Trial to take the day from; the first is 0
    #[arg(long, value_name = "N", default_value_t = 0)]
    trial: u64,
    /// The day, as MM-DD
    #[arg(long, value_name = "MM-DD", conflicts_with = "pick", value_parser = month_day)]
    date: Option<u16>,
    /// Choose a day of the trial by its kind
    #[arg(long, value_enum, default_value_t = Kind::Typical)]
    pick: Kind,
    /// Random seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Folder for page and CSV of minutes; the design gets a folder of its own in it
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
    #[command(flatten)]
    show: Show,
}

#[derive(clap::ValueEnum, Clone, Copy)]
enum Kind {
    /// Least sun for its date
    Dull,
    /// Most sun for its date
    Bright,
    /// The median day by jet
    Typical,
    /// Fewest jet minutes
    Still,
}

pub fn run(args: &Args) -> Outcome {
    let plan = Plan::new(design::read(&args.design)?, &Sites::new())?;
    let pick = match (args.date, args.pick) {
        (Some(day), _) => Pick::Date(day),
        (None, Kind::Dull) => Pick::Dull,
        (None, Kind::Bright) => Pick::Bright,
        (None, Kind::Typical) => Pick::Typical,
        (None, Kind::Still) => Pick::Still,
    };
    let effort = Effort { trials: None, until: None, seed: args.seed, threads: Some(1), quiet: true };
    let days = effort
        .simulate(&ProgressBar::hidden(), |engine| traces::album(engine, &plan, (args.trial, Some(pick))))?;
    // The day that was asked for comes first.
    let Some(PickedDay { trace, .. }) = days.first().filter(|d| d.picks[0] == pick) else {
        return Err(Failure::Message(format!(
            "that day is not in the season of {}; choose a --date within the season",
            args.design.display()
        )));
    };
    let folder = results_folder(&args.out, &args.design);
    let name = format!("day-{}-trial-{}", dates::month_day(trace.day_of_year), trace.trial);
    let (csv, html) = (format!("{name}.csv"), format!("{name}.html"));
    let invented = plan.site.years.iter().any(|y| y.invented);
    let origin = report::csv::Origin {
        version: stilldays::VERSION,
        seed: args.seed,
        trials: &format!("trial {}", trace.trial),
        design_sha256: &plan.file.sha256,
        weather_sha256: &plan.site.sha256,
        invented,
    };
    let cautions = design::cautions(&plan.file.design);
    let page = DayPage::of(&plan, args.seed, &cautions, args.show.units.system());
    let files = [
        (html.as_str(), report::html::day(&page, &days).into_bytes()),
        (csv.as_str(), report::csv::day(trace, &origin)),
    ];
    Folder::take(&folder)?.write(&files)?;
    if invented {
        print("The weather is invented: the figures describe no real place.\n")?;
    }
    print(&report::text::day(trace, &cautions, args.show.style()))?;
    let page = folder.join(html);
    print(&format!("\nTo watch: {}\nEvery minute: {}\n", page.display(), folder.join(csv).display()))?;
    args.show.open(&page);
    Ok(())
}

fn month_day(text: &str) -> Result<u16, String> {
    dates::day_of_year(text)
        .ok_or_else(|| format!("`{text}` is not a day of a 365-day year; write it as month-day, like 06-21"))
}
