//! Which uncertain quantity to measure first: shares of the variance over trials.
//!
//! The first-order share of a quantity is the variance of the mean result given that quantity, over the
//! whole variance: `S = Var(E[y|u]) / Var(y)`. It is estimated by the correlation ratio (Pearson 1905)
//! over bins of the quantity's uniform draw `u`, corrected for the part that chance alone puts between
//! bins (Kelley 1935, epsilon squared). The rest is due to the weather *and* to interactions (of two quantities, or of a
//! quantity and the weather): these cannot be separated with one set of independent trials.

use super::codec::tally_field;
use super::fixed_point::{Moments, steps};

/// Number of bins of a draw.
pub(crate) const BINS: usize = 16;

/// Upper edges of all bins but the last: the normal distribution function at the thresholds of the best 16-step
/// quantiser of a normal variable (Max 1960, IRE Trans. Inf. Theory 6:7, table I, from memory: 0, 0.2582, 0.5224,
/// 0.7996, 1.099, 1.437, 1.844, 2.401). Bins then hide about 1 % of a share, whether the quantity is
/// normal (0.95 %) or rectangular (0.9 %); equally likely bins would hide more of a normal one, in its tails.
const EDGES: [f64; BINS - 1] = [
    0.008_175, 0.032_592, 0.075_359, 0.135_884, 0.211_971, 0.300_696, 0.398_126, 0.5, 0.601_874, 0.699_304,
    0.788_029, 0.864_116, 0.924_641, 0.967_408, 0.991_825,
];

/// Sums of two results over the bins of one quantity's draw.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Binned {
    trials: [u64; BINS],
    still_days: [i128; BINS],
    evenings: [u64; BINS],
    dusk_run: [i128; BINS],
}

tally_field!(Binned { trials, still_days, evenings, dusk_run });

impl Binned {
    /// Adds a trial: the uniform draw (0..1) of the quantity, and the results.
    pub(crate) fn push(&mut self, u: f64, still_days: f64, dusk_run: Option<f64>) {
        let bin = EDGES.iter().filter(|&&edge| u >= edge).count();
        self.trials[bin] = self.trials[bin].wrapping_add(1);
        self.still_days[bin] = self.still_days[bin].wrapping_add(i128::from(steps(still_days)));
        if let Some(minutes) = dusk_run {
            self.evenings[bin] = self.evenings[bin].wrapping_add(1);
            self.dusk_run[bin] = self.dusk_run[bin].wrapping_add(i128::from(steps(minutes)));
        }
    }

    /// Share of the variance of still days, given their moments over the same trials.
    pub(crate) fn of_still_days(&self, all: &Moments) -> Option<Portion> {
        share(&self.trials, &self.still_days, all)
    }

    /// Share of the variance of the mean dusk run.
    pub(crate) fn of_dusk_run(&self, all: &Moments) -> Option<Portion> {
        share(&self.evenings, &self.dusk_run, all)
    }
}

/// A share and its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Portion {
    /// Share of the variance; may be slightly below 0 by chance.
    pub share: f64,
    /// Its standard error.
    pub se: f64,
}

/// Minimum number of trials per bin, on average, for a share to be given.
const FEWEST_PER_BIN: u64 = 4;

fn share(counts: &[u64; BINS], sums: &[i128; BINS], all: &Moments) -> Option<Portion> {
    let n = all.n();
    let variance = all.variance().filter(|&v| v > 0.0)?;
    if n < FEWEST_PER_BIN * BINS as u64 {
        return None;
    }
    let mean = all.mean()?;
    let (mut between, mut bins) = (0.0, 0.0);
    for (&count, &sum) in counts.iter().zip(sums) {
        if count > 0 {
            let off = sum as f64 / super::fixed_point::STEPS_PER_UNIT - count as f64 * mean;
            between += off * off / count as f64;
            bins += 1.0;
        }
    }
    let n = n as f64;
    let total = variance * (n - 1.0);
    let within = (total - between) / (n - bins);
    let share = (between - (bins - 1.0) * within) / total;
    // Variance of a squared multiple correlation with random regressors (Olkin & Finn 1995, eq. 2), and
    // of the chance part, a chi square of bins - 1 degrees of freedom over n.
    let s = share.clamp(0.0, 1.0);
    let se = ((4.0 * s * (1.0 - s) * (1.0 - s) + 2.0 * (bins - 1.0) * (1.0 - s) * (1.0 - s) / n) / n).sqrt();
    Some(Portion { share, se })
}
