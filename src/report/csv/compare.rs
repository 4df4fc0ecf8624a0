//! The table of a comparison.

use super::cells::{Rows, difference_cells, number_cell, provenance, text_cell, yes_no};
use crate::report::words::{mean_minutes, mean_of};
use crate::study::compare::Comparison;
use crate::study::paired::Difference;
use crate::tally::summary::Estimate;

/// `compare.csv`: a number a row. Rows with an empty `against` are designs alone; the others are
/// differences from design 1, with their 95 % interval. The quantities `places` are ends of the range in which places with weather files
/// like these lie (80 %).
pub fn compare(c: &Comparison) -> Vec<u8> {
    let Some(first) = c.designs.first() else { return Vec::new() };
    let mut out = Rows::with_comment(provenance(first));
    out.row([
        "design",
        "against",
        "file",
        "paired",
        "scope",
        "quantity",
        "unit",
        "mean",
        "se",
        "low_95",
        "high_95",
        "chance_lower",
        "chance_same",
        "chance_higher",
        "told_apart",
    ]);
    for (i, s) in c.designs.iter().enumerate() {
        let (number, file) = ((i + 1).to_string(), text_cell(&s.design.file));
        let mut put = |scope: &str, quantity: &str, unit: &str, e: Option<Estimate>| {
            let ends = e.and_then(|e| e.interval_95);
            let (mean, se) = (number_cell(e.map(|e| e.mean)), number_cell(e.and_then(|e| e.se)));
            let (low, high) = (number_cell(ends.map(|i| i[0])), number_cell(ends.map(|i| i[1])));
            out.row([&number, "", &file, "", scope, quantity, unit, &mean, &se, &low, &high, "", "", "", ""]);
        };
        put("season", "still_days_per_month", "d", Some(s.season.still_days_per_month));
        let alone = |mean: f64| Estimate::alone(mean);
        let places = s.weather_input.as_ref().map(|w| w.still_days_per_month.map(alone));
        put("season", "still_days_per_month_places_low_80", "d", places.map(|p| p[0]));
        put("season", "still_days_per_month_places_high_80", "d", places.map(|p| p[1]));
        put("season", "still_days", "d", Some(mean_of(&s.season.still_days)));
        put("season", "dusk_run", "min", s.season.dusk_run_min.as_ref().map(mean_minutes));
        put("season", "jet", "min", Some(s.season.jet_min));
        let life = s.battery.as_ref().and_then(|b| b.life);
        let tenth = |p: f64, ends: [f64; 2]| Estimate { interval_95: Some(ends), ..Estimate::alone(p) };
        put("season", "battery_life_p10", "years", life.map(|l| tenth(l.p10, l.p10_95)));
        put("season", "battery_life", "years", life.map(|l| tenth(l.p50, l.p50_95)));
        put("season", "battery_life_p90", "years", life.map(|l| tenth(l.p90, l.p90_95)));
        put("season", "price", s.design.currency.as_deref().unwrap_or(""), s.design.price.map(alone));
        for m in &s.months {
            let scope = format!("{:02}", m.month);
            put(&scope, "still_days", "d", Some(mean_of(&m.still_days)));
        }
    }
    for a in &c.differences {
        let (number, paired) = ((a.design + 1).to_string(), yes_no(a.paired));
        let file = c.designs.get(a.design).map(|s| text_cell(&s.design.file)).unwrap_or_default();
        let mut put = |scope: &str, quantity: &str, unit: &str, d: Option<&Difference>| {
            let cells = difference_cells(d);
            let [mean, se, low, high, lower, same, higher] = cells.each_ref().map(String::as_str);
            let apart = d.map_or("", |d| yes_no(d.told_apart().is_some()));
            out.row([
                &number, "1", &file, paired, scope, quantity, unit, mean, se, low, high, lower, same, higher,
                apart,
            ]);
        };
        put("season", "still_days_per_month", "d", Some(&a.still_days_per_month));
        put("season", "still_days", "d", Some(&a.still_days));
        put("season", "dusk_run", "min", a.dusk_run_min.as_ref());
        put("season", "jet", "min", a.jet_min.as_ref());
        put("season", "battery_life", "years", a.life_years.as_ref());
        for m in &a.months {
            put(&format!("{:02}", m.month), "still_days", "d", Some(&m.still_days));
        }
        let currency = a.currency.as_deref().unwrap_or("");
        for (quantity, value) in [("price", a.price), ("price_per_still_day", a.price_per_still_day)] {
            let value = number_cell(value);
            out.row([
                &number, "1", &file, paired, "season", quantity, currency, &value, "", "", "", "", "", "", "",
            ]);
        }
    }
    out.bytes()
}
