//! The only place where random streams are made.
//!
//! A stream is named by (seed, purpose, trial, day). So two designs with the same seed meet the same weather and part luck
//! (common random numbers), a new draw for one purpose shifts nothing in another, and the number of threads does not
//! matter. The generator is ChaCha with 8 rounds
//! (Bernstein 2008), keyed by seed and purpose; trial and day choose the 64-bit stream number.
//!
//! Every variable is drawn by inverse CDF from one uniform number, so that two designs stay in step. Of `rand_distr` only
//! the uniform distribution serves here: its others may take several draws for a variable. The tests draw from them.

use rand::{SeedableRng, rngs::ChaCha8Rng};
use rand_distr::{Distribution, StandardUniform};

/// What a stream is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose<'a> {
    /// The chain of donor days of a trial, and its levels of year and months (one stream a trial).
    Donors,
    /// The clouds of one day of one trial.
    Clouds,
    /// The random part of a light-seeking mount's aim on one day of one trial.
    MountPull,
    /// What falls on the panels on one day of a block of trials.
    Litter,
    /// The wind of the days of a trial (one stream a trial).
    Wind,
    /// One uncertain quantity of the parts, by its key in the design, e.g. `battery.capacity`.
    Part(&'a str),
    /// Making a typical year from monthly means.
    Invent,
    /// Draws inside statistics and their tests; no trial depends on them.
    Resample,
    /// Learning from a logbook; no trial depends on it. The word says for what.
    Learn(&'a str),
}

/// Days a trial may have; the stream number is `trial * DAYS_PER_TRIAL + day`.
pub(crate) const DAYS_PER_TRIAL: u64 = 1 << 12;

/// The stream for one unit of work. `trial` < 2^52, `day` < [`DAYS_PER_TRIAL`] (0 if the purpose
/// has one stream a trial).
pub fn stream(seed: u64, purpose: Purpose<'_>, trial: u64, day: u64) -> ChaCha8Rng {
    debug_assert!(day < DAYS_PER_TRIAL);
    let (tag, name): (u64, &str) = match purpose {
        Purpose::Donors => (1, ""),
        Purpose::Clouds => (2, ""),
        Purpose::MountPull => (3, ""),
        Purpose::Part(key) => (4, key),
        Purpose::Invent => (5, ""),
        Purpose::Resample => (6, ""),
        Purpose::Litter => (7, ""),
        Purpose::Wind => (8, ""),
        Purpose::Learn(what) => (40, what),
    };
    let mut key = [0u8; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    key[8..16].copy_from_slice(&tag.to_le_bytes());
    key[16..24].copy_from_slice(&fnv1a(name.as_bytes()).to_le_bytes());
    let mut rng = ChaCha8Rng::from_seed(key);
    rng.set_stream(trial * DAYS_PER_TRIAL + day);
    rng
}

/// A uniform number strictly between 0 and 1, for inverse CDFs that are infinite at the ends.
pub(crate) fn open_unit(rng: &mut ChaCha8Rng) -> f64 {
    // 53 bits, moved by half a step: never 0, never 1.
    let u: f64 = StandardUniform.sample(rng);
    (u + 0.5 / 9_007_199_254_740_992.0).min(1.0 - f64::EPSILON / 2.0)
}

/// Fowler-Noll-Vo hash, 1a, 64 bits (from memory of its public description): names to key words.
fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |h, &b| (h ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::RngExt;

    #[test]
    fn streams_differ_by_each_part_of_their_name_and_repeat() {
        let first = |s, p, t, d| stream(s, p, t, d).random::<u64>();
        let base = first(1, Purpose::Clouds, 7, 3);
        assert_eq!(base, first(1, Purpose::Clouds, 7, 3));
        for other in [
            first(2, Purpose::Clouds, 7, 3),
            first(1, Purpose::Donors, 7, 3),
            first(1, Purpose::Clouds, 8, 3),
            first(1, Purpose::Clouds, 7, 4),
            first(1, Purpose::Part("pump.current"), 7, 3),
        ] {
            assert_ne!(base, other);
        }
        assert_ne!(first(1, Purpose::Part("a"), 0, 0), first(1, Purpose::Part("b"), 0, 0));
    }

    #[test]
    fn values_are_pinned() {
        // A change here is value-breaking: say so in CHANGELOG.md.
        let mut rng = stream(1, Purpose::Clouds, 0, 0);
        let v: Vec<u64> = (0..2).map(|_| rng.random::<u64>()).collect();
        assert_eq!(v, PINNED);
    }
    const PINNED: [u64; 2] = [4_377_704_769_396_348_636, 11_405_131_082_399_323_762];
}
