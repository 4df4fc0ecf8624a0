//! How much to simulate.

use super::Error;
use crate::lanes::Isa;
use crate::study::Engine;
use crate::study::default_trials;
use crate::study::run::Until;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Most trials of one simulation.
const TRIALS_MAX: u64 = 10_000_000;

/// How much to simulate: until when, with which seed, on how many threads.
///
/// ```
/// use stilldays::Effort;
///
/// let quick = Effort::trials(64);
/// let other_weather = Effort::trials(400).seed(2);
/// let as_exact_as_needed = Effort::half_width(0.1).threads(2);
/// assert_eq!(Effort::default(), Effort::trials(400).seed(1));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[must_use]
pub struct Effort {
    until: Until,
    pub(super) seed: u64,
    threads: Option<u16>,
}

impl Effort {
    /// So many trials (simulated seasons), 1 to 10,000,000; more make the errors smaller: four times as many halve them.
    pub const fn trials(trials: u64) -> Effort {
        Effort { until: Until::Trials(trials), seed: 1, threads: None }
    }

    /// As many trials as it takes until the 95 % interval of still days a month is at most ± `days`
    /// ([`Until::HalfWidth`]).
    pub const fn half_width(days: f64) -> Effort {
        Effort { until: Until::HalfWidth(days), seed: 1, threads: None }
    }

    /// With this seed of all chance; 1 unless told otherwise.
    pub const fn seed(self, seed: u64) -> Effort {
        Effort { seed, ..self }
    }

    /// On so many threads, at least one; one for each core unless told otherwise. The numbers do not depend on it.
    pub const fn threads(self, threads: u16) -> Effort {
        Effort { threads: Some(threads), ..self }
    }

    /// When to stop.
    pub fn until(&self) -> Until {
        self.until
    }

    /// The flags of the command line that ask for the same numbers.
    pub(super) fn as_flags(&self) -> String {
        format!("{} --seed {}", self.until.as_flag(), self.seed)
    }

    /// An engine that works like this.
    pub(super) fn engine<'a>(&self, stop: &'a AtomicBool) -> Result<Engine<'a>, Error> {
        match self.until {
            Until::Trials(n) if !(1..=TRIALS_MAX).contains(&n) => {
                return Err(Error::Effort(format!("{n} trials; allowed: 1 to {TRIALS_MAX}")));
            }
            Until::HalfWidth(days) if !(days > 0.0 && days.is_finite()) => {
                return Err(Error::Effort(format!("an error of {days} days; allowed: a number above 0")));
            }
            Until::Trials(_) | Until::HalfWidth(_) => {}
        }
        let mut builder = rayon::ThreadPoolBuilder::new();
        match self.threads {
            Some(0) => return Err(Error::Effort("0 threads; allowed: 1 or more".to_owned())),
            Some(n) => builder = builder.num_threads(n.into()),
            None => {}
        }
        let pool = Arc::new(builder.build()?);
        Ok(Engine { seed: self.seed, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop })
    }
}

/// 400 trials, seed 1, one thread for each core.
impl Default for Effort {
    fn default() -> Self {
        Effort::trials(default_trials::RUN)
    }
}
