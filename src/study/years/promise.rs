//! What can be promised of most gardens: order statistics with a stated confidence.

use statrs::function::beta::beta_reg;

/// Share of gardens that a promise is about.
pub(super) const SHARE: f64 = 0.9;
/// How surely it holds for that share.
pub(super) const CONFIDENCE: f64 = 0.95;

/// The smallest rank u such that at least [`SHARE`] of all gardens surely have no more than the u-th smallest of `n` values:
/// P(binomial(n, share) >= u) <= 1 - confidence. None if `n` is too small.
fn rank(n: u64, share: f64, confidence: f64) -> Option<u64> {
    // P(B >= u) = I_share(u, n - u + 1).
    (1..=n).find(|&u| beta_reg(u as f64, (n - u) as f64 + 1.0, share) <= 1.0 - confidence)
}

/// The smallest number that at least [`SHARE`] of gardens surely do not exceed, from the numbers of some independent ones; none
/// if these are too few.
pub(super) fn at_most(values: &[u32]) -> Option<u32> {
    let u = rank(values.len() as u64, SHARE, CONFIDENCE)?;
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    sorted.get(u as usize - 1).copied()
}

/// Whether at least [`SHARE`] of gardens surely do it, if `done` of `n` do.
pub(super) fn surely(done: u64, n: u64) -> bool {
    surely_at(done, n, CONFIDENCE)
}

/// The same with another confidence: where several are tried.
pub(super) fn surely_at(done: u64, n: u64, confidence: f64) -> bool {
    rank(n, SHARE, confidence).is_some_and(|u| done >= u)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact values of the binomial distribution.
    #[test]
    fn ranks_are_exact() {
        for (share, confidence, n, u) in [
            (0.8, 0.9, 100, 86),
            (0.8, 0.9, 1000, 817),
            (0.8, 0.95, 100, 87),
            (0.8, 0.95, 400, 334),
            (0.9, 0.95, 400, 371),
            (0.95, 0.95, 400, 388),
        ] {
            assert_eq!(rank(n, share, confidence), Some(u), "{share} {confidence} {n}");
        }
        // 29 gardens without a miss are the fewest for nine in ten.
        assert_eq!((rank(28, SHARE, CONFIDENCE), rank(29, SHARE, CONFIDENCE)), (None, Some(29)));
    }

    /// A promise from 400 drawn gardens is kept by fewer than nine in ten in at most 5 % of repetitions.
    #[test]
    fn promises_are_broken_as_rarely_as_said() {
        use crate::seed::{Purpose, open_unit, stream};
        use crate::study::tests::wrong_as_rarely_as_said;
        // Still days of a garden: 0 to 19, all alike; nine in ten have no more than 17.
        wrong_as_rarely_as_said("promise", 1.0 - CONFIDENCE, 7000, |seed| {
            let mut rng = stream(seed, Purpose::Resample, 0, 0);
            let values: Vec<u32> = (0..400).map(|_| (20.0 * open_unit(&mut rng)) as u32).collect();
            at_most(&values).expect("enough gardens") < 17
        });
    }
}
