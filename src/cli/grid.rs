//! `stilldays grid DESIGN --x KEY=RANGE --y KEY=RANGE`

use super::failure::Failure;
use super::failure::Outcome;
use super::output::{StudyArgs, write_results};
use std::path::PathBuf;
use stilldays::report;
use stilldays::study::default_trials::GRID_CELL;
use stilldays::study::grid::{self, Axis};
use stilldays::study::years::MOST_YEARS;
use stilldays::study::{Engine, Plan, Sites};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Trials of each cell; default: as many as the map needs, at most {GRID_CELL}"))))]
#[command(after_help = "\
A RANGE is FROM..TOxN (N values in equal steps) or a list of values. Numbers
without a unit multiply the value in the design; numbers with a unit replace it:
  battery.capacity=1..6x5   battery.capacity=\"1.5..9 Ah x6\"   panel.rated_power=5,10,20W
Any key that holds a quantity can be used. Where the size of a panel or battery
varies, short-circuit current, resistance and price vary with it.")]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// Quantity that varies from left to right
    #[arg(long, value_name = "KEY=RANGE", default_value = "battery.capacity=0.5..3x6")]
    x: String,
    /// Quantity that varies from bottom to top
    #[arg(long, value_name = "KEY=RANGE", default_value = "panel.rated_power=0.5..3x6")]
    y: String,
    /// Also keep the cells that seem to meet the wish over so many years, with the plan of care of the design: what they cost in
    /// all
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_YEARS)))]
    cost_over: Option<u16>,
    #[command(flatten)]
    study: StudyArgs,
}

pub fn run(args: &Args) -> Outcome {
    let StudyArgs { effort, show, .. } = &args.study;
    let file = args.study.learned.read(&args.design)?;
    let axes = Axis::pair(&args.x, &args.y, &file).map_err(Failure::Flag)?;
    let plan = Plan::new(file, &Sites::new())?;
    let (how_long, most) = match (effort.until, effort.trials) {
        (Some(days), _) => (grid::CellEffort::HalfWidth(days), GRID_CELL),
        (None, Some(n)) => (grid::CellEffort::Trials(n), n),
        (None, None) => (grid::CellEffort::Clear, GRID_CELL),
    };
    let flags = match how_long {
        grid::CellEffort::Clear => format!("--seed {}", effort.seed),
        _ => effort.as_flags(),
    };
    let command = format!(
        "stilldays grid {}{} --x \"{}\" --y \"{}\"{} {flags}",
        args.design.display(),
        args.study.learned.as_flag(),
        args.x,
        args.y,
        args.cost_over.map_or(String::new(), |years| format!(" --cost-over {years}"))
    );

    effort.tell_warnings(&plan);
    let folder = args.study.folder(&args.design)?;
    let bar = effort.bar(most, &plan.file.design.title);
    let work = |engine: &Engine<'_>| -> Result<_, Failure> {
        Ok(grid::map(engine, plan, axes, (how_long, args.cost_over), &command)?)
    };
    effort.simulate_on(&folder, &bar, work, |map| {
        let mut files = vec![
            ("grid.html", report::html::grid(&map, show.units.system()).into_bytes()),
            ("grid.json", report::json::bytes(&map)),
            ("grid.csv", report::csv::grid(&map)),
        ];
        if let Some(kept) = &map.over_years {
            files.push(("grid-years.csv", report::csv::cells_over_years(&map, kept)));
        }
        write_results(effort.quiet, show, &folder, &files, |style| report::text::grid(&map, style))
    })
}
