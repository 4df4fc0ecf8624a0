//! The map of a grid: still days with lines of equal still days, dusk run, price.

use super::parts::{
    Key, Section, Table, bullets, figure, key, non_breaking, numbers_bold, phrases_bold, sections, table,
};
use super::{inputs, page};
use crate::report::chart::{Lattice, Level, Mark, cells};
use crate::report::number;
use crate::report::words::{self, grid as wording, money, over_years};
use crate::study::grid::{Cell, Grid, LEVELS, OverYears};
use crate::tally::Meets;
use crate::units::System;
use maud::{Markup, html};

/// Classes of lines of equal still days, in the order of [`LEVELS`].
const ISO: [&str; LEVELS.len()] = ["i0", "i1", "i2", "i3"];
/// Classes of cells, from pale to strong.
const TINTS: [&str; 5] = ["t0", "t1", "t2", "t3", "t4"];

/// `grid.html`.
pub fn grid(g: &Grid, units: System) -> String {
    let s = &g.design;
    let open = wording::cheaper_unsettled(g, units);
    let header = html! {
        p class="file" {
            code { (words::escaped(&s.design.file)) } " · " (g.cells.len()) " builds, " (number::grouped(g.cell_trials)) " trials · seed " (s.run.seed)
        }
        p class="verdict" { (phrases_bold(&wording::verdict(g, units), &wording::named(g, units))) }
        p class="lead" { (non_breaking(&format!("The wish: {}.", wording::wish(g)))) @if let Some(places) = wording::at_places(g, units) { " " (non_breaking(&places)) } }
        @if let Some(open) = &open { p class="small" { (open) } }
        p class="small" { (wording::how_many(g)) " " (wording::error_note()) " All builds get the same weather and the same drawn parts." }
        p class="small hint" { "Point at a cell to see its values, or tab to a map and use the arrow keys. All numbers are below each map." }
        @if s.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let remark = html! { "From left to right: " (wording::axis(&g.x, units)) ". Upward: " (wording::axis(&g.y, units)) ". " (g.effort) };
    let maps = html! { div class="figs" { (still(g, units)) (wish(g, units)) } };
    let mut list = vec![Section::new("map", "Each build of the grid", remark, maps).full_width()];
    let priced = g.cells.iter().any(|c| c.price.is_some());
    let more = html! {
        div class="figs" { @if priced { (price(g, units)) } (dusk(g, units)) }
    };
    let heading = if priced { "Price and dusk run" } else { "Dusk run" };
    list.push(Section::new("price", heading, html! { (g.pricing) }, more).full_width());
    if let Some(kept) = &g.over_years {
        let remark = html! { (over_years::rests_on(kept)) };
        list.push(Section::new(
            "years",
            "What they cost over the years",
            remark,
            kept_over_years(g, kept, units),
        ));
    }
    let lines_remark = html! { "Interpolated between builds. “Above” and “below”: the line does not cross; all still days are above or below it." };
    let folded = Section::new("lines", "Lines of equal still days", lines_remark, lines(g, units));
    list.push(folded.folded("Where the lines cross each row or column"));
    let warnings: Vec<String> =
        g.warnings.iter().chain(&s.warnings).cloned().chain(refusals(g, units)).collect();
    if !warnings.is_empty() {
        list.push(Section::new("warnings", "Warnings", html! {}, bullets("warn", &warnings)));
    }
    list.push(inputs::section(s, units).folded(inputs::FOLD));
    list.extend(inputs::cautions(s));
    page::page(
        &format!("Grid: {}", s.design.title),
        &header,
        &sections(&list),
        &serde_json::to_vec(g).unwrap_or_default(),
    )
}

fn kept_over_years(g: &Grid, kept: &OverYears, units: System) -> Markup {
    let mut t = Table { named: true, ..Table::new(&over_years::COLUMNS) };
    kept.builds.iter().for_each(|b| t.row(over_years::row_of_grid(g, b, units, "±")));
    html! {
        p { (numbers_bold(&over_years::answer_of_grid(g, kept, units, "±"))) }
        (table(&t))
    }
}

/// Each reason once, with the first cell it holds for.
fn refusals(g: &Grid, units: System) -> Vec<String> {
    let mut said: Vec<&str> = Vec::new();
    let mut list = Vec::new();
    for c in &g.cells {
        if let Some(why) = c.refused.as_deref().filter(|w| !said.contains(w)) {
            said.push(why);
            list.push(format!("Not a valid design: {}: {why}", wording::cell_name(g, c, units)));
        }
    }
    list
}

/// One map: a value of each cell, and how it is written in the cell and in the table below.
struct Map<'m> {
    value: &'m dyn Fn(&Cell) -> Option<f64>,
    figure: &'m dyn Fn(f64) -> String,
    number: &'m dyn Fn(&Cell) -> Option<String>,
}

