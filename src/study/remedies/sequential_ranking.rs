//! The ranking for the first three places: who is surely ahead of whom, who drops out, and what is settled.
//!
//! What each remedy changes in a trial is held against what each other one changes in it: same weather, same luck with
//! parts. Every pair is tested, trial by trial, for which of the two is ahead on average. A remedy drops out once three
//! others are surely ahead of it. The order is settled once each of the first three is surely ahead of all behind it,
//! or alike.
//!
//! **Error rate.** The order is wrong, or one that belongs among the first three has dropped out, only if of some pair
//! the worse one was said to be ahead, or two were said to be alike that are not: as long as nothing false was said, at
//! most two are ahead of one that belongs there. Each of the n (n-1) / 2 pairs has one false direction, and is given
//! [`ERROR_RATE`] over their number (union bound). The test may be looked at after every trial ([`SequentialMean`]) and needs
//! no share for looks. It takes for granted that two do not differ by more in a rare season that was not seen than by a
//! size given beforehand, or by twice what was seen of them.
//!
//! **Alike** are two that come to the same in all but [`ALIKE`] of seasons: their order is no question. Otherwise a ranking
//! between two that never differ would have no end.

use crate::tally::sequential_mean::SequentialMean;
use crate::tally::{Moments, intervals};
use std::cmp::Ordering;

/// Chance that the order of the first three is called settled though it is wrong, or that one of them drops out.
pub const ERROR_RATE: f64 = 0.05;

/// Places whose order is to be settled.
pub const PLACES: usize = 3;

/// Two that differ in at most this share of seasons are alike: their order is no question.
pub const ALIKE: f64 = 0.01;

/// Share of a pair's error that is for calling two alike.
const ALIKE_SHARE: f64 = 0.1;

/// Two remedies.
#[derive(Clone, Copy)]
struct Pair {
    /// Change of the later one less that of the earlier.
    lead: SequentialMean,
    differed: bool,
}

/// Remedies ranked against one another on what each changes in a trial. Less is better.
pub struct SequentialRanking {
    /// What each changes.
    changes: Vec<Moments>,
    alive: Vec<bool>,
    /// Of remedies i < j, row by row: those with i begin at `i (2n - i - 1) / 2`.
    pairs: Vec<Pair>,
    /// Trials without a difference after which two are alike.
    alike_after: u64,
}

impl SequentialRanking {
    /// So many remedies, nothing seen yet. `least` (> 0, in the unit of the changes) is by how much two may differ in a
    /// rare trial though no such trial was seen.
    pub fn new(remedies: usize, least: f64) -> SequentialRanking {
        let pairs = remedies * remedies.saturating_sub(1) / 2;
        let wrong = ERROR_RATE / pairs.max(1) as f64;
        let pair = Pair { lead: SequentialMean::new(least, (1.0 - ALIKE_SHARE) * wrong), differed: false };
        SequentialRanking {
            changes: vec![Moments::default(); remedies],
            alive: vec![true; remedies],
            pairs: vec![pair; pairs],
            alike_after: intervals::trials_without_event(ALIKE, 1.0 - ALIKE_SHARE * wrong),
        }
    }

    /// Takes in one trial: remedies in rising order, and what each changes against the design as it is; `None` where
    /// that cannot be computed.
    pub fn take(&mut self, seen: &[(usize, Option<f64>)]) {
        for (a, &(i, x)) in seen.iter().enumerate() {
            let Some(x) = x else { continue };
            self.changes[i].push(x);
            for &(j, y) in &seen[a + 1..] {
                let Some(y) = y else { continue };
                let at = self.at(i, j);
                let pair = &mut self.pairs[at];
                pair.lead.push(y - x);
                pair.differed |= x != y;
            }
        }
    }

    /// Drops who cannot come among the first three, and says whether their order is settled.
    pub fn look(&mut self) -> bool {
        let n = self.changes.len();
        for j in 0..n {
            let ahead = (0..n).filter(|&i| self.ahead(i, j)).count();
            self.alive[j] &= ahead < PLACES;
        }
        let order = self.order();
        let behind = self.behind();
        order.iter().take(PLACES).enumerate().all(|(p, &i)| order[p + 1..].iter().all(|&j| behind[i][j]))
    }

    /// Whether a remedy is still in the ranking.
    pub fn alive(&self, remedy: usize) -> bool {
        self.alive[remedy]
    }

    /// Remedies, best first. One that has dropped out met fewer seasons than the others, and its mean may owe a place
    /// among the first three to that: it stands behind them.
    pub fn order(&self) -> Vec<usize> {
        let mean = |k: usize| self.changes[k].mean().unwrap_or(f64::INFINITY);
        let mut order: Vec<usize> = (0..self.changes.len()).collect();
        order.sort_by(|&a, &b| mean(a).total_cmp(&mean(b)).then(a.cmp(&b)));
        let first: Vec<usize> = order.iter().copied().filter(|&k| self.alive[k]).take(PLACES).collect();
        // Stable: all others stay as they are.
        order.sort_by_key(|k| !first.contains(k));
        order
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * (2 * self.changes.len() - i - 1) / 2 + j - i - 1
    }

    /// Whether remedy `i` is surely ahead of remedy `j`.
    fn ahead(&self, i: usize, j: usize) -> bool {
        match i.cmp(&j) {
            Ordering::Less => self.pairs[self.at(i, j)].lead.decided() == Some(Ordering::Greater),
            Ordering::Equal => false,
            Ordering::Greater => self.pairs[self.at(j, i)].lead.decided() == Some(Ordering::Less),
        }
    }

    fn alike(&self, i: usize, j: usize) -> bool {
        let pair = &self.pairs[self.at(i.min(j), i.max(j))];
        !pair.differed && pair.lead.trials() >= self.alike_after
    }

    /// `[i][j]`: whether j is surely behind i or alike, be it by way of others: one that has dropped out is not held
    /// against who rose later.
    fn behind(&self) -> Vec<Vec<bool>> {
        let n = self.changes.len();
        let mut behind: Vec<Vec<bool>> = (0..n)
            .map(|i| (0..n).map(|j| i == j || self.ahead(i, j) || self.alike(i, j)).collect())
            .collect();
        for by in 0..n {
            for i in 0..n {
                for j in 0..n {
                    behind[i][j] |= behind[i][by] && behind[by][j];
                }
            }
        }
        behind
    }
}

#[cfg(test)]
mod tests;
