//! Tables of comparisons and remedies.

use super::{Rows, cell, one_line, provenance, yes};
use crate::study::compare::Comparison;
use crate::study::paired::Difference;
use crate::study::remedies::Remedies;
use crate::tally::summary::Estimate;

/// `compare.csv`: a number a row. Rows with an empty `against` are designs alone; the others are
/// differences from design 1, with their 95 % interval.
pub fn compare(c: &Comparison) -> Vec<u8> {
    let Some(first) = c.designs.first() else { return Vec::new() };
    let mut out = Rows::below(provenance(first));
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
        let (number, file) = ((i + 1).to_string(), one_line(&s.design.file));
        let mut row = |scope: &str, quantity: &str, unit: &str, mean: Option<f64>, se: Option<f64>| {
            let (mean, se) = (cell(mean), cell(se));
            out.row([&number, "", &file, "", scope, quantity, unit, &mean, &se, "", "", "", "", "", ""]);
        };
        let mut put = |scope: &str, quantity: &str, unit: &str, e: Option<Estimate>| {
            row(scope, quantity, unit, e.map(|e| e.mean), e.and_then(|e| e.se));
        };
        put("season", "still_days_per_month", "d", Some(s.season.still_days_per_month));
        put("season", "still_days", "d", Some(crate::report::words::mean_of(&s.season.still_days)));
        put(
            "season",
            "dusk_run",
            "min",
            s.season.dusk_run_min.as_ref().map(crate::report::words::mean_minutes),
        );
        put("season", "jet", "min", Some(s.season.jet_min));
        let alone = |mean: f64| Estimate { mean, se: None };
        put("season", "battery_life", "years", s.battery.as_ref().and_then(|b| b.life_years).map(alone));
        put("season", "price", "", s.design.price.map(alone));
        for m in &s.months {
            let scope = format!("{:02}", m.month);
            put(&scope, "still_days", "d", Some(crate::report::words::mean_of(&m.still_days)));
        }
    }
    for a in &c.differences {
        let (number, paired) = ((a.design + 1).to_string(), yes(a.paired));
        let file = c.designs.get(a.design).map(|s| one_line(&s.design.file)).unwrap_or_default();
        let mut put = |scope: &str, quantity: &str, unit: &str, d: Option<&Difference>| {
            let numbers = numbers(d);
            let [mean, se, low, high, lower, same, higher] = numbers.each_ref().map(String::as_str);
            let apart = d.map_or("", |d| yes(d.told_apart().is_some()));
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
        for (quantity, value) in [("price", a.price), ("price_per_still_day", a.price_per_still_day)] {
            let value = cell(value);
            out.row([
                &number, "1", &file, paired, "season", quantity, "", &value, "", "", "", "", "", "", "",
            ]);
        }
    }
    out.bytes()
}

/// `remedies.csv`: a remedy a row, best first; then, without a rank, those refused.
pub fn remedies(r: &Remedies) -> Vec<u8> {
    let mut out = Rows::below(provenance(&r.design));
    out.row([
        "rank",
        "remedy",
        "own",
        "trials",
        "price",
        "price_per_still_day",
        "still_days_per_month",
        "still_days_per_month_se",
        "still_days_per_month_low_95",
        "still_days_per_month_high_95",
        "chance_fewer",
        "chance_same",
        "chance_more",
        "told_apart",
        "dusk_run_min",
        "dusk_run_min_se",
        "dusk_run_min_low_95",
        "dusk_run_min_high_95",
        "jet_min",
        "life_years",
        "why",
    ]);
    for (i, w) in r.ranked.iter().enumerate() {
        let a = &w.against;
        let [mean, se, low, high, lower, same, higher] = numbers(Some(&a.still_days_per_month));
        let [dusk, dusk_se, dusk_low, dusk_high, ..] = numbers(a.dusk_run_min.as_ref());
        let fields = [
            (i + 1).to_string(),
            one_line(&w.name),
            yes(w.own).to_owned(),
            w.trials.to_string(),
            cell(a.price),
            cell(a.price_per_still_day),
            mean,
            se,
            low,
            high,
            lower,
            same,
            higher,
            yes(a.still_days.told_apart().is_some()).to_owned(),
            dusk,
            dusk_se,
            dusk_low,
            dusk_high,
            cell(a.jet_min.map(|d| d.mean)),
            cell(a.life_years.map(|d| d.mean)),
            one_line(&w.why),
        ];
        out.row(fields.each_ref().map(String::as_str));
    }
    for refused in &r.refused {
        let mut fields = [""; 21];
        let (name, why) = (one_line(&refused.name), one_line(&refused.why));
        (fields[1], fields[2], fields[20]) = (&name, "yes", &why);
        out.row(fields);
    }
    out.bytes()
}

fn numbers(d: Option<&Difference>) -> [String; 7] {
    let of = |f: fn(&Difference) -> Option<f64>| cell(d.and_then(f));
    [
        of(|d| Some(d.mean)),
        of(|d| d.se),
        of(|d| d.low),
        of(|d| d.high),
        of(|d| d.chance_lower),
        of(|d| d.chance_same),
        of(|d| d.chance_higher),
    ]
}
