//! The chain of daily clearness indices (Aguiar, Collares-Pereira & Conde 1988).

use super::matrices::{CLASSES, Class, STATES};
use crate::seed::open_unit;
use rand::rngs::ChaCha8Rng;

/// The state after one that was never observed (a row of zeros): the ninth, as in one of the two public copies of the
/// table. Only classes 9 and 10 have such rows, and reach them on two days in a thousand or never.
const UNOBSERVED_LEADS_TO: usize = 8;

impl Class {
    /// The class of a month with this mean clearness index.
    pub(crate) fn of_month(k_mean: f64) -> &'static Class {
        CLASSES.iter().find(|c| k_mean <= c.k_upper).unwrap_or(&CLASSES[STATES - 1])
    }

    /// State of a day with clearness index `k`; the outer states take what lies beyond them.
    pub(crate) fn state(&self, k: f64) -> usize {
        let step = (self.k_max - self.k_min) / STATES as f64;
        ((k - self.k_min) / step).max(0.0).min(STATES as f64 - 1.0) as usize
    }

    /// Probabilities of the next day's states after `state`, summing to 1.
    pub fn row(&self, state: usize) -> [f64; STATES] {
        let row = &self.matrix[state];
        let sum: u16 = row.iter().sum();
        if sum == 0 {
            return std::array::from_fn(|j| if j == UNOBSERVED_LEADS_TO { 1.0 } else { 0.0 });
        }
        row.map(|thousandths| f64::from(thousandths) / f64::from(sum))
    }

    /// Clearness index of the day after one of clearness `k`: a state from the row of today's
    /// state, and within it a uniform value. Takes one draw.
    pub fn next(&self, k: f64, rng: &mut ChaCha8Rng) -> f64 {
        let step = (self.k_max - self.k_min) / STATES as f64;
        let mut u = open_unit(rng);
        let row = self.row(self.state(k));
        // What is left of `u` within the state chosen is uniform again.
        for (state, &chance) in row.iter().enumerate() {
            if u < chance {
                return self.k_min + step * (state as f64 + u / chance);
            }
            u -= chance;
        }
        // Rounding of the sum: the end of the last state that can be reached.
        let last = row.iter().rposition(|&chance| chance > 0.0).unwrap_or(STATES - 1);
        self.k_min + step * (last as f64 + 1.0)
    }
}
