//! What builds cost over the years, for `choose` and `grid`.

use super::cells::{Rows, number_cell, provenance, text_cell, yes_no};
use crate::study::choose::{Choice, OverYears};
use crate::study::grid::{self, Grid};
use crate::study::years::kept::{self, Kept};

/// Columns that all such tables have.
const COLUMNS: [&str; 15] = [
    "named",
    "years",
    "price",
    "cost",
    "cost_se",
    "cost_low_95",
    "cost_high_95",
    "cost_per_year",
    "cost_against_named",
    "cost_against_named_low",
    "cost_against_named_high",
    "batteries",
    "wish_met",
    "wish_met_low_95",
    "wish_met_high_95",
];

/// `choose-years.csv`: a build a row, the cheapest over the years first.
pub fn over_years(c: &Choice, o: &OverYears) -> Vec<u8> {
    let out = Rows::with_comment(provenance(&c.summary));
    kept_builds(out, o, ["place", "build"].map(str::to_owned), |b| {
        let name = b.parts.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(" + ");
        [b.place.to_string(), text_cell(&name)]
    })
}

/// `grid-years.csv`: a cell a row, the cheapest over the years first.
pub fn cells_over_years(g: &Grid, o: &grid::OverYears) -> Vec<u8> {
    let out = Rows::with_comment(provenance(&g.design));
    kept_builds(out, o, [&g.x, &g.y].map(super::grid::axis), |b| {
        [number_cell(Some(g.x.values[b.x])), number_cell(Some(g.y.values[b.y]))]
    })
}

fn kept_builds<B>(
    mut out: Rows,
    o: &kept::OverYears<B>,
    which: [String; 2],
    name: impl Fn(&B) -> [String; 2],
) -> Vec<u8> {
    let heads: Vec<&str> = which.iter().map(String::as_str).chain(COLUMNS).collect();
    out.row(heads);
    for b in &o.builds {
        let fields: Vec<String> = name(&b.build).into_iter().chain(figures(b, o.years)).collect();
        out.row(fields.iter().map(String::as_str));
    }
    out.bytes()
}

fn figures<B>(b: &Kept<B>, years: u16) -> [String; COLUMNS.len()] {
    let against = b.cost_against_named;
    [
        yes_no(b.named).to_owned(),
        years.to_string(),
        number_cell(Some(b.price)),
        number_cell(Some(b.cost.mean)),
        number_cell(b.cost.se),
        number_cell(b.cost.interval_95.map(|i| i[0])),
        number_cell(b.cost.interval_95.map(|i| i[1])),
        number_cell(Some(b.cost_per_year.mean)),
        number_cell(against.map(|d| d.mean)),
        number_cell(against.and_then(|d| d.low)),
        number_cell(against.and_then(|d| d.high)),
        number_cell(b.batteries.map(|e| e.mean)),
        number_cell(Some(b.wish_met)),
        number_cell(Some(b.wish_met_95[0])),
        number_cell(Some(b.wish_met_95[1])),
    ]
}
