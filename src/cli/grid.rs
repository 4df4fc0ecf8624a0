//! `stilldays grid DESIGN --x KEY=RANGE --y KEY=RANGE`

use super::Outcome;
use super::common::{Effort, Failure, Show, hand_over, results_folder};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use stilldays::study::default_trials::GRID_CELL;
use stilldays::study::grid::{self, Axis};
use stilldays::study::{Plan, Sites};
use stilldays::{design, report};

#[derive(clap::Args)]
#[command(mut_arg("trials", |a| a.help(format!("Trials in every cell. Default: as many as the map needs, at most {GRID_CELL}"))))]
#[command(after_help = "\
A RANGE is FROM..TOxN, N values at equal steps, or a list. Bare numbers are
multiples of what the design has; with a unit they are amounts:
  battery.capacity=1..6x5   battery.capacity=\"1.5..9 Ah x6\"   panel.rated_power=5,10,20W
Any two keys that hold a quantity will do. Panel and battery take what belongs
to them along (short-circuit current, resistance, price).")]
pub struct Args {
    /// Design file
    design: PathBuf,
    /// What varies from left to right
    #[arg(long, value_name = "KEY=RANGE", default_value = "battery.capacity=0.5..3x6")]
    x: String,
    /// What varies from below upward
    #[arg(long, value_name = "KEY=RANGE", default_value = "panel.rated_power=0.5..3x6")]
    y: String,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results; the design gets one of its own in it
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let file = design::read(&args.design)?;
    let (x, y) = Axis::pair(&args.x, &args.y, &file).map_err(Failure::Flag)?;
    let plan = Plan::new(file, &Sites::new())?;
    let (how_long, most) = match (args.effort.until, args.effort.trials) {
        (Some(days), _) => (grid::CellEffort::HalfWidth(days), GRID_CELL),
        (None, Some(n)) => (grid::CellEffort::Trials(n), n),
        (None, None) => (grid::CellEffort::Clear, GRID_CELL),
    };
    let flags = match how_long {
        grid::CellEffort::Clear => format!("--seed {}", args.effort.seed),
        _ => args.effort.as_flags(),
    };
    let command =
        format!("stilldays grid {} --x \"{}\" --y \"{}\" {flags}", args.design.display(), args.x, args.y);

    let bar = args.effort.bar(most, &plan.file.design.title);
    let tick = |p: stilldays::study::Progress| bar.inc(p.trials);
    let stop = AtomicBool::new(false);
    let engine = args.effort.engine(&args.effort.pool()?, &tick, &stop);
    let map = grid::map(&engine, plan, x, y, how_long, &command)?;
    bar.finish_and_clear();

    let folder = results_folder(args.out.as_deref(), &args.design);
    let files = [
        ("grid.html", report::html::grid(&map, args.show.units.system()).into_bytes()),
        ("grid.json", report::json::bytes(&map)),
        ("grid.csv", report::csv::grid(&map)),
    ];
    hand_over(&args.effort, &args.show, &folder, &files, |style| report::text::grid(&map, style))
}
