//! The map of a grid: still days with lines of equal still days, dusk run, price.

use super::parts::{Key, Section, Table, bullets, figure, key, numbers_bold, sections, table};
use super::{inputs, page};
use crate::report::chart::{Lattice, Mark, cells};
use crate::report::number;
use crate::report::words::{self, difference, grid as wording};
use crate::study::grid::{Cell, Grid, LEVELS};
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
            code { (words::escaped(&s.design.file)) } " · " (g.cells.len()) " cells, " (number::grouped(g.cell_trials)) " trials · seed " (s.run.seed)
        }
        p class="verdict" { (numbers_bold(&wording::verdict(g, units))) }
        @if let Some(open) = &open { p class="small" { (open) } }
        p class="small" { (wording::error_note()) " All cells get the same weather and the same drawn parts." }
        p class="small hint" { "Point at a cell to see its values, or tab to a map and use the arrow keys. All numbers are below each map." }
        @if s.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let remark = html! { (wording::axis(&g.x, units)) ", from left to right; " (wording::axis(&g.y, units)) ", upward. " (g.effort) };
    let maps = html! { div class="figs" { (still(g, units)) (dusk(g, units)) } };
    let lines_remark = html! { "Where the lines cross each row or column, interpolated between cells. “Above” and “below”: the line does not cross; all still days are above or below it." };
    let wish_remark =
        html! { "The wish: " (wording::wish(g)) ". The percentage is the share of years that keep to it." };
    let mut list = vec![
        Section::new("map", "Still days", remark, maps).full_width(),
        Section::new("lines", "Lines of equal still days", lines_remark, lines(g, units)),
        Section::new("wish", "Which cells meet the wish", wish_remark, wish(g, units)),
    ];
    list.push(match g.cells.iter().any(|c| c.price.is_some()) {
        true => Section::new("price", "Price", html! { (g.pricing) }, price(g, units)),
        false => Section::new("price", "Price", html! {}, html! { p { (g.pricing) } }),
    });
    let warnings: Vec<String> =
        g.warnings.iter().chain(&s.warnings).cloned().chain(refusals(g, units)).collect();
    if !warnings.is_empty() {
        list.push(Section::new("warnings", "Warnings", html! {}, bullets("warn", &warnings)));
    }
    list.push(inputs::section(s, units));
    list.extend(inputs::cautions(s));
    page::page(
        &format!("Grid: {}", s.design.title),
        &header,
        &sections(&list),
        &serde_json::to_vec(g).unwrap_or_default(),
    )
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

/// What all maps of a grid share; `band` says how strongly a cell is painted.
fn lattice<'a>(g: &Grid, units: System, band: &dyn Fn(&Cell) -> Option<usize>, marked: bool) -> Lattice<'a> {
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
        (labels, if unit.is_empty() { a.key.to_owned() } else { format!("{}, {unit}", a.key) })
    };
    Lattice {
        columns: g.x.len(),
        classes: g.cells.iter().map(|c| band(c).map(|b| TINTS[b.min(TINTS.len() - 1)])).collect(),
        marks: g.cells.iter().enumerate().map(mark).collect(),
        texts: g.cells.iter().map(|c| wording::cell_text(g, c, units, "±")).collect(),
        lines: Vec::new(),
        across: named(&g.x),
        upward: named(&g.y),
    }
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
    let band = |c: &Cell| c.still_days_per_month.map(|e| LEVELS.iter().filter(|l| e.mean > **l).count());
    let mut l = lattice(g, units, &band, true);
    l.lines = ISO
        .iter()
        .zip(&g.lines)
        .map(|(class, level)| {
            let lines = level.lines.iter().map(|line| line.iter().map(|p| p.at).collect()).collect();
            (*class, lines)
        })
        .collect();
    let finding =
        finding(g, units, "Still days a month", &|c| c.still_days_per_month.map(|e| e.mean), &|v| {
            number::fixed(v, usize::from(v < 9.95))
        });
    let alternative = format!("Map of still days a month with lines of equal still days. {finding}");
    let mut entries: Vec<Key<'_>> = Vec::new();
    for (i, tint) in TINTS.iter().enumerate() {
        let text = match i {
            0 => format!("up to {}", number::given(LEVELS[0])),
            4 => format!("over {}", number::given(LEVELS[3])),
            _ => format!("{} to {}", number::given(LEVELS[i - 1]), number::given(LEVELS[i])),
        };
        entries.push(Key { class: tint, line: false, text });
    }
    for (class, level) in ISO.iter().zip(LEVELS) {
        entries.push(Key { class, line: true, text: format!("{} a month", number::given(level)) });
    }
    let marks = html! {
        p class="note" { "● surely meets the wish, ○ may meet it" @if g.cheapest.is_some() { ", framed: the cheapest that surely meets it" } ". Lines join places of equal still days." }
    };
    let keys = html! { (key(&entries)) (marks) };
    let value = |c: &Cell| c.still_days_per_month.map(|e| number::estimate(e, 2, "±"));
    figure(&finding, &cells(&alternative, &l), Some(&keys), &numbers(g, units, &value))
}

