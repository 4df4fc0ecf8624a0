//! `stilldays choose DESIGN`

use super::effort::Effort;
use super::failure::{Failure, Outcome};
use super::output::{StudyArgs, write_results};
use std::path::{Path, PathBuf};
use stilldays::design::shelf::{self, Shelf};
use stilldays::design::{self, Change, DesignFile};
use stilldays::report;
use stilldays::source::Problems;
use stilldays::study::choose;
use stilldays::study::default_trials::CHOOSE_BUILD;
use stilldays::study::years::MOST_YEARS;
use stilldays::study::{Engine, Plan, Sites};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Maximum trials of one build; clear cases stop sooner. Default {CHOOSE_BUILD}"))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file; kinds of parts that are not on the shelf stay as they are in it
    design: PathBuf,
    /// Shelf of parts to choose from; default: shelf.toml beside the design, or else the
    /// bundled shelf (invented parts and prices)
    #[arg(long, value_name = "FILE")]
    shelf: Option<PathBuf>,
    /// Acceptable still days a month; default: wish.still_days of the design
    #[arg(long, value_name = "DAYS", value_parser = days)]
    bearable: Option<f64>,
    /// Share of years in which this must hold, such as 90%; default: wish.confidence of the design
    #[arg(long, value_name = "SHARE", value_parser = share)]
    years: Option<f64>,
    /// Also keep the build named and those beside it over so many years, with the plan of care of the design: what they cost in
    /// all
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_YEARS)))]
    cost_over: Option<u16>,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let (effort, budget) = args.study.effort.budgeted(
        CHOOSE_BUILD,
        "choose does not take --until: it stops by itself when the choice is clear or --trials is reached",
    )?;
    let file = args.study.learned.given_to(wished(args, design::read_open(&args.design)?)?)?;
    let shelf = the_shelf(args)?;
    let plan = Plan::new(file, &Sites::new())?;
    let command = command(args, &effort);

    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.spinner("{human_pos} trials of all builds", "builds of the shelf");
    let work = |engine: &Engine<'_>| -> Result<_, Failure> {
        Ok(choose::choose(engine, &plan, &shelf, budget, args.cost_over, &command)?)
    };
    effort.simulate_on(&folder, &bar, work, |(choice, build)| {
        let mut files = vec![
            ("choose.html", report::html::choose(&choice).into_bytes()),
            ("choose.json", report::json::bytes(&choice)),
            ("choose.csv", report::csv::choose(&choice)),
        ];
        if let Some(kept) = &choice.over_years {
            files.push(("choose-years.csv", report::csv::over_years(&choice, kept)));
        }
        if let Some(text) = build.and_then(|b| b.standalone()) {
            files.push(("build.toml", text.into_bytes()));
        }
        write_results(effort.quiet, &args.study.show, &folder, &files, |style| {
            report::text::choose(&choice, style)
        })
    })
}

/// The design with the wish of the command line.
fn wished(args: &Args, file: DesignFile) -> Result<DesignFile, Problems> {
    let mut changes = Vec::new();
    let mut set = |key: &str, value: toml::Value| changes.push((key.to_owned(), Change::Set(value)));
    if let Some(days) = args.bearable {
        set("wish.still_days", toml::Value::Float(days));
    }
    if let Some(share) = args.years {
        set("wish.confidence", toml::Value::String(format!("{} %", share * 100.0)));
    }
    if changes.is_empty() { Ok(file) } else { file.patched("with the wish of the command", &changes) }
}

fn the_shelf(args: &Args) -> Result<Shelf, Problems> {
    let beside = args.design.parent().unwrap_or(Path::new("")).join("shelf.toml");
    match &args.shelf {
        Some(path) => shelf::read_shelf(path),
        None if beside.is_file() => shelf::read_shelf(&beside),
        None => shelf::parse_shelf(Path::new(shelf::SAMPLE_NAME), shelf::SAMPLE),
    }
}

fn command(args: &Args, effort: &Effort) -> String {
    let mut text = format!("stilldays choose {}{}", args.design.display(), args.study.learned.as_flag());
    if let Some(path) = &args.shelf {
        text += &format!(" --shelf {}", path.display());
    }
    if let Some(days) = args.bearable {
        text += &format!(" --bearable {days}");
    }
    if let Some(share) = args.years {
        text += &format!(" --years {share}");
    }
    if let Some(years) = args.cost_over {
        text += &format!(" --cost-over {years}");
    }
    format!("{text} {}", effort.as_flags())
}

fn days(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(x) if (0.0..=31.0).contains(&x) => Ok(x),
        _ => Err(format!("`{text}` is not a number of days from 0 to 31, such as 2")),
    }
}

fn share(text: &str) -> Result<f64, String> {
    let number = |t: &str| t.trim().parse::<f64>().ok();
    let share = match (text.strip_suffix('%'), text.split_once('/')) {
        (Some(per_cent), _) => number(per_cent).map(|x| x / 100.0),
        (None, Some((years, of))) => number(years).zip(number(of)).map(|(a, b)| a / b),
        (None, None) => number(text),
    };
    share
        .filter(|s| (0.01..=0.999).contains(s))
        .ok_or_else(|| format!("`{text}` is not a share of years from 1% to 99.9%, such as 90%, 0.9 or 9/10"))
}
