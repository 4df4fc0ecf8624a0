//! Tempered sequential Monte Carlo: units move from what was believed to what the entries say, temperature by temperature.
//!
//! After Del Moral, Doucet & Jasra 2006 (JRSS B 68:411-436); with a likelihood that is itself an average over drawn weather, kept with
//! each unit until it moves (Andrieu & Roberts 2009, Ann. Statist. 37:697; Duan & Fulop 2015, J. Bus. Econ. Statist. 33:192). At each
//! temperature a few units move several times, and all that they were on the way is kept, instead of moving all units and keeping the ends
//! (waste-free: Dau & Chopin 2022, JRSS B 84:114-148). All from memory.

use super::proposal::Reference;
use super::resample::{effective_size, evenly, log_sum, systematic};
use crate::seed::{Purpose, open_unit, stream};
use crate::study::Journal;
use crate::units::normal_quantile;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, Ordering};

/// What units are weighed by.
pub trait Target: Sync {
    /// Numbers that make a unit: independent and standard normal in what was believed before.
    fn dimensions(&self) -> usize;
    /// ln of the likelihood of a unit, averaged over `draws` paths of weather; `key` names their random numbers. Once it is sure to lie
    /// below `floor`, it may be negative infinity: the unit is refused in any case.
    fn log_likelihood(&self, z: &[f64], draws: usize, key: u64, floor: f64) -> f64;
    /// Whether it depends on `draws` and `key` at all.
    fn is_noisy(&self) -> bool;
}

/// How hard to try.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Units of an island.
    pub rows: usize,
    /// Paths of weather for each unit at the end.
    pub draws: usize,
    /// Paths up to which these are raised at the end, if the likelihood is noisy.
    pub draws_max: usize,
    /// Moves of each moving unit at a temperature.
    pub sweeps: usize,
}

/// Paths of weather that a unit gets at least: one block.
const DRAWS_MIN: usize = 16;
/// Last moves of a unit at a temperature of which each is kept: so many times fewer units move than there are rows.
const KEPT_MOVES: usize = 2;
/// Moves at the end of half of the units: one that lets the step settle, and those that are kept.
const SETTLING_MOVES: usize = 1;
const KEPT_AT_THE_END: usize = 4;
/// Rows that the end gives for each row of the effort.
const ROWS_AT_THE_END: usize = 2;
/// Noise of a unit's ln likelihood above which paths are doubled before the last moves: beyond it few moves are accepted (a variance of 1 to 3 is
/// best: Pitt et al. 2012, J. Econometrics 171:134; Doucet et al. 2015, Biometrika 102:295-313; from memory), and estimating all anew costs
/// some of the rows.
const NOISE_WANTED: f64 = 1.6;
/// Units whose likelihood is estimated again, and how often, to see how noisy it is.
const NOISE_UNITS: usize = 8;
const NOISE_REPEATS: usize = 6;
/// Acceptance aimed at, and how fast the step follows.
const WANTED_ACCEPTANCE: f64 = 0.25;
const STEP_RANGE: (f64, f64) = (0.05, 0.95);
/// Temperatures after which a run gives up.
const STAGES_MAX: usize = 60;

/// A unit on its way.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its numbers.
    pub z: Vec<f64>,
    /// ln of its likelihood, as estimated.
    pub log_likelihood: f64,
    /// Names the weather it was estimated with.
    pub key: u64,
}

/// One run of the sampler.
#[derive(Clone, Debug)]
pub struct Island {
    /// The units kept, all equally likely.
    pub rows: Vec<Row>,
    /// ln of the mean likelihood over what was believed before.
    pub log_evidence: f64,
    /// Share of the last moves that were accepted.
    pub acceptance: f64,
    /// Temperatures passed, the last 1.
    pub temperatures: Vec<f64>,
    /// Different units among those kept.
    pub distinct: usize,
    /// Paths of weather of each at the end.
    pub draws: usize,
}

/// Progress of a run: likelihoods computed so far are counted by the caller, who may also stop it.
pub struct Watcher<'a> {
    /// Called after each likelihood, from any thread.
    pub tick: &'a (dyn Fn() + Sync),
    /// Set to stop.
    pub stop: &'a AtomicBool,
    /// Where likelihoods are kept for a run that goes on later, and what design, logbook and explanation are known by there.
    pub kept: Option<(&'a Journal, [u8; 32])>,
}

