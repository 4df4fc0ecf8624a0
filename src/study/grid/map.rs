//! The map of a grid: its cells, its lines of equal still days, and the cheapest cell that meets the wish.

use super::axis::Axis;
use super::cell_runs::{CellEffort, CellRuns};
use super::lines::lines;
use super::over_years::{CellBuild, Member, OverYears, over_years};
use super::price;
use crate::design::{Change, DesignFile};
use crate::source::{Problem, Problems};
use crate::study::compare::CONFIDENCE;
use crate::study::engine::Engine;
use crate::study::paired::Difference;
use crate::study::plan::Plan;
use crate::study::reconnect_note::WAITS;
use crate::study::summary;
use crate::tally::summary::Estimate;
use crate::tally::{Meets, Summary, input_range, intervals, worksheet};
use crate::units::System;
use serde::Serialize;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Schema name of `grid.json`.
pub const SCHEMA: &str = "stilldays.grid/1";

/// Still days a month along which lines are drawn.
pub const LEVELS: [f64; 4] = [0.5, 1.0, 2.0, 5.0];

/// The map.
#[derive(Debug, Serialize)]
pub struct Grid {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// The unchanged design.
    pub design: Summary,
    /// What varies from left to right.
    pub x: Axis,
    /// What varies from bottom to top.
    pub y: Axis,
    /// Row by row from the bottom, each from left to right.
    pub cells: Vec<Cell>,
    /// Share of years in which a cell must meet the wish.
    pub wish_confidence: f64,
    /// Lines of equal still days a month, one entry for each of [`LEVELS`].
    pub lines: Vec<Level>,
    /// Index in `cells` of the cheapest that surely meets the wish; none if none does or no price is known.
    pub cheapest: Option<usize>,
    /// Indices of cells that cost less, for which it is not settled whether they meet the wish.
    pub may_be_cheaper: Vec<usize>,
    /// What the cells that seem to meet the wish cost over some years, if that was asked for.
    pub over_years: Option<OverYears>,
    /// How prices follow from those of the design, or why they are not known.
    pub pricing: String,
    /// How long cells were simulated.
    pub effort: String,
    /// Trials of all cells together.
    pub cell_trials: u64,
    /// Remarks for the reader.
    pub warnings: Vec<String>,
}

/// One build of the map. What cannot be computed is `None`, as is everything of a refused build.
#[derive(Clone, Debug, Serialize)]
pub struct Cell {
    /// Place along x, from 0.
    pub x: usize,
    /// Place along y, from 0.
    pub y: usize,
    /// Trials it was simulated for.
    pub trials: u64,
    /// Still days a month.
    pub still_days_per_month: Option<Estimate>,
    /// What places see whose weather files look like these, 80 % of them.
    pub still_days_per_month_places_80: Option<[f64; 2]>,
    /// Share of evenings on which the dusk run meets the wish.
    pub dusk_wish_met: Option<Estimate>,
    /// Share of wanted energy that was not served, own trials only.
    pub loss_of_load: Option<Estimate>,
    /// Share of years that meet the whole wish; own trials only.
    pub years_met: Option<f64>,
    /// Its 95 % interval (Wilson).
    pub years_met_95: Option<[f64; 2]>,
    /// Whether that reaches the wished share.
    pub meets_wish: Option<Meets>,
    /// Whether that also holds with what the weather files leave open; `None` where it is not settled.
    pub holds_at_places: Option<bool>,
    /// What it costs.
    pub price: Option<f64>,
    /// Still days a month minus those of the unchanged design, trial by trial.
    pub against_design: Option<Difference>,
    /// Why the build is refused.
    pub refused: Option<String>,
}

/// The lines of one value of still days a month.
#[derive(Debug, Serialize)]
pub struct Level {
    /// Still days a month.
    pub still_days_per_month: f64,
    /// The lines; none if all cells lie on one side.
    pub lines: Vec<Vec<LinePoint>>,
}

/// A point of a line.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LinePoint {
    /// Position along both axes, in cells from 0.
    pub at: [f64; 2],
    /// Value of both axes there, base units.
    pub value: [f64; 2],
}

impl Grid {
    /// The cell at column `x` and row `y`.
    pub fn cell(&self, x: usize, y: usize) -> &Cell {
        &self.cells[y * self.x.len() + x]
    }
}

