//! Ranks remedies until the first three places are settled: which are surely ahead of which, and which drop out.
//!
//! Every two remedies are compared in each trial, under the same weather and part luck. After each trial a test decides
//! which of the two is ahead on average. A remedy drops out once three others are surely ahead of it. The order is settled
//! once each of the first three is surely ahead of all behind it, or alike.
//!
//! **Error rate.** The order is wrong, or a remedy that belongs among the first three has dropped out, only if a test of
//! some pair was wrong: the worse one was said to be ahead, or two were said to be alike that are not. Otherwise at most
//! two are ahead of a remedy that belongs there. Each of the n (n-1) / 2 pairs can be wrong in one direction, and gets
//! [`ERROR_RATE`] divided by their number (union bound). The test ([`SequentialMean`]) is valid at every trial, so looking
//! often costs nothing. It assumes a bound on unseen outcomes: in no season do two remedies differ by more than a size given
//! beforehand, or twice the largest difference seen.
//!
//! **Alike** are two remedies that are equal in all but [`ALIKE`] of seasons: their order does not matter. Without this rule
//! a ranking of two that never differ would not end.

use crate::tally::sequential_mean::SequentialMean;
use crate::tally::{Moments, intervals};
use std::cmp::Ordering;

/// Maximum chance that the order of the first three is called settled though it is wrong, or that one of them drops out.
pub const ERROR_RATE: f64 = 0.05;

/// Number of places to settle.
pub(crate) const PLACES: usize = 3;

/// Two remedies that differ in at most this share of seasons are alike: their order does not matter.
pub(crate) const ALIKE: f64 = 0.01;

/// Share of a pair's error rate that is spent on calling the two alike.
const ALIKE_SHARE: f64 = 0.1;

/// A pair of remedies.
#[derive(Clone, Copy)]
struct Pair {
    /// Test of the change of the later one minus that of the earlier.
    lead: SequentialMean,
    differed: bool,
}

/// The tests of all pairs of remedies, by what each changes in a trial. Less is better.
pub(crate) struct SequentialRanking {
    /// The change by each.
    changes: Vec<Moments>,
    alive: Vec<bool>,
    /// Of remedies i < j, row by row: those with i begin at `i (2n - i - 1) / 2`.
    pairs: Vec<Pair>,
    /// Trials without a difference after which two are alike.
    alike_after: u64,
}

impl SequentialRanking {
    /// For so many remedies, without trials yet. `least` (> 0, in the unit of the changes): how much two may differ in a rare
    /// trial, even if no such trial was seen.
    pub(crate) fn new(remedies: usize, least: f64) -> SequentialRanking {
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

    /// Adds one trial: the remedies simulated, in increasing order, and the change by each compared with the unchanged design;
    /// `None` if it is not computable.
    pub(crate) fn take(&mut self, seen: &[(usize, Option<f64>)]) {
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

    /// Drops remedies that cannot be among the first three; tells whether the order of these is settled.
    pub(crate) fn look(&mut self) -> bool {
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
    pub(crate) fn alive(&self, remedy: usize) -> bool {
        self.alive[remedy]
    }

    /// The remedies, best first. One that has dropped out met fewer seasons than the others, and its mean may be low only for
    /// that reason: it is placed behind the first three.
    pub(crate) fn order(&self) -> Vec<usize> {
        let mean = |k: usize| self.changes[k].mean().unwrap_or(f64::INFINITY);
        let mut order: Vec<usize> = (0..self.changes.len()).collect();
        order.sort_by(|&a, &b| mean(a).total_cmp(&mean(b)).then(a.cmp(&b)));
        let first: Vec<usize> = order.iter().copied().filter(|&k| self.alive[k]).take(PLACES).collect();
        // Stable: all others keep their order.
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

    /// `[i][j]`: whether j is surely behind i or alike, directly or by way of others, because a remedy that has dropped out is
    /// not compared with those that rise later.
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