struct Run<'a, T> {
    target: &'a T,
    seed: u64,
    island: u64,
    stage: u64,
    watcher: &'a Watcher<'a>,
}

/// Runs one island; `None` if it was stopped. Same seed and island, same result, on any number of threads.
pub fn temper<T: Target>(
    target: &T,
    effort: Effort,
    (seed, island): (u64, u64),
    watcher: &Watcher<'_>,
) -> Option<Island> {
    let mut run = Run { target, seed, island, stage: 0, watcher };
    let noisy = target.is_noisy();
    let mut draws = if noisy { DRAWS_MIN.min(effort.draws) } else { 1 };
    let mut rows = run.prior(effort.rows, draws)?;
    let (mut phi, mut log_evidence, mut step) = (0.0, 0.0, 0.6);
    let mut temperatures = Vec::new();
    while phi < 1.0 && temperatures.len() < STAGES_MAX {
        let next = next_temperature(&rows, phi);
        let logs: Vec<f64> = rows.iter().map(|row| (next - phi) * row.log_likelihood).collect();
        log_evidence += run.reweigh(&mut rows, &logs);
        phi = next;
        temperatures.push(phi);
        let mut wanted = wanted_draws(effort.draws, phi);
        if noisy && phi >= 1.0 {
            wanted = run.draws_by_noise(&rows, wanted, effort.draws_max)?;
        }
        if noisy && wanted > draws {
            draws = wanted;
            log_evidence += run.with_more_draws(&mut rows, draws, phi)?;
        }
        let kept = KEPT_MOVES.min(effort.sweeps.max(1));
        let moves = Moves { every: kept, settling: effort.sweeps.max(1) - kept, kept };
        (rows, _) = run.moved(&rows, &moves, (phi, &mut step, draws))?;
    }
    run.end(&rows, log_evidence, step, (temperatures, draws))
}

/// The same island with more paths of weather for each unit; `None` if it was stopped.
pub fn deepen<T: Target>(
    target: &T,
    island: Island,
    (effort, seed, number): (Effort, u64, u64),
    watcher: &Watcher<'_>,
) -> Option<Island> {
    // Far beyond the stages of the run before.
    let mut run = Run { target, seed, island: number, stage: 4096 + effort.draws as u64 * 16, watcher };
    let first = island.rows.len() - island.rows.len() / ROWS_AT_THE_END;
    let mut rows = island.rows[first..].to_vec();
    let log_evidence = island.log_evidence + run.with_more_draws(&mut rows, effort.draws, 1.0)?;
    run.end(&rows, log_evidence, 0.5, (island.temperatures, effort.draws))
}

/// Which rows move, and how often.
struct Moves {
    /// Each so many-th.
    every: usize,
    /// Moves by which the step settles.
    settling: usize,
    /// Moves after each of which the rows are kept.
    kept: usize,
}

/// Variances within groups of as many estimates.
pub(super) fn scatters(estimates: &[f64], of_each: usize) -> Vec<f64> {
    let variance = |group: &[f64]| {
        let n = group.len() as f64;
        let mean = group.iter().sum::<f64>() / n;
        group.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0).max(1.0)
    };
    estimates.chunks(of_each).map(variance).collect()
}

/// The step after a sweep of which a share was accepted.
fn next_step(step: f64, accepted: f64) -> f64 {
    (step * libm::exp(0.8 * (accepted - WANTED_ACCEPTANCE))).clamp(STEP_RANGE.0, STEP_RANGE.1)
}

/// Paths of weather at a temperature: as many of the last as the temperature is of 1.
fn wanted_draws(most: usize, phi: f64) -> usize {
    let mut draws = DRAWS_MIN.min(most);
    while (draws as f64) < most as f64 * phi {
        draws *= 2;
    }
    draws.min(most)
}

/// The temperature at which half of the rows still count, by bisection; at most 1.
fn next_temperature(rows: &[Row], phi: f64) -> f64 {
    let size = |next: f64| {
        let logs: Vec<f64> = rows.iter().map(|r| (next - phi) * r.log_likelihood).collect();
        effective_size(&log_sum(&logs).1)
    };
    let half = 0.5 * rows.len() as f64;
    if size(1.0) >= half {
        return 1.0;
    }
    let (mut low, mut high) = (phi, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if size(middle) >= half { low = middle } else { high = middle }
    }
    // Never stands still, whatever the likelihoods are.
    low.max(phi + 1e-9).min(1.0)
}