/// Values at which one shade follows another: as many cells in each as can be.
fn steps(g: &Grid, map: &Map<'_>) -> Vec<f64> {
    let mut values: Vec<f64> = g.cells.iter().filter_map(map.value).collect();
    values.sort_by(f64::total_cmp);
    values.dedup_by(|a, b| (map.figure)(*a) == (map.figure)(*b));
    let (n, k) = (values.len(), TINTS.len().min(values.len().max(1)));
    (1..k).map(|i| values[i * n / k]).collect()
}

fn tint(steps: &[f64], value: f64) -> usize {
    // Few values are spread from the palest to the strongest.
    let at = steps.iter().filter(|s| value >= **s).count();
    (at * (TINTS.len() - 1)).checked_div(steps.len()).unwrap_or(1)
}

/// What all maps of a grid share.
fn lattice<'a>(g: &Grid, units: System, map: &Map<'_>, marked: bool) -> Lattice<'a> {
    let mark = |(k, c): (usize, &Cell)| match c.meets_wish {
        _ if c.refused.is_some() => Mark::Cross,
        _ if !marked => Mark::None,
        _ if g.cheapest == Some(k) => Mark::Framed,
        Some(Meets::Yes) => Mark::Dot,
        Some(Meets::Unsure) => Mark::Ring,
        Some(Meets::No) | None => Mark::None,
    };
    let named = |a: &crate::study::grid::Axis| {
        let (labels, unit) = wording::ticks(a, units);
        let name = wording::axis_name(a);
        (labels, if unit.is_empty() { name } else { format!("{name}, {unit}") })
    };
    let steps = steps(g, map);
    Lattice {
        columns: g.x.len(),
        classes: g.cells.iter().map(|c| Some(TINTS[tint(&steps, (map.value)(c)?)])).collect(),
        marks: g.cells.iter().enumerate().map(mark).collect(),
        figures: g.cells.iter().map(|c| (map.value)(c).map_or(String::new(), map.figure)).collect(),
        texts: g.cells.iter().map(|c| wording::cell_text(g, c, units, "±")).collect(),
        lines: Vec::new(),
        across: named(&g.x),
        upward: named(&g.y),
    }
}

/// What the shades stand for.
fn shades(g: &Grid, map: &Map<'_>) -> Markup {
    let steps = steps(g, map);
    let mut ranges: Vec<Option<(f64, f64)>> = vec![None; TINTS.len()];
    for v in g.cells.iter().filter_map(map.value) {
        let range = &mut ranges[tint(&steps, v)];
        *range = Some(range.map_or((v, v), |(lo, hi)| (lo.min(v), hi.max(v))));
    }
    let entries: Vec<Key<'_>> = TINTS
        .iter()
        .zip(ranges)
        .filter_map(|(class, range)| {
            let (lo, hi) = range.map(|(lo, hi)| ((map.figure)(lo), (map.figure)(hi)))?;
            let text = if lo == hi { lo } else { format!("{lo} to {hi}") };
            Some(Key { class, line: false, text })
        })
        .collect();
    key(&entries)
}

