//! The sampler against closed forms, and a whole learning on a small scale. The large calibration is `learn_calibration` in the
//! integration tests, which is run before a release.

use super::normal;
use super::proposal::Reference;
use super::resample::{effective_size, evenly, systematic};
use super::tempering::{Effort, Island, Target, Watcher, temper};
use super::value::{Readings, gain};
use crate::seed::{Purpose, open_unit, stream};
use crate::units::normal_quantile;
use std::sync::atomic::AtomicBool;

/// A likelihood in closed form.
struct Toy<F>(usize, F);

impl<F: Fn(&[f64]) -> f64 + Sync> Target for Toy<F> {
    fn dimensions(&self) -> usize {
        self.0
    }
    fn log_likelihood(&self, z: &[f64], _draws: usize, _key: u64, _floor: f64) -> f64 {
        (self.1)(z)
    }
    fn is_noisy(&self) -> bool {
        false
    }
}

fn log_normal(x: f64, mean: f64, sd: f64) -> f64 {
    libm::log(normal::density(x, mean, sd))
}

fn island<F: Fn(&[f64]) -> f64 + Sync>(target: &Toy<F>, rows: usize, number: u64) -> Island {
    static NEVER: AtomicBool = AtomicBool::new(false);
    let watcher = Watcher { tick: &|| (), stop: &NEVER, kept: None };
    let effort = Effort { rows, draws: 1, draws_max: 1, sweeps: 3 };
    temper(target, effort, (1, number), &watcher).expect("nobody stops it")
}

fn moments(island: &Island, f: impl Fn(&[f64]) -> f64) -> (f64, f64) {
    let values: Vec<f64> = island.rows.iter().map(|r| f(&r.z)).collect();
    (super::posterior::mean(&values), super::posterior::sd(&values))
}

/// One normal quantity read directly: precision 1/s² + n/σ², evidence N(y; m, σ² I + s² 1 1ᵀ). With 16,384 units mean (in posterior
/// standard deviations) and sd come within 2 %.
#[test]
fn a_direct_reading_gives_the_conjugate_normal() {
    for (m, s, sigma, readings, mean, sd, evidence) in [
        (2.6, 0.4, 0.2, &[2.2][..], 2.28, 0.178_885_438_2, -0.514_219_577),
        (0.0, 1.0, 0.5, &[1.3], 1.04, 0.447_213_595_5, -1.706_510_309),
        (6.4, 0.3, 0.05, &[6.1, 6.14], 6.123_835_616, 0.035_112_344_16, 1.418_768_719),
        (10.0, 2.0, 1.0, &[7.0, 8.0, 9.0], 8.153_846_154, 0.554_700_196_2, -5.500_828_74),
    ] {
        let toy = Toy(1, |z: &[f64]| readings.iter().map(|y| log_normal(*y, m + s * z[0], sigma)).sum());
        let found = island(&toy, 16_384, 0);
        let (a, b) = moments(&found, |z| m + s * z[0]);
        println!(
            "mean {a:.4} of {mean:.4}, sd {b:.4} of {sd:.4}, evidence {:.3} of {evidence:.3}",
            found.log_evidence
        );
        assert!((a - mean).abs() < 0.04 * sd && (b / sd - 1.0).abs() < 0.02);
        assert!((found.log_evidence - evidence).abs() < 0.05);
    }
}

/// Two factors of which the product alone is read: it is learned, and they are tied to each other (linear Gaussian update in the logs).
#[test]
fn a_product_ties_its_factors() {
    let (s1, s2, sg, y) = (0.15, 0.3, 0.1, 0.25);
    let toy = Toy(2, |z: &[f64]| log_normal(y, s1 * z[0] + s2 * z[1], sg));
    let found = island(&toy, 4096, 0);
    let (a, sd_a) = moments(&found, |z| s1 * z[0]);
    let (b, sd_b) = moments(&found, |z| s2 * z[1]);
    let (both, _) = moments(&found, |z| (s1 * z[0] - a) * (s2 * z[1] - b));
    let correlation = both / (sd_a * sd_b);
    println!("{a:.4} {b:.4} {sd_a:.4} {sd_b:.4} {correlation:.3} {:.3}", found.log_evidence);
    assert!((a - 0.045_918).abs() < 0.01 && (b - 0.183_673).abs() < 0.01);
    assert!((sd_a / 0.135_526 - 1.0).abs() < 0.05 && (sd_b / 0.154_524 - 1.0).abs() < 0.05);
    assert!((correlation + 0.789_352).abs() < 0.03 && (found.log_evidence + 0.124_218).abs() < 0.1);
}

/// Readings, their errors, and the weights of the quantities whose sums they are.
const READINGS: [(f64, f64, &[f64]); 4] = [
    (1.2, 0.35, &[1.0]),
    (1.0, 0.3, &[0.0, 1.0, 1.0]),
    (0.8, 0.3, &[0.0, 0.0, 0.0, 1.0, 0.5, 0.3]),
    (-0.2, 0.6, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]),
];

