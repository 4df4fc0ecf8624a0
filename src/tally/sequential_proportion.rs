//! A sequential test of a proportion: whether the chance of an event reaches a given share, valid at every trial.
//!
//! A test for a fixed number of trials errs more often than it says if one watches it and stops when it looks good. Here
//! the likelihood is averaged over all chances that contradict a hypothesis, and divided by its maximum under the
//! hypothesis: for "the chance is at most c", with x events in n trials,
//!
//! `E = 1/(1-c) ∫ over q in c..1 of (q/c)^x ((1-q)/(1-c))^(n-x) dq`
//!
//! is, for every chance up to c, a positive supermartingale that starts at 1. By Ville's inequality (1939) it ever
//! reaches 1/α with a chance of at most α, however often one looks (Robbins 1970, Ann. Math. Stat. 41:1397, on the
//! mixture; from memory). The mirrored average tests "at least c". Both are incomplete beta functions.

use super::intervals::Interval;
use statrs::function::beta::{beta_reg, ln_beta};

/// On which side of a share a chance is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Above.
    Above,
    /// Below.
    Below,
}

/// Decides whether the chance of an event is above or below a share. The first decision stays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SequentialProportion {
    share: f64,
    events: u64,
    trials: u64,
    decided: Option<Side>,
    /// Logarithm of 1/α for each direction.
    enough_above: f64,
    enough_below: f64,
}

impl SequentialProportion {
    /// Without trials yet. All within 0..1. `wrong_above`: maximum chance that [`Side::Above`] is ever decided though the chance
    /// does not reach the share; `wrong_below`: that [`Side::Below`] is decided though it does.
    pub(crate) fn new(share: f64, wrong_above: f64, wrong_below: f64) -> SequentialProportion {
        SequentialProportion {
            share: share.clamp(1e-6, 1.0 - 1e-6),
            events: 0,
            trials: 0,
            decided: None,
            enough_above: -libm::log(wrong_above),
            enough_below: -libm::log(wrong_below),
        }
    }

    /// Adds one trial.
    pub(crate) fn push(&mut self, event: bool) {
        self.trials += 1;
        self.events += u64::from(event);
        if self.decided.is_some() {
            return;
        }
        if ln_above(self.share, self.events, self.trials) >= self.enough_above {
            self.decided = Some(Side::Above);
        } else if ln_above(1.0 - self.share, self.trials - self.events, self.trials) >= self.enough_below {
            self.decided = Some(Side::Below);
        }
    }

    /// The decision, if there is one.
    pub(crate) fn decided(&self) -> Option<Side> {
        self.decided
    }

    /// Trials so far.
    pub fn trials(&self) -> u64 {
        self.trials
    }

    /// Share of trials with the event; none without trials.
    pub(crate) fn estimate(&self) -> Option<f64> {
        (self.trials > 0).then(|| self.events as f64 / self.trials as f64)
    }

    /// Interval of the chance at this confidence, valid at any time of looking.
    pub(crate) fn interval(&self, confidence: f64) -> Interval {
        let enough = -libm::log(0.5 * (1.0 - confidence));
        // The largest share that is still rejected.
        let limit = |events: u64| {
            let (mut lo, mut hi) = (0.0, events as f64 / self.trials.max(1) as f64);
            for _ in 0..50 {
                let mid = 0.5 * (lo + hi);
                if ln_above(mid, events, self.trials) >= enough { lo = mid } else { hi = mid }
            }
            lo
        };
        if self.trials == 0 {
            return Interval { lo: 0.0, hi: 1.0 };
        }
        Interval { lo: limit(self.events), hi: 1.0 - limit(self.trials - self.events) }
    }
}