/// Simulates the design over both axes ([`Axis::pair`]); with `cost_over_years`, the cells that seem to meet the wish are kept over so many years,
/// too.
///
/// # Errors
/// A map none of whose cells is a valid design, or one that was stopped before its first trial.
pub fn map(
    engine: &Engine<'_>,
    plan: Plan,
    axes: (Axis, Axis),
    (effort, cost_over_years): (CellEffort, Option<u16>),
    command: &str,
) -> Result<Grid, Problems> {
    let (x, y) = axes;
    let base = plan.file.clone();
    let Field { mut cells, builds, plans, mut warnings } = Field::of(plan, &x, &y)?;
    let prices: Vec<Option<f64>> = builds.iter().map(|&k| cells[k].price).collect();
    let mut runs = CellRuns::new(plans, prices, effort);
    runs.run(engine);

    let first = &runs.paired_run.builds[0];
    let design = summary::summarise(&first.plan, &first.tally, engine.seed, command.to_owned())
        .ok_or_else(|| Problem::error("stopped before the first trial"))?;
    for (k, &at) in builds.iter().enumerate() {
        fill(&mut cells[at], &runs, k + 1);
    }
    let lattice = lattice(&cells, x.len());
    let lines = LEVELS.map(|level| level_lines(&lattice, level, &x, &y)).into_iter().collect();
    let (cheapest, may_be_cheaper) = cheapest(&cells);
    let over_years = cost_over_years.and_then(|years| {
        let named = cheapest.map(|k| CellBuild { x: cells[k].x, y: cells[k].y });
        let members = seem_to_meet(&cells, &builds, base.design.wish.confidence);
        over_years(engine, &runs, members, (named, years))
    });
    if cost_over_years.is_some() && over_years.is_none() {
        warnings.insert(NOTHING_KEPT.to_owned());
    }
    if let Some(words) = reconnect_note(&cells, &x, &y) {
        warnings.insert(words);
    }
    Ok(Grid {
        schema: SCHEMA,
        design,
        wish_confidence: base.design.wish.confidence,
        lines,
        cheapest,
        may_be_cheaper,
        over_years,
        pricing: price::rule(&base, [x.key, y.key]),
        effort: effort.words(),
        cell_trials: cells.iter().map(|c| c.trials).sum(),
        warnings: warnings.into_iter().collect(),
        x,
        y,
        cells,
    })
}

/// Why no cost over the years is told.
const NOTHING_KEPT: &str = "No cost over the years: no cell with a known price seems to meet the wish.";

/// What is simulated for a map.
struct Field {
    /// Every cell, still without numbers; refused ones with the reason.
    cells: Vec<Cell>,
    /// Indices in `cells` of the valid builds.
    builds: Vec<usize>,
    /// The unchanged design, then those of `builds`.
    plans: Vec<Plan>,
    /// Warnings of the checker about the varied keys.
    warnings: BTreeSet<String>,
}

impl Field {
    /// Makes one build for each cell; the problems of the first refused one if none is valid.
    fn of(plan: Plan, x: &Axis, y: &Axis) -> Result<Field, Problems> {
        let (place, base) = (Arc::clone(&plan.site), plan.file.clone());
        let mut field = Field {
            cells: Vec::with_capacity(x.len() * y.len()),
            builds: Vec::new(),
            plans: vec![plan],
            warnings: BTreeSet::new(),
        };
        let varied = |p: &&Problem| [x.key, y.key].iter().any(|k| p.title.contains(k));
        let mut first_refusal = None;
        for (j, i) in (0..y.len()).flat_map(|j| (0..x.len()).map(move |i| (j, i))) {
            let mut cell = Cell::empty(i, j);
            match build(&base, (x, i), (y, j)) {
                Ok(mut file) => {
                    let sizes = [(x.key, x.multiple(i)), (y.key, y.multiple(j))];
                    cell.price = price::of(&base, &sizes);
                    file.design.prices = price::of_parts(&base, &sizes);
                    let told = file.warnings.list.iter().filter(varied).map(|p| p.title.clone());
                    field.warnings.extend(told);
                    field.builds.push(field.cells.len());
                    field.plans.push(Plan::at(file, Arc::clone(&place)));
                }
                Err(problems) => {
                    cell.refused = problems.list.first().map(|p| p.title.clone());
                    first_refusal.get_or_insert(problems);
                }
            }
            field.cells.push(cell);
        }
        if field.builds.is_empty() { Err(first_refusal.unwrap_or_default()) } else { Ok(field) }
    }
}

/// The design with one value of each axis.
fn build(base: &DesignFile, (x, i): (&Axis, usize), (y, j): (&Axis, usize)) -> Result<DesignFile, Problems> {
    // Keys that scale along come first: a key that an axis sets itself must not be scaled afterwards.
    let mut changes: Vec<_> = x.changes(i, base).into_iter().chain(y.changes(j, base)).collect();
    changes
        .retain(|(key, change)| matches!(change, Change::Set(_)) || ![x.key, y.key].contains(&key.as_str()));
    let name = [(x, i), (y, j)].map(|(axis, k)| format!("{} = {}", axis.key, axis.label(k, System::Si)));
    base.patched(&name.join(", "), &changes)
}

impl Cell {
    fn empty(x: usize, y: usize) -> Cell {
        Cell {
            x,
            y,
            trials: 0,
            still_days_per_month: None,
            still_days_per_month_places_80: None,
            dusk_wish_met: None,
            loss_of_load: None,
            years_met: None,
            years_met_95: None,
            meets_wish: None,
            holds_at_places: None,
            price: None,
            against_design: None,
            refused: None,
        }
    }
}