/// ln of the likelihood of quantities by these readings.
fn of_few_of_many(z: &[f64]) -> f64 {
    let sum = |a: &[f64]| a.iter().zip(z).map(|(a, z)| a * z).sum::<f64>();
    READINGS.iter().map(|(y, sd, a)| log_normal(*y, sum(a), *sd)).sum()
}

/// ln of its mean over what was believed: the readings are independent normal.
fn evidence_of_few_of_many() -> f64 {
    let variance = |sd: f64, a: &[f64]| sd * sd + a.iter().map(|a| a * a).sum::<f64>();
    READINGS.iter().map(|(y, sd, a)| log_normal(*y, 0.0, variance(*sd, a).sqrt())).sum()
}

/// Rivals are weighed with few units: their ln evidence scatters more and is lower on average, but by little beside the 3 that name a fault. Against
/// the closed form, 32 islands of each size; measured: 0.56, 0.29 and 0.12 too low, sd 0.36, 0.24 and 0.17.
#[test]
fn the_evidence_of_few_units_is_low_by_little() {
    let (toy, evidence) = (Toy(41, of_few_of_many), evidence_of_few_of_many());
    for (rows, most) in [(96, 0.8), (160, 0.5), (256, 0.3)] {
        let off: Vec<f64> = (0..32).map(|k| island(&toy, rows, k).log_evidence - evidence).collect();
        let (mean, sd) = (super::posterior::mean(&off), super::posterior::sd(&off));
        println!("{rows} units: ln evidence off by {mean:.2}, sd {sd:.2}");
        assert!(mean.abs() < most && sd < 0.7, "{rows}: {mean} {sd}");
    }
}

/// A design has some forty quantities, and a logbook tells of a few: those few are learned as the closed form has it (sums of normal
/// quantities read with normal errors), and all others stay as they were believed. Means of 16 islands of 256 units; a reference fitted
/// without care gave the first quantity a mean of 0.7, and the others three quarters of their variance.
#[test]
fn quantities_that_nothing_tells_of_stay_as_believed() {
    let (toy, evidence) = (Toy(41, of_few_of_many), evidence_of_few_of_many());
    let islands: Vec<Island> = (0..16).map(|k| island(&toy, 256, k)).collect();
    let mean_of = |f: &dyn Fn(&Island) -> f64| islands.iter().map(f).sum::<f64>() / 16.0;
    let (first, spread) = (mean_of(&|i| moments(i, |z| z[0]).0), mean_of(&|i| moments(i, |z| z[0]).1));
    let idle = |i: &Island| (7..41).map(|k| libm::pow(moments(i, |z| z[k]).1, 2.0)).sum::<f64>() / 34.0;
    let (idle, found) = (mean_of(&idle), mean_of(&|i| i.log_evidence));
    println!(
        "first {first:.3} ± {spread:.3}, variance of the others {idle:.3}, evidence {found:.2} of {evidence:.2}"
    );
    assert!((first - 1.069).abs() < 0.05 && (spread - 0.330).abs() < 0.04, "{first} {spread}");
    assert!((0.93..1.03).contains(&idle), "{idle}");
    assert!((found - evidence).abs() < 0.4, "{found} {evidence}");
}

/// A reading that says the same of every unit leaves everything as it was, in one step.
#[test]
fn a_reading_that_says_nothing_changes_nothing() {
    let found = island(&Toy(3, |_: &[f64]| libm::log(0.2)), 4096, 0);
    assert_eq!(found.temperatures, [1.0]);
    assert!((found.log_evidence - libm::log(0.2)).abs() < 1e-12);
    for k in 0..3 {
        let (mean, sd) = moments(&found, |z| z[k]);
        assert!(mean.abs() < 0.06 && (sd - 1.0).abs() < 0.04, "{mean} {sd}");
    }
}

/// A likelihood with a floor: the pull of a reading rises as it moves away, then falls back to nothing.
#[test]
fn a_reading_far_off_is_doubted() {
    let (sigma, wrong, range) = (0.5, 0.03, 24.0);
    for (y, mean, sd) in
        [(2.0, 1.571_883, 0.508_189), (4.0, 1.008_337, 1.719_840), (6.0, 0.000_741, 1.001_714)]
    {
        let toy =
            Toy(1, |z: &[f64]| libm::log((1.0 - wrong) * normal::density(y, z[0], sigma) + wrong / range));
        let found = island(&toy, 8192, 0);
        let (a, b) = moments(&found, |z| z[0]);
        println!("reading {y}: mean {a:.3} of {mean:.3}, sd {b:.3} of {sd:.3}");
        // Two hills far apart: their weights are known to some percent.
        assert!((a - mean).abs() < 0.15 && (b - sd).abs() < 0.15, "{y}: {a} {b}");
    }
}

/// Temperatures halve the effective sample size each (closed form for a normal reading in the limit of many units).
#[test]
fn temperatures_are_those_of_the_closed_form() {
    for (y, sigma, wanted) in [
        (1.0, 0.2, &[0.109_262, 0.853_412, 1.0][..]),
        (0.0, 0.05, &[0.016_160_3, 0.136_782, 1.0]),
        (4.0, 1.0, &[0.292_098, 0.743_067, 1.0]),
    ] {
        let found = island(&Toy(1, |z: &[f64]| log_normal(y, z[0], sigma)), 16_384, 0);
        assert_eq!(found.temperatures.len(), wanted.len(), "{:?}", found.temperatures);
        for (a, b) in found.temperatures.iter().zip(wanted) {
            assert!((a / b - 1.0).abs() < 0.06, "{:?} for {wanted:?}", found.temperatures);
        }
    }
}

