//! The table of a grid.

use super::cells::{Rows, number_cell, provenance, text_cell, yes_no};
use crate::report::words::grid::meets;
use crate::study::grid::{Axis, Grid};

/// `grid.csv`: a cell a row, row by row from below. What is not known is empty; a refused cell has its
/// reason and no numbers.
pub fn grid(g: &Grid) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&g.design));
    let (x, y) = (axis(&g.x), axis(&g.y));
    out.row([
        &x,
        &y,
        "x_multiple",
        "y_multiple",
        "trials",
        "still_days_per_month",
        "still_days_per_month_se",
        "still_days_per_month_low_95",
        "still_days_per_month_high_95",
        "still_days_per_month_places_low_80",
        "still_days_per_month_places_high_80",
        "dusk_wish_met",
        "dusk_wish_met_se",
        "loss_of_load",
        "loss_of_load_se",
        "years_met",
        "years_met_low_95",
        "years_met_high_95",
        "meets_wish",
        "holds_at_places",
        "price",
        "cheapest",
        "against_design",
        "against_design_low_95",
        "against_design_high_95",
        "refused",
    ]);
    for (k, c) in g.cells.iter().enumerate() {
        let estimate = |e: Option<crate::tally::summary::Estimate>| {
            [number_cell(e.map(|e| e.mean)), number_cell(e.and_then(|e| e.se))]
        };
        let [still, still_se] = estimate(c.still_days_per_month);
        let [dusk, dusk_se] = estimate(c.dusk_wish_met);
        let [lost, lost_se] = estimate(c.loss_of_load);
        let against = c.against_design.as_ref();
        let fields = [
            number_cell(Some(g.x.values[c.x])),
            number_cell(Some(g.y.values[c.y])),
            number_cell(g.x.multiple(c.x)),
            number_cell(g.y.multiple(c.y)),
            c.trials.to_string(),
            still,
            still_se,
            number_cell(c.still_days_per_month.and_then(|e| e.interval_95).map(|i| i[0])),
            number_cell(c.still_days_per_month.and_then(|e| e.interval_95).map(|i| i[1])),
            number_cell(c.still_days_per_month_places_80.map(|r| r[0])),
            number_cell(c.still_days_per_month_places_80.map(|r| r[1])),
            dusk,
            dusk_se,
            lost,
            lost_se,
            number_cell(c.years_met),
            number_cell(c.years_met_95.map(|i| i[0])),
            number_cell(c.years_met_95.map(|i| i[1])),
            c.meets_wish.map_or("", meets).to_owned(),
            c.holds_at_places.map_or("", yes_no).to_owned(),
            number_cell(c.price),
            yes_no(g.cheapest == Some(k)).to_owned(),
            number_cell(against.map(|d| d.mean)),
            number_cell(against.and_then(|d| d.low)),
            number_cell(against.and_then(|d| d.high)),
            c.refused.as_deref().map(text_cell).unwrap_or_default(),
        ];
        out.row(fields.each_ref().map(String::as_str));
    }
    out.bytes()
}

/// The head of an axis: its key and its unit.
pub(super) fn axis(a: &Axis) -> String {
    match a.unit {
        "" => a.key.to_owned(),
        unit => format!("{} {unit}", a.key),
    }
}
