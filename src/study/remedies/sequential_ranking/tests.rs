//! Rankings of drawn remedies: how often the answer is wrong, and whether there is one.

use super::*;
use crate::seed::{Purpose, stream};
use crate::study::engine::WAVE_TRIALS;
use crate::study::remedies::weigh::AT_LEAST;
use crate::study::tests::{REPETITIONS, luck, wrong_as_rarely_as_said};
use rand::RngExt;
use rand::rngs::ChaCha8Rng;

/// Remedies whose mean changes are known.
struct Kind {
    name: &'static str,
    /// Mean change of each, days a season.
    means: Vec<f64>,
    budget: u64,
    /// What each changes in one season.
    season: fn(&mut ChaCha8Rng, &mut [f64]),
}

impl Kind {
    /// Ranks them as `remedies` does: looks after each wave.
    fn ranked(&self, seed: u64) -> Ranked {
        let n = self.means.len();
        let mut ranking = SequentialRanking::new(n, AT_LEAST);
        let mut changes = vec![0.0; n];
        let (mut alive, mut trials, mut settled) = ((0..n).collect::<Vec<_>>(), 0, false);
        while trials < self.budget && !settled {
            for trial in trials..trials + WAVE_TRIALS {
                (self.season)(&mut stream(seed, Purpose::Resample, trial, 0), &mut changes);
                ranking.take(&alive.iter().map(|&k| (k, Some(changes[k]))).collect::<Vec<_>>());
            }
            trials += WAVE_TRIALS;
            settled = ranking.look();
            alive.retain(|&k| ranking.alive(k));
        }
        Ranked {
            order: ranking.order(),
            dropped: (0..n).filter(|&k| !ranking.alive(k)).collect(),
            settled,
            trials,
        }
    }

    /// Whether the order was settled with one placed behind a worse one, or one dropped that belongs among the first.
    fn wrong(&self, run: &Ranked) -> bool {
        let worse = |i: usize, j: usize| self.means[i] > self.means[j] + 1e-9;
        let out_of_order = |p: usize, &i: &usize| run.order[p + 1..].iter().any(|&j| worse(i, j));
        let belongs = |&k: &usize| (0..self.means.len()).filter(|&i| worse(k, i)).count() < PLACES;
        let first = run.order.iter().take(PLACES).enumerate();
        run.settled && first.into_iter().any(|(p, i)| out_of_order(p, i)) || run.dropped.iter().any(belongs)
    }
}

/// How a ranking came out.
struct Ranked {
    order: Vec<usize>,
    dropped: Vec<usize>,
    settled: bool,
    trials: u64,
}

/// So many out of `of`, each with chance p.
fn count(luck: &mut ChaCha8Rng, of: u32, p: f64) -> f64 {
    (0..of).filter(|_| luck.random::<f64>() < p).count() as f64
}

/// A whole number with this mean: the one below or the one above.
fn whole(luck: &mut ChaCha8Rng, mean: f64) -> f64 {
    mean.floor() + f64::from(luck.random::<f64>() < mean.fract())
}

/// Of so many dull days, those on which each remedy leaves the jet still: with a chance of its own, under a light that
/// all share and a luck that they do not.
fn left(rng: &mut ChaCha8Rng, dull: f64, chances: &[f64], changes: &mut [f64]) {
    changes.fill(0.0);
    for _ in 0..dull as u32 {
        let weather = rng.random();
        for (change, chance) in changes.iter_mut().zip(chances) {
            *change += f64::from(luck(weather, rng.random()) < *chance);
        }
    }
}

/// Dull days of a season whose tail is heavy: 2/u, rounded down, at most 90; and the mean of a function of them, from
/// P(days >= n) = 2/n.
fn dull(rng: &mut ChaCha8Rng) -> f64 {
    (2.0 / (1.0 - rng.random::<f64>())).floor().min(90.0)
}

fn mean_over_dull(f: impl Fn(f64) -> f64) -> f64 {
    let at_least = |n: u32| if n > 90 { 0.0 } else { 2.0 / f64::from(n) };
    (2..=90).map(|n| f(f64::from(n)) * (at_least(n) - at_least(n + 1))).sum()
}

const APART: [f64; 8] = [0.05, 0.2, 0.35, 0.5, 0.6, 0.65, 0.7, 0.75];
const NEAR: [f64; 8] = [0.5, 0.502, 0.504, 0.506, 0.508, 0.51, 0.512, 0.514];
/// Days that a flat remedy saves in every dull season.
const FLAT: f64 = 2.4;
/// Shares of all dull days that others save, over what makes them equal to the flat ones.
const SHARES: [f64; 4] = [1.02, 1.025, 1.03, 1.035];

