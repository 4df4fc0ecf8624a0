//! The years of a fountain as long CSV: one number a row.

use super::cells::{Rows, number_cell, provenance, text_cell, yes_no};
use crate::study::years::plans::Plans;
use crate::study::years::{Tenths, YearsSummary};
use crate::tally::summary::Estimate;

/// `care.csv`: a plan of care a row, the design's own first.
pub fn care(plans: &Plans, s: &YearsSummary) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&s.first_year));
    out.row([
        "plan",
        "keys",
        "still_days_a_season",
        "still_days_a_season_low_95",
        "still_days_a_season_high_95",
        "against_own",
        "against_own_low",
        "against_own_high",
        "wish_met_in_all_years",
        "wish_met_low_95",
        "wish_met_high_95",
        "kept",
        "still_days_at_most",
        "visits",
        "cost",
        "cost_against_own",
        "on_frontier",
    ]);
    for p in &plans.list {
        let ends = p.still_days.interval_95;
        let against = p.still_days_against_own;
        out.row([
            text_cell(&p.name).to_string(),
            text_cell(&p.keys.join("; ")).to_string(),
            number_cell(Some(p.still_days.mean)),
            number_cell(ends.map(|i| i[0])),
            number_cell(ends.map(|i| i[1])),
            number_cell(against.map(|d| d.mean)),
            number_cell(against.and_then(|d| d.low)),
            number_cell(against.and_then(|d| d.high)),
            number_cell(Some(p.wish_met)),
            number_cell(Some(p.wish_met_95[0])),
            number_cell(Some(p.wish_met_95[1])),
            yes_no(p.kept).to_owned(),
            number_cell(p.still_days_at_most.map(f64::from)),
            number_cell(Some(p.visits.mean)),
            number_cell(p.cost.map(|c| c.mean)),
            number_cell(p.cost_against_own),
            yes_no(p.on_frontier).to_owned(),
        ]);
    }
    out.bytes()
}

/// `years.csv`: `year,quantity,statistic,value,low_95,high_95,unit`; an empty year: over all years.
pub fn years(s: &YearsSummary) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&s.first_year));
    out.row(["year", "quantity", "statistic", "value", "low_95", "high_95", "unit"]);
    let mut put = |year: &str, quantity: &str, statistic: &str, e: Estimate, unit: &str| {
        let ends = e.interval_95;
        let (value, low, high) =
            (number_cell(Some(e.mean)), number_cell(ends.map(|i| i[0])), number_cell(ends.map(|i| i[1])));
        out.row([year, quantity, statistic, &value, &low, &high, unit]);
    };
    let with = |value: f64, ends: [f64; 2]| Estimate { interval_95: Some(ends), ..Estimate::alone(value) };
    let tenths = |t: &Tenths| [("p10", t.p10, t.p10_95), ("p50", t.p50, t.p50_95), ("p90", t.p90, t.p90_95)];
    for y in &s.years {
        let year = y.year.to_string();
        let d = &y.still_days;
        put(&year, "still_days", "mean", d.estimate(), "d");
        for (name, value, ends) in
            [("p10", d.p10, d.p10_95), ("p50", d.p50, d.p50_95), ("p90", d.p90, d.p90_95)]
        {
            put(&year, "still_days", name, with(value, ends), "d");
        }
        put(&year, "wish_met", "share", with(y.wish_met, y.wish_met_95), "1");
        put(&year, "wish_met_so_far", "share", with(y.wish_met_so_far, y.wish_met_so_far_95), "1");
        put(&year, "first_missed", "share", with(y.first_missed, y.first_missed_95), "1");
        if let Some(e) = y.evenings_met {
            put(&year, "evenings_met", "mean", e, "1");
        }
        put(&year, "jet", "mean", y.jet_h, "h");
        put(&year, "pump_broken", "share", with(y.pump_broken, y.pump_broken_95), "1");
        if let Some((share, ends)) = y.mount_broken.zip(y.mount_broken_95) {
            put(&year, "mount_broken", "share", with(share, ends), "1");
        }
        for (name, value, ends) in y.battery_holds.iter().flat_map(tenths) {
            put(&year, "battery_holds", name, with(value, ends), "1");
        }
        if let Some((share, ends)) = y.battery_worn_out.zip(y.battery_worn_out_95) {
            put(&year, "battery_worn_out", "share", with(share, ends), "1");
        }
    }
    for p in &s.promise.first_years {
        if let Some(days) = p.still_days_at_most {
            put(&p.years.to_string(), "promise_still_days", "at_most", Estimate::alone(f64::from(days)), "d");
        }
    }
    put("", "promise_whole_wish", "years", Estimate::alone(f64::from(s.promise.wish_years)), "years");
    for m in &s.first_missed_with {
        put("", &format!("first_missed_with_{}", m.part), "share", with(m.share, m.share_95), "1");
    }
    for p in &s.parts {
        put("", &format!("{}_replaced", p.part), "mean", p.replaced, "1");
        put("", &format!("{}_replaced", p.part), "any", with(p.any, p.any_95), "1");
    }
    put("", "visits", "mean", s.visits, "1");
    if let Some(m) = &s.money {
        let currency = s.first_year.design.currency.as_deref().unwrap_or("currency");
        put("", "cost", "mean", m.total_mean, currency);
        for (name, value, ends) in tenths(&m.total) {
            put("", "cost", name, with(value, ends), currency);
        }
        put("", "cost_per_year", "mean", m.per_year, currency);
        if let Some(e) = m.per_jet_hour {
            put("", "cost_per_jet_hour", "mean", e, currency);
        }
    }
    out.bytes()
}