fn dusk(g: &Grid, units: System) -> Markup {
    let share = |c: &Cell| c.dusk_wish_met.map(|e| e.mean);
    let l = lattice(g, units, &|c| share(c).map(|p| (p * 5.0) as usize), false);
    let wish = number::fixed(g.design.season.wish_dusk_run_min, 0);
    let finding = finding(
        g,
        units,
        &format!("Evenings with a jet for {wish} min after sunset"),
        &share,
        &number::percent,
    );
    let alternative = format!("Map of the share of evenings on which the dusk run meets the wish. {finding}");
    let entries: Vec<Key<'_>> = TINTS
        .iter()
        .enumerate()
        .map(|(i, class)| Key { class, line: false, text: format!("{} to {} %", 20 * i, 20 * (i + 1)) })
        .collect();
    let value = |c: &Cell| c.dusk_wish_met.map(|e| number::percent_estimate(e, "±"));
    figure(&finding, &cells(&alternative, &l), Some(&key(&entries)), &numbers(g, units, &value))
}

fn price(g: &Grid, units: System) -> Markup {
    let known: Vec<f64> = g.cells.iter().filter_map(|c| c.price).collect();
    let (low, high) =
        known.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(*p), b.max(*p)));
    let step = ((high - low) / 5.0).max(f64::MIN_POSITIVE);
    let l = lattice(g, units, &|c| c.price.map(|p| ((p - low) / step) as usize), true);
    let finding = finding(g, units, "Price", &|c| c.price, &|p| number::fixed(p, 2));
    let alternative = format!("Map of prices. {finding}");
    let entries: Vec<Key<'_>> = TINTS
        .iter()
        .enumerate()
        .map(|(i, class)| {
            let end = |k: usize| number::fixed(low + step * k as f64, 0);
            Key { class, line: false, text: format!("{} to {}", end(i), end(i + 1)) }
        })
        .collect();
    let value = |c: &Cell| c.price.map(|p| difference::money(Some(p)));
    figure(&finding, &cells(&alternative, &l), Some(&key(&entries)), &numbers(g, units, &value))
}

/// From the most to the least, and where.
fn finding(
    g: &Grid,
    units: System,
    what: &str,
    value: &dyn Fn(&Cell) -> Option<f64>,
    show: &dyn Fn(f64) -> String,
) -> String {
    let known = || g.cells.iter().filter_map(|c| Some((value(c)?, c)));
    let by = |a: &(f64, &Cell), b: &(f64, &Cell)| a.0.total_cmp(&b.0);
    let at = |c: &Cell| format!("{} and {}", g.x.label(c.x, units), g.y.label(c.y, units));
    match (known().min_by(by), known().max_by(by)) {
        (Some((low, a)), Some((high, b))) if high > low => {
            format!("{what}: {} with {}, {} with {}", show(low), at(a), show(high), at(b))
        }
        (Some((low, _)), _) => format!("{what}: {} everywhere", show(low)),
        _ => format!("{what}: {}", number::NOT_COMPUTABLE),
    }
}

fn lines(g: &Grid, units: System) -> Markup {
    let by_column = wording::by_column(g);
    let (along, across) = if by_column { (&g.x, &g.y) } else { (&g.y, &g.x) };
    let mut t = Table::new(&[along.key]);
    t.head.extend(LEVELS.iter().rev().map(|l| format!("{} a month", number::given(*l))));
    for k in 0..along.len() {
        let k = if by_column { k } else { along.len() - 1 - k };
        let row = g.lines.iter().rev().map(|level| wording::crossing(g, level, by_column, k, units));
        t.row(std::iter::once(along.label(k, units)).chain(row));
    }
    html! {
        p class="note" { (across.key) " at which still days cross each level, for each " (along.key) ":" }
        (table(&t))
    }
}

fn wish(g: &Grid, units: System) -> Markup {
    let value = |c: &Cell| {
        let word = match c.meets_wish? {
            Meets::Yes => "yes",
            Meets::No => "no",
            Meets::Unsure => "may",
        };
        Some(format!("{word}, {}", number::percent(c.years_met?)))
    };
    table(&numbers(g, units, &value))
}