fn apart() -> Kind {
    let means = APART.map(|p| 7.0 * p).to_vec();
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let days = count(r, 20, 0.35);
        left(r, days, &APART, c);
    };
    Kind { name: "clearly apart", means, budget: 2048, season }
}

fn nearly_tied() -> Kind {
    let means = NEAR.map(|p| 7.0 * p).to_vec();
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let days = count(r, 20, 0.35);
        left(r, days, &NEAR, c);
    };
    Kind { name: "nearly tied", means, budget: 1024, season }
}

fn tied() -> Kind {
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let days = count(r, 20, 0.35);
        left(r, days, &[0.5; 8], c);
    };
    Kind { name: "exactly tied", means: vec![3.5; 8], budget: 1024, season }
}

/// Each remedy twice.
fn twins() -> Kind {
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let mut one = [0.0; 4];
        left(r, 10.0, &[0.1, 0.24, 0.4, 0.5], &mut one);
        (0..8).for_each(|k| c[k] = one[k / 2]);
    };
    let means = [0.1, 0.24, 0.4, 0.5].iter().flat_map(|p| [10.0 * p; 2]).collect();
    Kind { name: "twins", means, budget: 2048, season }
}

/// Almost no day is still. Four leave a spell of 12 to 16 days in one season of two hundred, four a single day in 6 %.
fn rare() -> Kind {
    const SINGLE: [f64; 4] = [0.06, 0.061, 0.062, 0.063];
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let spell = r.random::<f64>() < 0.005;
        for k in 0..4 {
            let length = 12.0 + (5.0 * r.random::<f64>()).floor();
            c[k] = if spell { length } else { 0.0 };
            c[4 + k] = f64::from(r.random::<f64>() < SINGLE[k]);
        }
    };
    Kind { name: "rare spells", means: [[0.07; 4], SINGLE].concat(), budget: 1024, season }
}

/// The better one of the first two is better in 1.1 % of seasons only, and named last.
fn seldom() -> Kind {
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let days = count(r, 20, 0.05);
        c[0] = days + f64::from(r.random::<f64>() < 0.011);
        c[1] = days;
        for (k, more) in [1.5, 3.0, 4.0, 5.0].into_iter().enumerate() {
            c[2 + k] = days + whole(r, more);
        }
    };
    Kind { name: "seldom apart", means: vec![1.011, 1.0, 2.5, 4.0, 5.0, 6.0], budget: 1408, season }
}

/// Under heavy-tailed weather, remedies that save a day or two of every dull season against such as save a share of
/// all dull days, most of them in few seasons; in the long run these are a little better.
fn skewed() -> Kind {
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let days = dull(r);
        let even = FLAT / mean_over_dull(|n| n);
        for k in 0..4 {
            c[k] = -whole(r, FLAT).min(days);
            c[4 + k] = -whole(r, days * even * SHARES[k]);
        }
    };
    let flat = -mean_over_dull(|n| 0.6 * n.min(2.0) + 0.4 * n.min(3.0));
    let means = (0..8).map(|k| if k < 4 { flat } else { -FLAT * SHARES[k - 4] }).collect();
    Kind { name: "heavy-tailed", means, budget: 1024, season }
}

/// One saves sixty days in one season of twenty, far more than the size given beforehand; the others are plain.
fn wild() -> Kind {
    let season = |r: &mut ChaCha8Rng, c: &mut [f64]| {
        let weather = count(r, 8, 0.5) - 4.0;
        c[0] = if r.random::<f64>() < 0.05 { -60.0 } else { 0.0 };
        for (k, saved) in [3.2, 2.9, 2.4, 1.9, 1.4].into_iter().enumerate() {
            c[1 + k] = weather - whole(r, saved);
        }
    };
    Kind { name: "one wild", means: vec![-3.0, -3.2, -2.9, -2.4, -1.9, -1.4], budget: 1024, season }
}

