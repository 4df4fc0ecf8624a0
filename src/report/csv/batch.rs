//! The ranking of a batch.

use super::cells::{Rows, number_cell, text_cell, yes_no};
use crate::report::words::grid::meets;
use crate::study::batch::BatchSummary;
use crate::tally::WishPart;
use crate::tally::summary::LifeEnd;

const COLUMNS: [&str; 29] = [
    "rank",
    "file",
    "title",
    "state",
    "trials",
    "still_days_per_month",
    "still_days_per_month_se",
    "still_days_per_month_low_95",
    "still_days_per_month_high_95",
    "still_days_per_month_places_low_80",
    "still_days_per_month_places_high_80",
    "still_days_worst_month_p90",
    "dusk_run_min",
    "dusk_run_se_min",
    "dusk_run_meets_wish",
    "wish_met",
    "holds_at_places",
    "wish_years_met",
    "wish_missed_most",
    "battery_life_years_p10",
    "battery_life_years",
    "battery_life_years_p90",
    "battery_life_ends_by",
    "price",
    "currency",
    "weather_invented",
    "warnings",
    "report",
    "reason",
];

/// `ranking.csv` of a batch: one design a row, the best first, then what is unfinished or failed.
pub fn ranking(m: &BatchSummary) -> Vec<u8> {
    let effort = match (m.trials, m.until_days) {
        (Some(n), _) => format!("{n} trials each"),
        (None, Some(days)) => format!("until ± {days} d"),
        (None, None) => String::new(),
    };
    let mut out = Rows::with_comment(format!("# stilldays {} · seed {} · {effort}\n", m.version, m.seed));
    let mut row = |fields: [&str; COLUMNS.len()]| out.row(fields);
    row(COLUMNS);
    for d in &m.designs {
        let still = d.still_days_per_month;
        let holds = d.weather_input.as_ref().map_or("", |r| yes_no(r.verdict_holds));
        let places = d.weather_input.as_ref().map(|r| r.still_days_per_month);
        row([
            &d.rank.to_string(),
            &text_cell(&d.file),
            &text_cell(&d.title),
            "finished",
            &d.trials.to_string(),
            &number_cell(Some(still.mean)),
            &number_cell(still.se),
            &number_cell(still.interval_95.map(|i| i[0])),
            &number_cell(still.interval_95.map(|i| i[1])),
            &number_cell(places.map(|r| r[0])),
            &number_cell(places.map(|r| r[1])),
            &number_cell(Some(d.worst_month_p90)),
            &number_cell(d.dusk_run_min.map(|e| e.mean)),
            &number_cell(d.dusk_run_min.and_then(|e| e.se)),
            &number_cell(d.dusk_run_meets_wish.map(|e| e.mean)),
            meets(d.wish_meets),
            holds,
            &number_cell(Some(d.wish_years_met)),
            d.wish_fails_most.map_or("", WishPart::key),
            &number_cell(d.battery_life.map(|l| l.p10)),
            &number_cell(d.battery_life.map(|l| l.p50)),
            &number_cell(d.battery_life.map(|l| l.p90)),
            d.battery_life_ends_by.map_or("", LifeEnd::key),
            &number_cell(d.price),
            d.currency.as_deref().unwrap_or(""),
            yes_no(d.weather_invented),
            &d.warnings.len().to_string(),
            &link_cell(&d.report),
            "",
        ]);
    }
    let mut rest = |file: &str, state: &str, trials: &str, reason: &str| {
        let (file, reason) = (text_cell(file), text_cell(reason));
        let mut fields = [""; COLUMNS.len()];
        (fields[1], fields[3], fields[4], fields[28]) = (&file, state, trials, &reason);
        row(fields);
    };
    for u in &m.unfinished {
        rest(&u.file, "unfinished", &u.trials_done.to_string(), "");
    }
    for f in &m.failed {
        rest(&f.file, "failed", "", f.reason.lines().next().unwrap_or_default());
    }
    out.bytes()
}

/// A link as a cell. Only a leading `-` is left of the signs of a formula: the others are `%`-encoded.
fn link_cell(link: &str) -> String {
    if link.starts_with('-') { format!("./{link}") } else { text_cell(link) }
}
