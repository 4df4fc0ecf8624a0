//! Two islands of units, what they agree on, and whether to trust them.

use super::case::Case;
use super::explanation::Explanation;
use super::filter::Weighing;
use super::resample::{evenly, log_sum, systematic};
use super::tempering::{Effort, Island, Row, Target, Watcher, deepen, scatters, temper};
use crate::design::Design;
use crate::seed::{Purpose, open_unit, stream};
use crate::study::unit_figures::{UnitFigures, unit_figures};
use crate::study::{Engine, Plan};
use rand::RngExt;
use rayon::prelude::*;
use sha2::{Digest, Sha256};

/// Units of the result.
pub const UNITS: usize = 1024;
/// Units of each island, and of a thin one.
const ROWS: usize = 256;
const THIN_ROWS: usize = 128;
/// Moves of each moving unit at a temperature.
const SWEEPS: usize = 3;
/// Paths on days without entries.
const DRAWS_BETWEEN: usize = 16;
/// Unit-days that the two islands may cost before the effort is thin, and before it is refused: with rivals about four minutes and an hour on
/// two cores.
const THIN_FROM: f64 = 12e6;
const REFUSED_FROM: f64 = 150e6;
/// Likelihoods that an island computes for each of its units, about; and what these cost, in likelihoods with all paths.
const PASSES: f64 = 12.0;
const FULL_PASSES: f64 = 9.5;
/// Units of each island whose seasons are compared, and seasons of each.
const COMPARED: usize = 128;
const SEASONS: usize = 4;
/// Units whose likelihood is estimated again, and how often, to see how noisy it is: with 112 degrees of freedom the standard deviation is known to
/// some 7 % (a normal error's; 11 % with the 40 of eight units and six repeats, by which good logbooks were refused).
const NOISE_UNITS: usize = 16;
const NOISE_REPEATS: u64 = 8;

/// Independent runs.
const ISLANDS: u64 = 2;
/// Paths of weather up to which the likelihood may ask for more: an entry that hardly any weather explains, such as a stop noted hours off, is met by
/// one path in a hundred.
const DRAWS_MAX: usize = 256;

/// Limits beyond which a result is refused.
const STILL_DAYS_APART_SD: f64 = 0.5;
const EVIDENCE_APART: f64 = 2.0;
const ACCEPTANCE_MIN: f64 = 0.05;
const DISTINCT_MIN: usize = 100;
const NOISE_MAX: f64 = 1.7;
/// Difference of the islands' evidence up to which they are pooled by it.
const POOLED_UP_TO: f64 = 1.0;

/// How hard a logbook is tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearnEffort {
    /// Units of each island; `None`: by the size of the logbook.
    pub rows: Option<usize>,
    /// Paths of weather of each unit; `None`: by the number of entries.
    pub draws: Option<usize>,
}

/// What was made of a logbook under one explanation.
pub struct Posterior {
    /// Units that agree with the logbook, equally likely, in no order.
    pub rows: Vec<Row>,
    /// The islands.
    pub islands: Vec<Island>,
    /// The effort.
    pub effort: Effort,
    /// Different units among the rows.
    pub distinct: usize,
    /// Standard deviation of the estimated log likelihood of a unit.
    pub noise: f64,
    /// Means of still days of each island, and the standard deviation between units.
    pub still_days: Vec<f64>,
    /// Standard deviation of still days between units.
    pub still_days_sd: f64,
    /// Why the result is refused, if it is.
    pub refusals: Vec<String>,
    /// What else the user should know.
    pub notes: Vec<String>,
}

impl Posterior {
    /// ln of the evidence: the mean of the islands' evidences.
    pub fn log_evidence(&self) -> f64 {
        let logs: Vec<f64> = self.islands.iter().map(|i| i.log_evidence).collect();
        log_sum(&logs).0 - libm::log(logs.len() as f64)
    }

    /// Largest difference of the islands' ln evidence.
    pub fn evidence_apart(&self) -> f64 {
        let logs = self.islands.iter().map(|i| i.log_evidence);
        logs.clone().fold(f64::NEG_INFINITY, f64::max) - logs.fold(f64::INFINITY, f64::min)
    }

    /// Acceptance of the last moves, the lower of the islands.
    pub fn acceptance(&self) -> f64 {
        self.islands.iter().map(|i| i.acceptance).fold(f64::INFINITY, f64::min)
    }
}

/// Paths of weather that so many entries ask for; they are doubled at the end if these were too few.
fn draws_for(entries: usize) -> usize {
    match entries {
        0..=20 => 32,
        21..=40 => 64,
        _ => 128,
    }
}