/// 400 rankings of each kind, most of them as hard as can be. Wrong: the order of the first three is settled and is not
/// the true one, or one that belongs among them has dropped out. None of 400 is seen in any kind. A rule by paired t
/// intervals, with shares of the error for looks and pairs, that tests neighbours in the order alone and takes two for
/// alike as soon as they have not differed in 256 trials, is wrong in 117 of the rare spells, 23 of those seldom apart
/// and 46 of the wild ones.
#[test]
fn wrong_orders_are_as_rare_as_said() {
    for kind in [apart(), nearly_tied(), twins(), rare(), seldom(), skewed(), wild()] {
        wrong_as_rarely_as_said(kind.name, ERROR_RATE, 1000, |seed| kind.wrong(&kind.ranked(seed)));
    }
    // No order of equals is wrong; that one of them is said to be ahead, so that it can drop out, would be.
    let tied = tied();
    wrong_as_rarely_as_said(tied.name, ERROR_RATE, 1000, |seed| {
        let run = tied.ranked(seed);
        run.settled || !run.dropped.is_empty()
    });
}

/// What is easy to tell is told: remedies clearly apart by the third look, those that are the same once they have not
/// differed for long enough; and who does not belong among the first three drops out.
#[test]
fn what_is_apart_is_settled_early_and_the_rest_drop_out() {
    let (apart, twins) = (apart(), twins());
    let (mut early, mut same, mut gone) = (0, 0, 0);
    for seed in 0..REPETITIONS {
        let run = apart.ranked(5000 + seed);
        early += u64::from(run.settled && run.trials <= 3 * WAVE_TRIALS);
        gone += run.dropped.len() as u64;
        let run = twins.ranked(5000 + seed);
        same += u64::from(run.settled && run.trials < 1024);
    }
    println!("{early} settled early, {same} of the twins, {gone} dropped, of {REPETITIONS} each");
    assert!(early >= 380 && same >= 380, "{early} {same}");
    assert!(gone >= 4 * REPETITIONS, "{gone}");
}

/// Gives those who take part as many trials, the same each time.
fn alike_trials(ranking: &mut SequentialRanking, who: &[usize], changes: &[f64], trials: u64) {
    let seen: Vec<_> = who.iter().map(|&k| (k, Some(changes[k]))).collect();
    (0..trials).for_each(|_| ranking.take(&seen));
}

/// A mean over few seasons is no match for one over many: who has dropped out stays behind the first three.
#[test]
fn one_that_dropped_out_does_not_come_back() {
    let mut ranking = SequentialRanking::new(5, AT_LEAST);
    alike_trials(&mut ranking, &[0, 1, 2, 3, 4], &[-8.0, -6.0, -4.0, -2.0, 2.0], 160);
    assert!(ranking.look());
    assert_eq!((ranking.alive(2), ranking.alive(3), ranking.alive(4)), (true, false, false));
    // The others turn out worse than they looked.
    alike_trials(&mut ranking, &[0, 1, 2], &[9.0, 10.0, 11.0], 160);
    assert_eq!(ranking.order(), [0, 1, 2, 3, 4]);
    assert!(ranking.look());
}

/// The last one rises after the fourth has dropped out: the two were never told apart, but those between them were.
#[test]
fn who_rises_late_is_ahead_of_those_who_dropped_out_before() {
    let mut ranking = SequentialRanking::new(5, AT_LEAST);
    for _ in 0..80 {
        alike_trials(&mut ranking, &[0, 1, 2, 3, 4], &[-8.0, -6.0, -4.0, 2.0, -30.0], 1);
        alike_trials(&mut ranking, &[0, 1, 2, 3, 4], &[-8.0, -6.0, -4.0, 2.0, 30.0], 1);
    }
    assert!(!ranking.look());
    assert_eq!((ranking.alive(3), ranking.alive(4)), (false, true));
    alike_trials(&mut ranking, &[0, 1, 2, 4], &[-8.0, -6.0, -4.0, 0.0, -40.0], 320);
    assert!(ranking.look());
    assert!(!ranking.ahead(4, 3));
    assert_eq!(ranking.order()[..3], [4, 0, 1]);
}

#[test]
fn few_remedies_or_none_are_settled_as_far_as_they_go() {
    assert!(SequentialRanking::new(0, AT_LEAST).look());
    assert!(SequentialRanking::new(1, AT_LEAST).look());
    let mut two = SequentialRanking::new(2, AT_LEAST);
    assert!(!two.look(), "nothing was seen");
    // Where one cannot be computed nothing is held against it.
    (0..500).for_each(|_| two.take(&[(0, Some(-3.0)), (1, None)]));
    assert!(!two.look());
    (0..500).for_each(|_| two.take(&[(0, Some(-3.0)), (1, Some(-5.0))]));
    assert!(two.look());
    assert_eq!(two.order(), [1, 0]);
}