/// ln E against "the chance is at most `share`".
fn ln_above(share: f64, events: u64, trials: u64) -> f64 {
    if events == 0 || share <= 0.0 || share >= 1.0 {
        return if share <= 0.0 && events > 0 { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    let (x, rest) = (events as f64, (trials - events) as f64);
    // ∫ from c to 1 of q^x (1-q)^rest dq = B(x+1, rest+1) I_{1-c}(rest+1, x+1)
    let tail = beta_reg(rest + 1.0, x + 1.0, 1.0 - share);
    if tail <= 0.0 {
        return f64::NEG_INFINITY;
    }
    ln_beta(x + 1.0, rest + 1.0) + libm::log(tail) - x * libm::log(share) - (rest + 1.0) * libm::log1p(-share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, stream};
    use rand::RngExt;

    #[test]
    fn the_average_is_the_one_written_above() {
        // By the midpoint rule: x = 7 of n = 9, c = 0.5.
        let (c, x, n) = (0.5, 7, 9);
        let steps = 100_000;
        let mut sum = 0.0;
        for k in 0..steps {
            let q = c + (1.0 - c) * (f64::from(k) + 0.5) / f64::from(steps);
            sum += libm::pow(q / c, f64::from(x)) * libm::pow((1.0 - q) / (1.0 - c), f64::from(n - x));
        }
        let by_hand = libm::log(sum / f64::from(steps));
        let found = ln_above(c, x as u64, n as u64);
        assert!((found - by_hand).abs() < 1e-8, "{found} {by_hand}");
        // All n trials with the event: [(1 - c^(n+1)) / ((n+1) (1-c))] c^-n.
        let all = libm::log((1.0 - libm::pow(0.9, 41.0)) / (41.0 * 0.1)) - 40.0 * libm::log(0.9);
        assert!((ln_above(0.9, 40, 40) - all).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_said_of_nothing_and_the_plain_cases_are_settled() {
        let mut good = SequentialProportion::new(0.9, 0.025, 0.025);
        assert_eq!((good.decided(), good.estimate()), (None, None));
        assert_eq!(good.interval(0.95), Interval { lo: 0.0, hi: 1.0 });
        let mut bad = good;
        for _ in 0..100 {
            good.push(true);
            bad.push(false);
        }
        assert_eq!((good.decided(), bad.decided()), (Some(Side::Above), Some(Side::Below)));
        let i = good.interval(0.95);
        assert!(i.lo > 0.9 && i.hi == 1.0, "{i:?}");
        assert_eq!(bad.interval(0.95).lo, 0.0);
    }

    /// 1,000 sequences of 400 trials with a chance exactly at the share, looked at after every trial: wrong in
    /// either direction in at most 5 % each. The bound holds for endless sequences, so these err less often;
    /// 5 % would be passed by luck alone only if the true rate were above.
    #[test]
    fn looking_after_every_trial_errs_no_more_often_than_said() {
        for share in [0.5, 0.9] {
            let (mut above, mut below, mut missed) = (0, 0, 0);
            for sequence in 0..1000 {
                let mut luck = stream(11, Purpose::Resample, sequence, 0);
                let mut test = SequentialProportion::new(share, 0.05, 0.05);
                let mut left_out = false;
                for k in 0..400 {
                    test.push(luck.random::<f64>() < share);
                    if k % 50 == 49 {
                        let i = test.interval(0.95);
                        left_out |= !(i.lo..=i.hi).contains(&share);
                    }
                }
                above += u32::from(test.decided() == Some(Side::Above));
                below += u32::from(test.decided() == Some(Side::Below));
                missed += u32::from(left_out);
            }
            println!("share {share}: above {above}, below {below}, interval missed {missed} of 1000");
            assert!(above > 0 && above <= 50, "{above}");
            assert!(below > 0 && below <= 50, "{below}");
            assert!(missed > 0 && missed <= 50, "{missed}");
        }
    }

    #[test]
    fn limits_fall_where_the_average_crosses_and_only_there() {
        // ln E must fall as the share rises towards what was seen, or halving would find a wrong limit.
        for (events, trials) in [(1, 10), (9, 10), (50, 64), (190, 200), (399, 400)] {
            let seen = events as f64 / trials as f64;
            let values: Vec<f64> =
                (1..200).map(|k| ln_above(seen * f64::from(k) / 200.0, events, trials)).collect();
            assert!(values.windows(2).all(|w| w[1] < w[0] + 1e-9), "{events} of {trials}");
        }
    }
}
