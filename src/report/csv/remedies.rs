//! The table of remedies.

use super::cells::{Rows, difference_cells, number_cell, provenance, text_cell, yes_no};
use crate::study::remedies::Remedies;

/// `remedies.csv`: a remedy a row, best first; then, without a rank, those refused.
pub fn remedies(r: &Remedies) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&r.design));
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
        "low_water_min",
        "low_water_min_low_95",
        "low_water_min_high_95",
        "jet_min",
        "life_years",
        "why",
    ]);
    for (i, w) in r.ranked.iter().enumerate() {
        let a = &w.against;
        let [mean, se, low, high, lower, same, higher] = difference_cells(Some(&a.still_days_per_month));
        let [low_water, _, low_water_low, low_water_high, ..] = difference_cells(w.low_water_min.as_ref());
        let [dusk, dusk_se, dusk_low, dusk_high, ..] = difference_cells(a.dusk_run_min.as_ref());
        let fields = [
            (i + 1).to_string(),
            text_cell(&w.name),
            yes_no(w.own).to_owned(),
            w.trials.to_string(),
            number_cell(a.price),
            number_cell(a.price_per_still_day),
            mean,
            se,
            low,
            high,
            lower,
            same,
            higher,
            yes_no(a.still_days.told_apart().is_some()).to_owned(),
            dusk,
            dusk_se,
            dusk_low,
            dusk_high,
            low_water,
            low_water_low,
            low_water_high,
            number_cell(a.jet_min.map(|d| d.mean)),
            number_cell(a.life_years.map(|d| d.mean)),
            text_cell(&w.why),
        ];
        out.row(fields.each_ref().map(String::as_str));
    }
    for refused in &r.refused {
        let mut fields = [""; 24];
        let (name, why) = (text_cell(&refused.name), text_cell(&refused.why));
        (fields[1], fields[2], fields[23]) = (&name, "yes", &why);
        out.row(fields);
    }
    out.bytes()
}
