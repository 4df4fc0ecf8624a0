//! Which entries an explanation cannot have made: some of its units speak of each.

use super::case::Case;
use super::filter::{EntryRecord, Weighing, records};
use super::posterior::mean;
use super::resample::evenly;
use super::tempering::Row;
use crate::study::Engine;
use rayon::prelude::*;

/// Probability of being wrong from which an entry is doubted.
pub const FLAGGED: f64 = 0.5;
/// Units that speak of each entry.
const SPEAKERS: usize = 96;

/// What some units, evenly taken from `rows`, say of each entry of the case, by unit; `draws` paths of weather each.
pub(super) fn spoken(
    engine: &Engine<'_>,
    weighing: &Weighing<'_>,
    rows: &[Row],
    draws: usize,
) -> Vec<Vec<EntryRecord>> {
    let speakers: Vec<&Row> = evenly(rows, SPEAKERS).collect();
    engine.pool.install(|| speakers.par_iter().map(|r| records(weighing, &r.z, draws, r.key)).collect())
}

/// Probability of each entry of the case that it is wrong, if the explanation of these units is right.
pub fn chances_of_wrong(
    engine: &Engine<'_>,
    weighing: &Weighing<'_>,
    rows: &[Row],
    draws: usize,
) -> Vec<f64> {
    let spoken = spoken(engine, weighing, rows, draws);
    let wrong = |k: usize| mean(&spoken.iter().map(|r| r[k].wrong).collect::<Vec<_>>());
    (0..weighing.case.entries.len()).map(wrong).collect()
}

/// Lines of the entries that are then probably wrong, in their order.
pub fn doubted(case: &Case<'_>, chances: &[f64]) -> Vec<usize> {
    let entries = case.entries.iter().zip(chances);
    in_order(entries.filter(|(e, p)| e.is_observation() && **p > FLAGGED).map(|(e, _)| e.line))
}

/// Lines in their order.
pub(super) fn in_order(lines: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut lines: Vec<usize> = lines.collect();
    lines.sort_unstable();
    lines
}

/// `line 9`, `lines 9, 12 and 14`.
pub(super) fn named(lines: &[usize]) -> String {
    let names: Vec<String> = lines.iter().map(usize::to_string).collect();
    match &names[..] {
        [one] => format!("line {one}"),
        [most @ .., last] => format!("lines {} and {last}", most.join(", ")),
        [] => String::new(),
    }
}
