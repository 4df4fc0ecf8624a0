//! Rival explanations of a logbook, weighed against each other.

use super::case::Case;
use super::explanation::Explanation;
use super::filter::Weighing;
use super::posterior::{island, likelihoods};
use super::tempering::{Effort, Row};
use crate::study::Engine;
use serde::Serialize;

/// Units of the one island of a rival explanation.
const RIVAL_ROWS: usize = 160;
/// An explanation, weighed.
#[derive(Clone, Debug, Serialize)]
pub struct Weighed {
    /// The explanation.
    #[serde(serialize_with = "key_of")]
    pub explanation: Explanation,
    /// ln of its evidence.
    pub log_evidence: f64,
    /// Probability among all weighed.
    pub weight: f64,
    /// Units that agree with the logbook under it.
    #[serde(skip)]
    pub rows: Vec<Row>,
}

fn key_of<S: serde::Serializer>(e: &Explanation, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(e.key())
}

/// Weighs the faults that the design can have beside the sound fountain, of which `sound` are the ln evidence and the units; likeliest first.
/// `None` if it was stopped.
pub fn weighed(
    engine: &Engine<'_>,
    case: &Case<'_>,
    (effort, sound): (Effort, (f64, Vec<Row>)),
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Option<Vec<Weighed>> {
    let rivals: Vec<Explanation> =
        Explanation::ALL[1..].iter().copied().filter(|e| e.applies(&case.design)).collect();
    let effort = Effort { rows: RIVAL_ROWS.min(effort.rows), draws_max: effort.draws, ..effort };
    expect(likelihoods(effort, rivals.len() as u64));
    let mut found = vec![(Explanation::Sound, sound.0, sound.1)];
    for (k, &explanation) in rivals.iter().enumerate() {
        let weighing = Weighing { case, explanation };
        let island = island(engine, &weighing, effort, 2 + k as u64, tick)?;
        found.push((explanation, island.log_evidence, island.rows));
    }
    let logs: Vec<f64> = found.iter().map(|(e, l, _)| libm::log(e.prior()) + l).collect();
    let weights = super::resample::log_sum(&logs).1;
    let mut weighed: Vec<Weighed> = found
        .into_iter()
        .zip(weights)
        .map(|((explanation, log_evidence, rows), weight)| Weighed {
            explanation,
            log_evidence,
            weight,
            rows,
        })
        .collect();
    weighed.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.explanation.cmp(&b.explanation)));
    Some(weighed)
}
