//! The reading that parts two explanations: each reading of the field card is simulated for units of both, and the one from which it is
//! best told which explanation a unit came from is named.
//!
//! The worth of a reading for that is the expected drop of the variance of "it was the first", as for any other figure (see `value`).

use super::card::{candidate_book, candidate_names};
use super::case::Case;
use super::density::Shown;
use super::explanation::Explanation;
use super::filter::unweighed_unit;
use super::resample::evenly;
use super::rivals::Weighed;
use super::value::{Readings, gain};
use crate::logbook::Entry;
use crate::study::{Engine, Plan};
use crate::units::letters::small;
use rayon::prelude::*;

/// Units of each explanation.
const UNITS: usize = 160;
/// A reading is in the logbook already if the same was read within so many minutes of that time of day.
const SAME_TIME_MIN: f64 = 180.0;
/// Share of the variance from which a reading is worth naming.
const WORTH_NAMING: f64 = 0.1;

/// What parts two explanations.
#[derive(Clone, Debug, PartialEq)]
pub struct Parting {
    /// The reading, for people; none if no single reading of the card does.
    pub reading: Option<String>,
}

/// The reading of the field card that best parts the first two explanations, of those that the logbook does not have yet. `None` if there are
/// no two.
pub fn parting(engine: &Engine<'_>, plan: &Plan, case: &Case<'_>, weighed: &[Weighed]) -> Option<Parting> {
    let [first, second, ..] = weighed else { return None };
    if first.rows.is_empty() || second.rows.is_empty() {
        return None;
    }
    let book = candidate_book(plan);
    let card = Case::new(plan, &book, None, engine.isa, engine.seed);
    let units: Vec<(Explanation, &[f64])> = [first, second]
        .iter()
        .flat_map(|w| evenly(&w.rows, UNITS).map(|row| (w.explanation, &row.z[..])))
        .collect();
    let shown: Vec<Vec<Shown>> = engine.pool.install(|| {
        units
            .par_iter()
            .enumerate()
            .map(|(k, (explanation, z))| {
                let mut unit = card.unit(*explanation, z);
                // By the day of the reading what happens from some day on has happened.
                unit.design.pump.blocked_from_day = unit.design.pump.blocked_from_day.map(|_| 0);
                unweighed_unit(&card, &unit, k as u64)
            })
            .collect()
    });
    let is_first: Vec<f64> =
        units.iter().map(|(explanation, _)| f64::from(u8::from(*explanation == first.explanation))).collect();
    let best = (0..book.entries.len())
        .filter(|&k| !stands_in(case.entries, &book.entries[k]))
        .map(|k| {
            let readings: Readings = super::card::readings(&card, k, &shown);
            (gain(&is_first, &[&readings]), k)
        })
        .filter(|(gain, _)| gain.is_clear() && gain.share() > WORTH_NAMING)
        .max_by(|(a, i), (b, j)| a.share().total_cmp(&b.share()).then(j.cmp(i)));
    let names = candidate_names(plan);
    Some(Parting { reading: best.map(|(_, k)| small(&names[k])) })
}

/// Whether a logbook has a reading already.
fn stands_in(entries: &[Entry], reading: &Entry) -> bool {
    entries.iter().any(|e| {
        let same_time = match (e.minute, reading.minute) {
            (Some(a), Some(b)) => (a - b).abs() < SAME_TIME_MIN,
            (a, b) => a.is_none() || b.is_none(),
        };
        e.what == reading.what && e.tests == reading.tests && same_time
    })
}
