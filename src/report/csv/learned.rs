//! Tables of a learned logbook.

use super::cells::{Rows, number_cell, provenance, text_cell, yes_no};
use crate::learn::Findings;

/// `quantities.csv`: each uncertain quantity before and now.
pub fn learned_quantities(f: &Findings) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&f.before));
    out.row(["key", "unit", "before_mean", "before_sd", "now_mean", "now_sd", "now_p10", "now_p90", "moved"]);
    for q in &f.quantities {
        let n = |x: f64| number_cell(Some(x));
        out.row([
            text_cell(&q.key),
            q.unit.to_owned(),
            n(q.before[0]),
            n(q.before[1]),
            n(q.now[0]),
            n(q.now[1]),
            n(q.now_80[0]),
            n(q.now_80[1]),
            yes_no(q.moved).to_owned(),
        ]);
    }
    out.bytes()
}

/// `entries.csv`: each entry against what the units expect. Times are minutes after midnight by the owner's clock.
pub fn learned_entries(f: &Findings) -> Vec<u8> {
    let mut out = Rows::with_comment(provenance(&f.before));
    out.row([
        "line",
        "entry",
        "noted",
        "expected_p50",
        "expected_p10",
        "expected_p90",
        "agree",
        "nothing_to_read",
        "wrong",
        "flagged",
    ]);
    for e in &f.entries {
        let at = |k: usize| number_cell(e.expected.map(|x| x[k]));
        out.row([
            e.line.to_string(),
            text_cell(&e.text),
            number_cell(e.noted),
            at(0),
            at(1),
            at(2),
            number_cell(e.is_yes_no.then_some(e.share)),
            number_cell((!e.is_yes_no).then_some(e.share)),
            number_cell(Some(e.wrong)),
            yes_no(e.flagged).to_owned(),
        ]);
    }
    out.bytes()
}
