//! Rival explanations of a logbook, weighed against each other.

use super::case::Case;
use super::doubts::{chances_of_wrong, doubted};
use super::explanation::Explanation;
use super::filter::Weighing;
use super::posterior::{island, likelihoods};
use super::tempering::{Effort, Island, Row};
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
    /// Lines of the entries that are probably wrong if it is right.
    pub doubted: Vec<usize>,
    /// Units that agree with the logbook under it.
    #[serde(skip)]
    pub rows: Vec<Row>,
}

fn key_of<S: serde::Serializer>(e: &Explanation, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(e.key())
}

impl Weighed {
    /// A sound fountain, before its rivals are weighed.
    pub fn sound(log_evidence: f64, rows: Vec<Row>, doubted: Vec<usize>) -> Weighed {
        Weighed { explanation: Explanation::Sound, log_evidence, weight: 1.0, doubted, rows }
    }
}

/// Weighs the faults that the design can have beside the sound fountain; likeliest first. `None` if it was stopped.
pub fn weighed(
    engine: &Engine<'_>,
    case: &Case<'_>,
    (effort, sound): (Effort, Weighed),
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Option<Vec<Weighed>> {
    let rivals: Vec<Explanation> =
        Explanation::ALL[1..].iter().copied().filter(|e| e.applies(&case.design)).collect();
    let effort = Effort { rows: RIVAL_ROWS.min(effort.rows), ..effort };
    expect(likelihoods(effort, rivals.len() as u64));
    let mut weighed = vec![sound];
    for (k, &explanation) in rivals.iter().enumerate() {
        let weighing = Weighing { case, explanation };
        let Island { log_evidence, rows, draws, .. } = island(engine, &weighing, effort, 2 + k as u64, tick)?;
        let doubted = doubted(case, &chances_of_wrong(engine, &weighing, &rows, draws));
        weighed.push(Weighed { explanation, log_evidence, weight: 0.0, doubted, rows });
    }
    let logs: Vec<f64> = weighed.iter().map(|w| libm::log(w.explanation.prior()) + w.log_evidence).collect();
    for (w, weight) in weighed.iter_mut().zip(super::resample::log_sum(&logs).1) {
        w.weight = weight;
    }
    weighed.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.explanation.cmp(&b.explanation)));
    Some(weighed)
}
