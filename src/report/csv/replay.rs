//! The days of a replayed season.

use super::cells::{Rows, number_cell, text_cell};
use crate::study::replay::Replay;

/// `replay.csv`: a day a row.
pub fn replay(r: &Replay) -> Vec<u8> {
    let comment = format!(
        "# stilldays {} · seed {} · {} trials · days of {} sha256 {}\n",
        crate::VERSION,
        r.seed,
        r.trials,
        text_cell(&r.days_from[0]),
        text_cell(&r.days_from[1])
    );
    let mut out = Rows::with_comment(comment);
    out.row([
        "date",
        "ghi_kwh_m2",
        "clearness",
        "wanted_min",
        "jet_min",
        "jet_min_p10",
        "jet_min_p90",
        "still_share",
        "dusk_run_min",
        "soc_at_sunset",
    ]);
    for d in &r.days {
        let n = |x: f64| number_cell(Some(x));
        out.row([
            d.date.clone(),
            n(d.ghi_kwh_m2),
            number_cell(d.clearness),
            n(d.wanted_min),
            n(d.jet_min),
            n(d.jet_min_80[0]),
            n(d.jet_min_80[1]),
            n(d.still),
            number_cell(d.dusk_run_min),
            number_cell(d.soc_at_sunset),
        ]);
    }
    out.bytes()
}