impl<T: Target> Run<'_, T> {
    fn key(&self, row: usize) -> u64 {
        (self.island << 36) | (self.stage << 20) | row as u64
    }

    /// Likelihoods of units, each as far as it matters above its floor (none: 0 of them); `None` if stopped.
    fn likelihoods(&mut self, units: &[Vec<f64>], draws: usize, floors: &[f64]) -> Option<Vec<(f64, u64)>> {
        self.stage += 1;
        let keys: Vec<u64> = (0..units.len()).map(|k| self.key(k)).collect();
        let kept =
            self.watcher.kept.map(|(journal, name)| (journal, self.name(name, (units, draws, floors))));
        if let Some(known) = kept.and_then(|(journal, name)| journal.numbers(name))
            && known.len() == units.len()
        {
            known.iter().for_each(|_| (self.watcher.tick)());
            return Some(known.into_iter().zip(keys).collect());
        }
        let found: Vec<Option<(f64, u64)>> = units
            .par_iter()
            .zip(keys)
            .enumerate()
            .map(|(k, (z, key))| {
                if self.watcher.stop.load(Ordering::Relaxed) {
                    return None;
                }
                let floor = floors.get(k).copied().unwrap_or(f64::NEG_INFINITY);
                let l = self.target.log_likelihood(z, draws, key, floor);
                (self.watcher.tick)();
                Some((l, key))
            })
            .collect();
        let found: Vec<(f64, u64)> = found.into_iter().collect::<Option<_>>()?;
        if let Some((journal, name)) = kept {
            journal.keep_numbers(name, &found.iter().map(|f| f.0).collect::<Vec<_>>());
        }
        Some(found)
    }

    /// The name of these likelihoods: all that they depend on, to the bit.
    fn name(&self, of: [u8; 32], (units, draws, floors): (&[Vec<f64>], usize, &[f64])) -> [u8; 32] {
        let mut hash = Sha256::new().chain_update(of);
        for number in [self.key(0), draws as u64, floors.len() as u64] {
            hash.update(number.to_le_bytes());
        }
        for x in floors.iter().chain(units.iter().flatten()) {
            hash.update(x.to_le_bytes());
        }
        hash.finalize().into()
    }

    fn prior(&mut self, n: usize, draws: usize) -> Option<Vec<Row>> {
        let units: Vec<Vec<f64>> = (0..n)
            .map(|k| {
                let mut rng = stream(self.seed, Purpose::Learn("prior"), (self.island << 20) | k as u64, 0);
                (0..self.target.dimensions()).map(|_| normal_quantile(open_unit(&mut rng))).collect()
            })
            .collect();
        let found = self.likelihoods(&units, draws, &[])?;
        Some(
            units
                .into_iter()
                .zip(found)
                .map(|(z, (log_likelihood, key))| Row { z, log_likelihood, key })
                .collect(),
        )
    }

    /// Resamples by the logs of the rows' weights; gives ln of their mean.
    fn reweigh(&mut self, rows: &mut Vec<Row>, logs: &[f64]) -> f64 {
        let (sum, weights) = log_sum(logs);
        self.stage += 1;
        let u = open_unit(&mut stream(self.seed, Purpose::Learn("resample"), self.key(0), 0));
        *rows = systematic(&weights, rows.len(), u).into_iter().map(|k| rows[k].clone()).collect();
        sum - libm::log(logs.len() as f64)
    }

    /// Estimates each likelihood anew with more paths; the rows are weighed by the change.
    fn with_more_draws(&mut self, rows: &mut Vec<Row>, draws: usize, phi: f64) -> Option<f64> {
        let units: Vec<Vec<f64>> = rows.iter().map(|r| r.z.clone()).collect();
        let found = self.likelihoods(&units, draws, &[])?;
        let before: Vec<f64> = rows.iter().map(|r| r.log_likelihood).collect();
        for (row, (l, key)) in rows.iter_mut().zip(found) {
            (row.log_likelihood, row.key) = (l, key);
        }
        let change: Vec<f64> = rows.iter().zip(before).map(|(r, b)| phi * (r.log_likelihood - b)).collect();
        Some(self.reweigh(rows, &change))
    }

    /// Moves at the end, and the island that they make.
    fn end(
        &mut self,
        rows: &[Row],
        log_evidence: f64,
        mut step: f64,
        (temperatures, draws): (Vec<f64>, usize),
    ) -> Option<Island> {
        let every = KEPT_AT_THE_END / ROWS_AT_THE_END;
        let moves = Moves { every, settling: SETTLING_MOVES, kept: KEPT_AT_THE_END };
        let (kept, acceptance) = self.moved(rows, &moves, (1.0, &mut step, draws))?;
        let different: BTreeSet<u64> = kept.iter().map(|r| r.key).collect();
        Some(Island { distinct: different.len(), rows: kept, log_evidence, acceptance, temperatures, draws })
    }

    /// Some of the rows moved several times, all that they were on the way, and the share of these moves that was accepted. The reference is
    /// fitted before, and the step follows between moves that are not kept: no kept move depends on how those beside it went.
    fn moved(
        &mut self,
        rows: &[Row],
        moves: &Moves,
        (phi, step, draws): (f64, &mut f64, usize),
    ) -> Option<(Vec<Row>, f64)> {
        let reference = Reference::fitted(&rows.iter().map(|r| &r.z[..]).collect::<Vec<_>>());
        // They come from systematic resampling: each so many-th is what resampling to fewer would give.
        let mut moving: Vec<Row> = rows.iter().step_by(moves.every).cloned().collect();
        for _ in 0..moves.settling {
            let accepted = self.sweep(&mut moving, &reference, (phi, *step, draws))?;
            *step = next_step(*step, accepted);
        }
        let mut kept = Vec::with_capacity(moves.kept * moving.len());
        let mut accepted = 0.0;
        for _ in 0..moves.kept {
            accepted += self.sweep(&mut moving, &reference, (phi, *step, draws))?;
            kept.extend(moving.iter().cloned());
        }
        let acceptance = accepted / moves.kept as f64;
        *step = next_step(*step, acceptance);
        Some((kept, acceptance))
    }

    /// Twice the paths, if the likelihood of most of these rows scatters too much with `draws` of them. The noise of a few rows at the edge, which
    /// the moves to come will leave behind, does not count.
    fn draws_by_noise(&mut self, rows: &[Row], draws: usize, most: usize) -> Option<usize> {
        if draws >= most {
            return Some(draws);
        }
        let some = evenly(rows, NOISE_UNITS);
        let units: Vec<Vec<f64>> = some.flat_map(|r| vec![r.z.clone(); NOISE_REPEATS]).collect();
        let found: Vec<f64> = self.likelihoods(&units, draws, &[])?.into_iter().map(|f| f.0).collect();
        let mut variances = scatters(&found, NOISE_REPEATS);
        variances.sort_by(f64::total_cmp);
        let usual = variances.get(variances.len() / 2).copied().unwrap_or(0.0);
        Some(if usual > NOISE_WANTED * NOISE_WANTED { 2 * draws } else { draws })
    }

    /// One move of every row; gives the share accepted.
    fn sweep(
        &mut self,
        rows: &mut [Row],
        reference: &Reference,
        (phi, step, draws): (f64, f64, usize),
    ) -> Option<f64> {
        self.stage += 1;
        let mut floors = Vec::with_capacity(rows.len());
        let proposed: Vec<Vec<f64>> = rows
            .iter()
            .enumerate()
            .map(|(k, row)| {
                let mut rng = stream(self.seed, Purpose::Learn("moves"), self.key(k), 0);
                let xi: Vec<f64> = row.z.iter().map(|_| normal_quantile(open_unit(&mut rng))).collect();
                let y = reference.moved(&row.z, step, &xi);
                // The chance is drawn before the likelihood is known: a unit that surely fails it need not be weighed to the end.
                let chance = libm::log(open_unit(&mut rng));
                floors.push(row.log_likelihood + reference.gain_to_accept(&row.z, &y, phi, chance));
                y
            })
            .collect();
        let found = self.likelihoods(&proposed, draws, &floors)?;
        let mut accepted = 0;
        for (k, ((y, (l, key)), floor)) in proposed.into_iter().zip(found).zip(floors).enumerate() {
            if l > floor {
                rows[k] = Row { z: y, log_likelihood: l, key };
                accepted += 1;
            }
        }
        Some(f64::from(accepted) / rows.len().max(1) as f64)
    }
}
