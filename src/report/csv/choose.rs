//! The table of a choice from a shelf.

use super::cells::{Rows, number_cell, provenance, text_cell, yes_no};
use crate::design::shelf::Kind;
use crate::study::choose::{Candidate, Choice};
use crate::tally::summary::Estimate;

/// `choose.csv`: a build a row, cheapest first; then, without a place, those that do not go together, by reason.
pub fn choose(c: &Choice) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&c.summary));
    out.row([
        "place",
        "panel",
        "battery",
        "pump",
        "mount",
        "price",
        "standing",
        "named",
        "frontier",
        "trials",
        "good_years",
        "good_years_low_95",
        "good_years_high_95",
        "still_days_per_month",
        "still_days_per_month_se",
        "still_days_per_month_low_95",
        "still_days_per_month_high_95",
        "still_days_per_month_places_low_80",
        "still_days_per_month_places_high_80",
        "holds_at_places",
        "worst_month_still_days",
        "dusk_run_min",
        "dusk_run_min_se",
        "refused_builds",
        "why",
    ]);
    let listed = |list: &[Candidate], b: &Candidate| list.iter().any(|o| o.place == b.place);
    let mean = |e: Option<Estimate>| number_cell(e.map(|e| e.mean));
    let error = |e: Option<Estimate>| number_cell(e.and_then(|e| e.se));
    let end = |e: Option<Estimate>, k: usize| number_cell(e.and_then(|e| e.interval_95).map(|i| i[k]));
    for b in &c.builds {
        let part = |kind: Kind| {
            b.parts.iter().find(|(k, _)| *k == kind).map(|(_, name)| text_cell(name)).unwrap_or_default()
        };
        let named = c.best.as_ref().is_some_and(|best| best.place == b.place);
        let fields = [
            b.place.to_string(),
            part(Kind::Panel),
            part(Kind::Battery),
            part(Kind::Pump),
            part(Kind::Mount),
            number_cell(Some(b.price)),
            standing(b).to_owned(),
            yes_no(named).to_owned(),
            yes_no(listed(&c.frontier, b)).to_owned(),
            b.trials.to_string(),
            number_cell(b.good_years),
            number_cell(Some(b.good_years_low)),
            number_cell(Some(b.good_years_high)),
            mean(b.still_days_per_month),
            error(b.still_days_per_month),
            end(b.still_days_per_month, 0),
            end(b.still_days_per_month, 1),
            number_cell(b.still_days_per_month_places_80.map(|r| r[0])),
            number_cell(b.still_days_per_month_places_80.map(|r| r[1])),
            b.holds_at_places.map_or("", yes_no).to_owned(),
            mean(b.worst_month_still_days),
            mean(b.dusk_run_min),
            error(b.dusk_run_min),
            String::new(),
            String::new(),
        ];
        out.row(fields.each_ref().map(String::as_str));
    }
    for r in &c.refused {
        let mut fields = [""; 25];
        let (parts, builds) = (text_cell(&r.parts.join(" + ")), r.builds.to_string());
        let why = format!("{parts}: {}", text_cell(&r.why));
        (fields[6], fields[23], fields[24]) = ("refused", &builds, &why);
        out.row(fields);
    }
    out.bytes()
}

fn standing(b: &Candidate) -> &'static str {
    use crate::study::choose::Standing;
    match b.standing {
        Standing::Meets => "meets",
        Standing::Fails => "fails",
        Standing::Open => "open",
        Standing::Dearer => "dearer",
    }
}