#[test]
fn systematic_resampling_counts_floor_or_ceiling() {
    for (weights, u, counts) in [
        (vec![0.1, 0.2, 0.3, 0.4], 0.05, vec![1, 2, 2, 3]),
        (vec![0.1, 0.2, 0.3, 0.4], 0.5, vec![1, 1, 3, 3]),
        (vec![0.1, 0.2, 0.3, 0.4], 0.95, vec![0, 2, 2, 4]),
        (vec![0.97, 0.01, 0.01, 0.01], 0.95, vec![7, 0, 0, 1]),
        (vec![0.0, 0.5, 0.0, 0.5], 0.05, vec![0, 4, 0, 4]),
    ] {
        let taken = systematic(&weights, 8, u);
        let found: Vec<usize> = (0..4).map(|k| taken.iter().filter(|t| **t == k).count()).collect();
        assert_eq!(found, counts, "{weights:?} {u}");
    }
    assert!((effective_size(&[0.1, 0.2, 0.3, 0.4]) - 1.0 / 0.3).abs() < 1e-9);
}

#[test]
fn rows_are_taken_evenly() {
    let rows: Vec<usize> = (0..10).collect();
    for (n, wanted) in [
        (0, vec![]),
        (1, vec![0]),
        (3, vec![0, 3, 6]),
        (4, vec![0, 2, 5, 7]),
        (10, rows.clone()),
        (99, rows.clone()),
    ] {
        assert_eq!(evenly(&rows, n).copied().collect::<Vec<_>>(), wanted, "{n}");
    }
    assert_eq!(evenly(&[] as &[usize], 3).count(), 0);
}

#[test]
fn the_acceptance_is_that_of_the_formula() {
    let standard = Reference::standard(2);
    assert!((standard.gain_to_accept(&[0.0, 0.0], &[1.0, 0.0], 0.5, -0.2) + 0.4).abs() < 1e-12);
    let fitted =
        Reference::new(vec![0.6, -0.7], &[vec![0.1, 0.05], vec![0.05, 0.4]]).expect("positive definite");
    assert!((fitted.gain_to_accept(&[0.5, -1.0], &[0.2, -0.4], 1.0, 1.825) - 0.3).abs() < 1e-9);
    assert!(Reference::new(vec![0.0, 0.0], &[vec![1.0, 2.0], vec![2.0, 1.0]]).is_none());
}

/// The value of a reading where it is known: linear, square, step (closed forms; the step by quadrature).
#[test]
fn the_value_of_a_reading_is_found() {
    let n = 2048;
    let mut worst: [f64; 4] = [0.0; 4];
    let repeats = 12;
    for repeat in 0..repeats {
        let mut rng = stream(7, Purpose::Resample, repeat, 0);
        let mut draw = || -> Vec<f64> { (0..n).map(|_| normal_quantile(open_unit(&mut rng))).collect() };
        let (t1, t2, e) = (draw(), draw(), draw());
        let with = |f: &dyn Fn(usize) -> f64| (0..n).map(f).collect::<Vec<f64>>();
        let read = |f: &dyn Fn(usize) -> f64| (0..n).map(|k| Some(f(k))).collect::<Readings>();
        let linear = with(&|k| 2.0 * t1[k] + t2[k]);
        let cases = [
            (linear.clone(), read(&|k| t1[k] + 0.5 * e[k]), 0.64),
            (linear, read(&|k| e[k]), 0.0),
            (with(&|k| t1[k] * t1[k]), read(&|k| t1[k] + 0.5 * e[k]), 0.64),
            (with(&|k| f64::from(u8::from(t1[k] > 0.0))), read(&|k| t1[k] + 0.5 * e[k]), 0.590_334),
        ];
        for (k, (figure, reading, share)) in cases.iter().enumerate() {
            let found = gain(figure, &[reading]);
            worst[k] += (found.share() - share) / repeats as f64;
            assert!(
                (found.share() - share).abs() < 5.0 * found.se / found.variance + 0.005,
                "case {k}: {found:?}"
            );
        }
    }
    println!("mean errors of the share: {worst:.4?}");
    assert!(worst.iter().all(|w| w.abs() < 0.02), "{worst:?}");
}

/// Where there is nothing to read tells as well.
#[test]
fn a_pile_of_nothing_to_read_counts() {
    let mut rng = stream(8, Purpose::Resample, 0, 0);
    let t: Vec<f64> = (0..2048).map(|_| normal_quantile(open_unit(&mut rng))).collect();
    let reading: Readings = t.iter().map(|t| (*t < 0.0).then_some(0.0)).collect();
    let figure: Vec<f64> = t.iter().map(|t| f64::from(u8::from(*t > 0.0))).collect();
    assert!(gain(&figure, &[&reading]).share() > 0.99);
}