/// The effort for a logbook, and whether it is thin; or why it is refused.
///
/// # Errors
/// The logbook asks for more than can be computed.
pub fn effort_for(case: &Case<'_>, wanted: LearnEffort) -> Result<(Effort, bool), String> {
    let draws = wanted.draws.unwrap_or_else(|| draws_for(case.entries.len()));
    let (logged, all) = (case.schedule.logged(), case.schedule.days.len());
    let path_days = (logged * draws + (all - logged) * DRAWS_BETWEEN.min(draws)) as f64;
    let cost = |rows: usize| 2.0 * FULL_PASSES * rows as f64 * path_days;
    let rows = wanted.rows.unwrap_or(if cost(ROWS) > THIN_FROM { THIN_ROWS } else { ROWS });
    if wanted.rows.is_none() && cost(rows) > REFUSED_FROM {
        return Err(format!(
            "the logbook speaks of {} days ({} of them to be simulated) in {} entries: that is more than can be learned from in reasonable time. Keep the days that tell most, some 10 to 30 entries",
            case.schedule.logged(),
            case.schedule.days.len(),
            case.entries.len()
        ));
    }
    Ok((
        Effort { rows, draws, draws_max: wanted.draws.unwrap_or(DRAWS_MAX.max(draws)), sweeps: SWEEPS },
        wanted.rows.is_none() && rows < ROWS,
    ))
}

/// Likelihoods that a learning computes, about: for a progress bar.
pub fn likelihoods(effort: Effort, islands: u64) -> u64 {
    (PASSES * effort.rows as f64) as u64 * islands
}

fn watcher<'a>(engine: &Engine<'a>, weighing: &Weighing<'_>, tick: &'a (dyn Fn() + Sync)) -> Watcher<'a> {
    let name = || Sha256::new().chain_update(weighing.case.name).chain_update(weighing.explanation.key());
    Watcher { tick, stop: engine.stop, kept: engine.journal.map(|j| (j, name().finalize().into())) }
}

/// One island under an explanation; `None` if it was stopped.
pub fn island(
    engine: &Engine<'_>,
    weighing: &Weighing<'_>,
    effort: Effort,
    number: u64,
    tick: &(dyn Fn() + Sync),
) -> Option<Island> {
    let watcher = watcher(engine, weighing, tick);
    engine.pool.install(|| temper(weighing, effort, (weighing.case.seed, number), &watcher))
}

/// Learns with two islands; `None` if it was stopped.
pub fn learn(
    engine: &Engine<'_>,
    plan: &Plan,
    weighing: &Weighing<'_>,
    (effort, thin): (Effort, bool),
    tick: &(dyn Fn() + Sync),
) -> Option<Posterior> {
    let mut islands = Vec::new();
    for number in 0..ISLANDS {
        islands.push(island(engine, weighing, effort, number, tick)?);
    }
    let mut effort =
        Effort { draws: islands.iter().map(|i| i.draws).max().unwrap_or(effort.draws), ..effort };
    let mut uncertainty = noise(engine, weighing, &islands, effort.draws);
    // The result would be refused.
    while uncertainty > NOISE_MAX && effort.draws < effort.draws_max {
        effort.draws *= 2;
        let watcher = watcher(engine, weighing, tick);
        islands = engine.pool.install(|| {
            let deeper = (0..).zip(islands).map(|(number, island)| {
                deepen(weighing, island, (effort, weighing.case.seed, number), &watcher)
            });
            deeper.collect::<Option<Vec<_>>>()
        })?;
        uncertainty = noise(engine, weighing, &islands, effort.draws);
    }
    let case = weighing.case;
    let figures: Vec<Vec<UnitFigures>> = islands
        .iter()
        .map(|island| unit_figures(engine, plan, &spread(case, &island.rows, COMPARED), SEASONS))
        .collect();
    if engine.stopped() {
        return None;
    }
    let still: Vec<Vec<f64>> = figures.iter().map(|f| f.iter().map(|u| u.still_days).collect()).collect();
    let mut posterior = Posterior {
        rows: pooled(&islands, case.seed),
        effort,
        distinct: 0,
        noise: uncertainty,
        still_days: still.iter().map(|s| mean(s)).collect(),
        still_days_sd: sd(&still.concat()),
        refusals: Vec::new(),
        notes: Vec::new(),
        islands,
    };
    let different: std::collections::BTreeSet<u64> = posterior.rows.iter().map(|r| r.key).collect();
    posterior.distinct = different.len();
    judge(&mut posterior, thin);
    Some(posterior)
}

