//! The race for the first three places: who drops out, and whether the order is settled.

use crate::study::paired::Pairs;
use crate::tally::Moments;
use std::cmp::Ordering;

/// Chance, over all looks at the data, that the order of the first three is called settled though it is wrong.
pub const ERROR_RATE: f64 = 0.05;

/// Places whose order is to be settled.
pub const PLACES: usize = 3;

/// Remedies raced against one another on what each changes in a trial. Less is better.
pub struct Race {
    /// What each changes.
    changes: Vec<Moments>,
    alive: Vec<bool>,
    /// Change of remedy j less that of remedy i, i < j, over the trials both have.
    pairs: Vec<Vec<Pairs>>,
    looks: u32,
}

impl Race {
    /// So many remedies, nothing seen yet.
    pub fn new(remedies: usize) -> Race {
        Race {
            changes: vec![Moments::default(); remedies],
            alive: vec![true; remedies],
            pairs: (0..remedies).map(|i| vec![Pairs::default(); remedies - i]).collect(),
            looks: 0,
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
                self.pairs[i][j - i].push(x, y);
            }
        }
    }

    /// Drops who cannot come among the first three, and says whether their order is settled.
    ///
    /// At look k the error spent is `ERROR_RATE · 6/(π k)²`, shared by all pairs (union bound): summed over
    /// all looks it stays below [`ERROR_RATE`].
    pub fn look(&mut self) -> bool {
        self.looks += 1;
        // The design as it is counts as one of them.
        let n = self.alive.len() + 1;
        let pairs = (n * (n - 1) / 2).max(1) as f64;
        let k = f64::from(self.looks) * std::f64::consts::PI;
        let confidence = 1.0 - ERROR_RATE * 6.0 / (k * k) / pairs;
        let order = self.order();
        let mut settled = true;
        for (place, &j) in order.iter().enumerate() {
            if place == 0 {
                continue;
            }
            if place <= PLACES {
                settled &= self.worse(j, order[place - 1], confidence) || self.alike(j, order[place - 1]);
            }
            if place >= PLACES && self.worse(j, order[PLACES - 1], confidence) {
                self.alive[j] = false;
            }
        }
        settled
    }

    /// Whether a remedy is still in the race.
    pub fn alive(&self, remedy: usize) -> bool {
        self.alive[remedy]
    }

    /// Whether remedy `j` is surely worse than remedy `i`.
    fn worse(&self, j: usize, i: usize, confidence: f64) -> bool {
        let (low, high) = (i.min(j), i.max(j));
        let sign = self.pairs[low][high - low].difference(confidence).and_then(|d| d.told_apart());
        sign == Some(if j > i { Ordering::Greater } else { Ordering::Less })
    }

    /// Whether two never differed in any trial: their order is no question.
    fn alike(&self, j: usize, i: usize) -> bool {
        let (low, high) = (i.min(j), i.max(j));
        self.pairs[low][high - low].difference(0.5).is_some_and(|d| d.never_differed())
    }

    /// Remedies, best first.
    pub fn order(&self) -> Vec<usize> {
        let mean = |k: usize| self.changes[k].mean().unwrap_or(f64::INFINITY);
        let mut order: Vec<usize> = (0..self.changes.len()).collect();
        order.sort_by(|&a, &b| mean(a).total_cmp(&mean(b)).then(a.cmp(&b)));
        order
    }
}
