//! `stilldays choose DESIGN`

use super::Outcome;
use super::common::{Effort, Show, bar_style, hand_over, results_folder};
use indicatif::ProgressBar;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use stilldays::design::shelf::{self, Shelf};
use stilldays::design::{self, Change, DesignFile};
use stilldays::report;
use stilldays::source::Problems;
use stilldays::study::choose;
use stilldays::study::default_trials::CHOOSE_BUILD;
use stilldays::study::{Plan, Sites};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Most trials of one build; clear cases end sooner. Default {CHOOSE_BUILD}"))))]
#[command(mut_arg("until", |a| a.hide(true)))]
pub struct Args {
    /// Design file; parts that the shelf does not hold stay as they are in it
    design: PathBuf,
    /// Parts that can be had; default: shelf.toml beside the design, else the bundled one (invented)
    #[arg(long, value_name = "FILE")]
    shelf: Option<PathBuf>,
    /// Still days a month that are bearable; default: the design's wish.still_days
    #[arg(long, value_name = "DAYS", value_parser = days)]
    bearable: Option<f64>,
    /// Share of years that must bear it out, like 90%; default: the design's wish.confidence
    #[arg(long, value_name = "SHARE", value_parser = share)]
    years: Option<f64>,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results; the design gets one of its own in it
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let (effort, budget) = args.effort.budgeted(
        CHOOSE_BUILD,
        "choose takes no --until: each build goes on until it is settled, or --trials are done",
    )?;
    let file = wished(args, design::read(&args.design)?)?;
    let shelf = the_shelf(args)?;
    let plan = Plan::new(file, &Sites::new())?;
    let command = command(args, &effort);

    let bar = bar(&effort);
    let tick = |p: stilldays::study::Progress| bar.inc(p.trials);
    let stop = AtomicBool::new(false);
    let engine = effort.engine(&effort.pool()?, &tick, &stop);
    let (choice, build) = choose::choose(&engine, &plan, &shelf, budget, &command)?;
    bar.finish_and_clear();

    let folder = results_folder(args.out.as_deref(), &args.design);
    let mut files = vec![
        ("choose.html", report::html::choose(&choice).into_bytes()),
        ("choose.json", report::json::bytes(&choice)),
        ("choose.csv", report::csv::choose(&choice)),
    ];
    if let Some(text) = build.and_then(|b| b.standalone()) {
        files.push(("build.toml", text.into_bytes()));
    }
    hand_over(&effort, &args.show, &folder, &files, |style| report::text::choose(&choice, style))
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
    let mut text = format!("stilldays choose {}", args.design.display());
    if let Some(path) = &args.shelf {
        text += &format!(" --shelf {}", path.display());
    }
    if let Some(days) = args.bearable {
        text += &format!(" --bearable {days}");
    }
    if let Some(share) = args.years {
        text += &format!(" --years {share}");
    }
    format!("{text} {}", effort.as_flags())
}

/// How many trials there will be is not known before.
fn bar(effort: &Effort) -> ProgressBar {
    if effort.quiet || !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner()
        .with_style(bar_style("{msg:24!} {spinner} {human_pos} trials of all builds, {elapsed}"));
    bar.set_message("builds of the shelf");
    bar
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