/// Some rows as units, evenly taken.
pub(crate) fn spread(case: &Case<'_>, rows: &[Row], n: usize) -> Vec<Design<f64>> {
    evenly(rows, n).map(|r| case.unit(Explanation::Sound, &r.z[..case.keys.len()]).design).collect()
}

/// The rows of all islands in one: weighed by their evidence if they agree on it. In no order.
fn pooled(islands: &[Island], seed: u64) -> Vec<Row> {
    let logs: Vec<f64> = islands.iter().map(|i| i.log_evidence).collect();
    let apart = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - logs.iter().copied().fold(f64::INFINITY, f64::min);
    let shares = if apart <= POOLED_UP_TO { log_sum(&logs).1 } else { vec![1.0; logs.len()] };
    let weights: Vec<f64> = islands
        .iter()
        .zip(&shares)
        .flat_map(|(island, share)| vec![share / island.rows.len() as f64; island.rows.len()])
        .collect();
    let all: Vec<&Row> = islands.iter().flat_map(|i| &i.rows).collect();
    let mut rng = stream(seed, Purpose::Learn("pool"), 0, 0);
    let u = open_unit(&mut rng);
    let mut rows: Vec<Row> = systematic(&weights, UNITS, u).into_iter().map(|k| all[k].clone()).collect();
    // A trial takes the row of its number: neighbours must not be alike.
    for k in (1..rows.len()).rev() {
        let other = rng.random::<u32>() as usize % (k + 1);
        rows.swap(k, other);
    }
    rows
}

/// Standard deviation of the estimated log likelihood, over repeats of some units.
fn noise(engine: &Engine<'_>, weighing: &Weighing<'_>, islands: &[Island], draws: usize) -> f64 {
    let Some(first) = islands.first().filter(|_| weighing.is_noisy()) else { return 0.0 };
    let some = (0..).zip(evenly(&first.rows, NOISE_UNITS));
    let jobs: Vec<(u64, &Row)> = some
        .flat_map(|(unit, row)| (0..NOISE_REPEATS).map(move |k| (unit * NOISE_REPEATS + k, row)))
        .collect();
    let found: Vec<f64> = engine.pool.install(|| {
        jobs.par_iter()
            .map(|&(k, row)| {
                // Islands are few: their keys never reach this far.
                weighing.log_likelihood(&row.z, draws, (9 << 36) | k, f64::NEG_INFINITY)
            })
            .collect()
    });
    mean(&scatters(&found, NOISE_REPEATS as usize)).sqrt()
}

fn judge(p: &mut Posterior, thin: bool) {
    let mut refuse = |why: String| p.refusals.push(why);
    if let [a, b] = p.still_days[..] {
        let apart = (a - b).abs();
        if apart > STILL_DAYS_APART_SD * p.still_days_sd.max(0.05) {
            refuse(format!(
                "two independent runs disagree: {a:.1} and {b:.1} still days a season, where units differ by {:.1} (standard deviation)",
                p.still_days_sd
            ));
        }
    }
    let logs: Vec<f64> = p.islands.iter().map(|i| i.log_evidence).collect();
    if let [a, b] = logs[..] {
        if (a - b).abs() > EVIDENCE_APART {
            refuse(format!(
                "two independent runs disagree on how well the logbook fits (ln {a:.1} and {b:.1})"
            ));
        } else if (a - b).abs() > POOLED_UP_TO {
            p.notes.push(format!(
                "The two runs differ by {:.1} in ln evidence, in how well the logbook fits; both count the same.",
                (a - b).abs()
            ));
        }
    }
    let mut refuse = |why: String| p.refusals.push(why);
    let acceptance = p.islands.iter().map(|i| i.acceptance).fold(f64::INFINITY, f64::min);
    if acceptance < ACCEPTANCE_MIN {
        refuse(format!("only {:.0} % of the last moves were accepted", 100.0 * acceptance));
    }
    let distinct: usize = p.islands.iter().map(|i| i.distinct).sum();
    if distinct < DISTINCT_MIN {
        refuse(format!("only {distinct} different units are left"));
    }
    if p.noise > NOISE_MAX {
        refuse(format!(
            "the weather decides too much: the likelihood of one unit is known to {:.1} only (ln)",
            p.noise
        ));
    }
    if thin {
        p.notes.push(
            "The logbook is long, so the effort is thin: fewer units than usual. --rows 256 tries harder and takes twice as long."
                .to_owned(),
        );
    }
}

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

pub(crate) fn sd(values: &[f64]) -> f64 {
    let m = mean(values);
    let square: f64 = values.iter().map(|v| (v - m) * (v - m)).sum();
    (square / (values.len().saturating_sub(1)).max(1) as f64).sqrt()
}
