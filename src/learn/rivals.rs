//! Rival explanations of a logbook, weighed against each other, and what their weights say.

use super::case::Case;
use super::explanation::Explanation;
use super::filter::Weighing;
use super::posterior::{island, likelihoods};
use super::tempering::Effort;
use crate::study::Engine;
use serde::Serialize;

/// Units of the one island of a rival explanation.
const RIVAL_ROWS: usize = 160;
/// Weight and gain in ln evidence from which a fault is named (Kass & Raftery 1995, JASA 90:773-795, from memory: 3 is strong).
const NAMED_WEIGHT: f64 = 0.5;
const NAMED_GAIN: f64 = 3.0;

/// An explanation, weighed.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Weighed {
    /// The explanation.
    #[serde(serialize_with = "key_of")]
    pub explanation: Explanation,
    /// ln of its evidence.
    pub log_evidence: f64,
    /// Probability among all weighed.
    pub weight: f64,
}

fn key_of<S: serde::Serializer>(e: &Explanation, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(e.key())
}

/// Weighs the faults that the design can have beside the sound fountain, whose ln evidence is `sound`; likeliest first. `None` if it was
/// stopped.
pub fn weighed(
    engine: &Engine<'_>,
    case: &Case<'_>,
    (effort, sound): (Effort, f64),
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Option<Vec<Weighed>> {
    let rivals: Vec<Explanation> =
        Explanation::ALL[1..].iter().copied().filter(|e| e.applies(&case.design)).collect();
    let effort = Effort { rows: RIVAL_ROWS.min(effort.rows), draws_max: effort.draws, ..effort };
    expect(likelihoods(effort, rivals.len() as u64));
    let mut found = vec![(Explanation::Sound, sound)];
    for (k, &explanation) in rivals.iter().enumerate() {
        let weighing = Weighing { case, explanation };
        let island = island(engine, &weighing, effort, 2 + k as u64, tick)?;
        found.push((explanation, island.log_evidence));
    }
    let logs: Vec<f64> = found.iter().map(|(e, l)| libm::log(e.prior()) + l).collect();
    let weights = super::resample::log_sum(&logs).1;
    let mut weighed: Vec<Weighed> = found
        .iter()
        .zip(weights)
        .map(|(&(explanation, log_evidence), weight)| Weighed { explanation, log_evidence, weight })
        .collect();
    weighed.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.explanation.cmp(&b.explanation)));
    Some(weighed)
}

/// What the explanations say, in words. `apart`: difference of ln evidence between two runs of the sound one; `doubted`: lines of the
/// entries that agree with no sound unit.
pub fn verdict(weighed: &[Weighed], apart: f64, doubted: &[usize]) -> String {
    let [first, second, ..] = weighed else {
        return match doubted {
            [] => "The logbook agrees with the design; no fault shows.".to_owned(),
            lines => format!("{} with no unit of the design.", agree(lines)),
        };
    };
    let sound = weighed.iter().find(|w| w.explanation == Explanation::Sound).map_or(0.0, |w| w.log_evidence);
    let named = first.weight > NAMED_WEIGHT && first.log_evidence - sound > NAMED_GAIN + apart;
    if first.explanation == Explanation::Sound && first.weight > NAMED_WEIGHT {
        let rest = match doubted {
            [] => String::new(),
            lines => format!(" {} with neither: look for a slip of the pen.", agree(lines)),
        };
        return format!("No fault explains the logbook better than a sound fountain does.{rest}");
    }
    if named {
        return format!(
            "Most likely {} ({:.0} % of the weight). To be sure, read {}.",
            first.explanation.words(),
            100.0 * first.weight,
            first.explanation.seen_by()
        );
    }
    let telling = [first, second].iter().find(|w| w.explanation != Explanation::Sound).map_or(first, |w| *w);
    format!(
        "Either {} or {}: these entries cannot tell. What parts them: {}.",
        first.explanation.words(),
        second.explanation.words(),
        telling.explanation.seen_by()
    )
}

/// `Line 9 agrees`, `Lines 9, 12 and 14 agree`.
fn agree(lines: &[usize]) -> String {
    let names: Vec<String> = lines.iter().map(usize::to_string).collect();
    match &names[..] {
        [one] => format!("Line {one} agrees"),
        [most @ .., last] => format!("Lines {} and {last} agree", most.join(", ")),
        [] => String::new(),
    }
}