/// Fills in the numbers of one cell.
fn fill(cell: &mut Cell, runs: &CellRuns, build: usize) {
    let e = &runs.paired_run.builds[build];
    let months = e.plan.layout.months_long();
    let per_month = |e: Estimate| Estimate::new((e.mean / months).max(0.0), e.se.map(|s| s / months));
    // The regression cannot tell the error of a rare event; the cell's own trials can.
    let rare = e.tally.still_days_per_month().filter(|own| own.is_lopsided());
    let (good, n) = (runs.years_met[build], e.tally.trials());
    let wished = e.plan.file.design.wish.confidence;
    let error = e.plan.site.input().error(input_range::store_d(&e.plan.layout));
    cell.trials = n;
    cell.still_days_per_month = rare.or_else(|| runs.still_days.estimate(build).map(per_month));
    cell.still_days_per_month_places_80 =
        cell.still_days_per_month.map(|e| input_range::still_days(e, error));
    cell.dusk_wish_met = runs.wish_met.estimate(build).map(|e| Estimate::new(e.mean.clamp(0.0, 1.0), e.se));
    cell.loss_of_load = worksheet(&e.tally, &e.plan.layout).and_then(|s| s.loss_of_load);
    if n > 0 {
        let i = intervals::clopper_pearson(good, n, 0.95);
        cell.years_met = Some(good as f64 / n as f64);
        cell.years_met_95 = Some([i.lo, i.hi]);
        let meets = runs.meets[build];
        cell.meets_wish = Some(meets);
        let years = input_range::years_met(good as f64 / n as f64, [i.lo, i.hi], error);
        cell.holds_at_places = (meets != Meets::Unsure).then(|| input_range::holds(meets, years, wished));
    }
    cell.against_design = e.against_first.still_days.difference(CONFIDENCE).map(|d| d.scaled(1.0 / months));
}

/// Still days a month by row and column.
fn lattice(cells: &[Cell], columns: usize) -> Vec<Vec<Option<f64>>> {
    cells
        .chunks(columns)
        .map(|row| row.iter().map(|c| c.still_days_per_month.map(|e| e.mean)).collect())
        .collect()
}

fn level_lines(lattice: &[Vec<Option<f64>>], level: f64, x: &Axis, y: &Axis) -> Level {
    let point = |at: [f64; 2]| LinePoint { at, value: [x.between(at[0]), y.between(at[1])] };
    let found = lines(lattice, level).into_iter().map(|l| l.into_iter().map(point).collect()).collect();
    Level { still_days_per_month: level, lines: found }
}

/// The cheapest cell that surely meets the wish, and the cheaper ones that may meet it.
fn cheapest(cells: &[Cell]) -> (Option<usize>, Vec<usize>) {
    let having = |wanted: Meets| {
        let fits = move |c: &Cell| c.meets_wish == Some(wanted);
        cells.iter().enumerate().filter_map(move |(k, c)| Some((k, c.price.filter(|_| fits(c))?)))
    };
    let best = having(Meets::Yes).min_by(|a, b| a.1.total_cmp(&b.1));
    let limit = best.map_or(f64::INFINITY, |(_, p)| p);
    let mut may: Vec<(usize, f64)> = having(Meets::Unsure).filter(|(_, p)| *p < limit).collect();
    may.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    (best.map(|(k, _)| k), may.into_iter().map(|(k, _)| k).collect())
}

/// The cells that seem to meet the wish and have a price; `builds` are those that were simulated, after the unchanged design.
fn seem_to_meet(cells: &[Cell], builds: &[usize], wished: f64) -> Vec<Member> {
    let seems_to = |cell: &Cell| match cell.meets_wish {
        Some(Meets::Yes) => true,
        Some(Meets::Unsure) => cell.years_met >= Some(wished),
        Some(Meets::No) | None => false,
    };
    let of = |(k, &at): (usize, &usize)| {
        let cell = cells.get(at).filter(|c| seems_to(c))?;
        Some(Member { cell: CellBuild { x: cell.x, y: cell.y }, build: k + 1, price: cell.price? })
    };
    builds.iter().enumerate().filter_map(of).collect()
}

/// A warning if a larger battery has more still days.
fn reconnect_note(cells: &[Cell], x: &Axis, y: &Axis) -> Option<String> {
    const STORE: &str = "battery.capacity";
    let along = |a: &Cell, b: &Cell| {
        (x.key == STORE && a.y == b.y && a.x < b.x) || (y.key == STORE && a.x == b.x && a.y < b.y)
    };
    let apart = |a: &Cell, b: &Cell| {
        let (Some(p), Some(q)) = (a.still_days_per_month, b.still_days_per_month) else { return false };
        let error = p.se.zip(q.se).map_or(f64::INFINITY, |(s, t)| (s * s + t * t).sqrt());
        // Four standard errors of an unpaired difference: rare by chance even among many cells.
        q.mean - p.mean > 4.0 * error && q.mean - p.mean > 0.1
    };
    cells.iter().any(|a| cells.iter().any(|b| along(a, b) && apart(a, b))).then(|| {
        format!(
            "Some cells with a larger battery have more still days: {WAITS}. A lower electronics.reconnect helps."
        )
    })
}