fn map_figure(
    g: &Grid,
    units: System,
    finding: &str,
    map: &Map<'_>,
    drawn: (&Lattice<'_>, &Markup),
) -> Markup {
    let (lattice, note) = drawn;
    let keys = html! { (shades(g, map)) (note) };
    let alternative = format!("Map of the grid. {finding}");
    figure(finding, &cells(&alternative, lattice), Some(&keys), &numbers(g, units, map.number))
}

/// A table of the map: rows from above, as drawn.
fn numbers(g: &Grid, units: System, value: &dyn Fn(&Cell) -> Option<String>) -> Table {
    let mut t = Table::new(&[""]);
    t.head.extend((0..g.x.len()).map(|x| g.x.label(x, units)));
    for y in (0..g.y.len()).rev() {
        let row = (0..g.x.len()).map(|x| value(g.cell(x, y)).unwrap_or_else(|| "–".to_owned()));
        t.row(std::iter::once(g.y.label(y, units)).chain(row));
    }
    t
}

fn still(g: &Grid, units: System) -> Markup {
    let map = Map {
        value: &|c| c.still_days_per_month.map(|e| e.mean),
        figure: &|v| match v {
            0.0 => "0".to_owned(),
            v => number::fixed(v, if v < 0.095 { 2 } else { usize::from(v < 9.95) }),
        },
        number: &|c| c.still_days_per_month.map(|e| number::estimate(e, 2, "±")),
    };
    let mut l = lattice(g, units, &map, true);
    l.lines = ISO
        .iter()
        .zip(&g.lines)
        .map(|(class, level)| {
            let lines = level.lines.iter().map(|line| line.iter().map(|p| p.at).collect()).collect();
            Level { class, label: number::given(level.still_days_per_month), lines }
        })
        .collect();
    let drawn = g.lines.iter().any(|l| !l.lines.is_empty());
    let note = html! {
        p class="note" { "Figures are still days a month. ● surely meets the wish, ○ may meet it" @if g.cheapest.is_some() { ", framed: the cheapest that surely meets it" } "." @if drawn { " Lines join places of equal still days and bear their number." } }
    };
    map_figure(g, units, &finding(g, units, "Still days a month", &map), &map, (&l, &note))
}

/// The share of years that meet the whole wish.
fn wish(g: &Grid, units: System) -> Markup {
    let map = Map {
        value: &|c| c.years_met,
        figure: &|v| number::fixed(100.0 * v, 0),
        number: &|c| {
            let word = match c.meets_wish? {
                Meets::Yes => "yes",
                Meets::No => "no",
                Meets::Unsure => "may",
            };
            Some(format!("{word}, {}", number::percent(c.years_met?)))
        },
    };
    let l = lattice(g, units, &map, true);
    let note = html! {
        p class="note" { "Figures are years in a hundred that meet the whole wish; " (number::percent(g.wish_confidence)) " are asked for." }
    };
    map_figure(
        g,
        units,
        &finding(g, units, "Years that meet the whole wish, in a hundred", &map),
        &map,
        (&l, &note),
    )
}

fn dusk(g: &Grid, units: System) -> Markup {
    let map = Map {
        value: &|c| c.dusk_wish_met.map(|e| e.mean),
        figure: &|v| number::fixed(100.0 * v, 0),
        number: &|c| c.dusk_wish_met.map(|e| number::percent_estimate(e, "±")),
    };
    let wish = number::fixed(g.design.season.wish_dusk_run_min, 0);
    let what = format!("Evenings in a hundred with a jet for {wish} min after sunset");
    map_figure(g, units, &finding(g, units, &what, &map), &map, (&lattice(g, units, &map, false), &html! {}))
}

fn price(g: &Grid, units: System) -> Markup {
    let currency = g.design.design.currency.as_deref();
    let map = Map {
        value: &|c| c.price,
        figure: &|v| number::fixed(v, 0),
        number: &|c| c.price.map(|p| money::price(p, currency)),
    };
    map_figure(
        g,
        units,
        &finding(g, units, &money::column("Price", currency), &map),
        &map,
        (&lattice(g, units, &map, true), &html! {}),
    )
}

/// From the least to the most, and where.
fn finding(g: &Grid, units: System, what: &str, map: &Map<'_>) -> String {
    let known = || g.cells.iter().filter_map(|c| Some(((map.value)(c)?, c)));
    let by = |a: &(f64, &Cell), b: &(f64, &Cell)| a.0.total_cmp(&b.0);
    let at = |c: &Cell| wording::cell_name(g, c, units);
    match (known().min_by(by), known().max_by(by)) {
        (Some((low, a)), Some((high, b))) if high > low => {
            format!("{what}: {} with {}; {} with {}", (map.figure)(low), at(a), (map.figure)(high), at(b))
        }
        (Some((low, _)), _) => format!("{what}: {} everywhere", (map.figure)(low)),
        _ => format!("{what}: {}", number::NOT_COMPUTABLE),
    }
}

fn lines(g: &Grid, units: System) -> Markup {
    let by_column = wording::by_column(g);
    let (along, across) = if by_column { (&g.x, &g.y) } else { (&g.y, &g.x) };
    let (along_name, across_name) = (wording::axis_name(along), wording::axis_name(across));
    let mut t = Table::new(&[along_name.as_str()]);
    t.head.extend(LEVELS.iter().rev().map(|l| format!("{} a month", number::given(*l))));
    for k in 0..along.len() {
        let k = if by_column { k } else { along.len() - 1 - k };
        let row = g.lines.iter().rev().map(|level| wording::crossing(g, level, by_column, k, units));
        t.row(std::iter::once(along.label(k, units)).chain(row));
    }
    html! {
        p class="note" { "Value of " (across_name) " at which still days cross each level, for each " (along_name) ":" }
        (table(&t))
    }
}
