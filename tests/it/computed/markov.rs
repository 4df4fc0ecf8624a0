//! The Markov matrices of daily clearness (Aguiar, Collares-Pereira & Conde 1988): stationary distributions.

use crate::check_file::Check;
use stilldays::seed::{Purpose, stream};
use stilldays::weather::invent::matrices::{CLASSES, Class, STATES};

/// Shares of days in each state after many days.
fn stationary(class: &Class) -> [f64; STATES] {
    let mut share = [1.0 / STATES as f64; STATES];
    for _ in 0..400 {
        let mut next = [0.0; STATES];
        for (state, p) in share.iter().enumerate() {
            for (n, chance) in next.iter_mut().zip(class.row(state)) {
                *n += p * chance;
            }
        }
        share = next;
    }
    share
}

fn centre(class: &Class, state: usize) -> f64 {
    class.k_min + (class.k_max - class.k_min) * (state as f64 + 0.5) / STATES as f64
}

/// The probabilities of each row sum to 1, also in rows that were never observed.
#[test]
fn rows_are_chances() {
    for class in &CLASSES {
        for state in 0..STATES {
            let row = class.row(state);
            assert!(row.iter().all(|p| (0.0..=1.0).contains(p)));
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }
}

/// Mean, standard deviation and correlation of neighbouring days to nine digits, so that a wrong value anywhere in a matrix
/// is found.
#[test]
fn each_class_settles_to_its_mean_and_spread() {
    let mut check = Check::open("computed/10b_mtm_stationary.csv");
    assert_eq!(check.lines().len(), CLASSES.len());
    check.compare(|line| {
        let number = line.number("class");
        let class = &CLASSES[number as usize - 1];
        let share = stationary(class);
        let step = (class.k_max - class.k_min) / STATES as f64;
        let mean: f64 = (0..STATES).map(|s| share[s] * centre(class, s)).sum();
        assert!(
            line.number("K_lower") < mean && mean <= line.number("K_upper"),
            "class {number} leaves its range"
        );
        let between: f64 = (0..STATES).map(|s| share[s] * libm::pow(centre(class, s) - mean, 2.0)).sum();
        let variance = between + step * step / 12.0;
        let product: f64 = (0..STATES)
            .flat_map(|s| (0..STATES).map(move |t| (s, t)))
            .map(|(s, t)| share[s] * class.row(s)[t] * (centre(class, s) - mean) * (centre(class, t) - mean))
            .sum();
        [("mean", mean), ("sd", variance.sqrt()), ("lag1", product / variance)]
            .map(|(column, ours)| (format!("class {number} {column}"), ours - line.number(column)))
            .to_vec()
    });
    check.report(1e-9, "of 1");
}

/// Kolmogorov-Smirnov distance of drawn days from the stationary distribution. False-alarm rate:
/// 1e-4 a class (1e-3 in all), by the Dvoretzky-Kiefer-Wolfowitz bound with Massart's constant; only
/// every twelfth day is used, which leaves at most 0.46^12 = 1e-4 of correlation.
#[test]
fn drawn_days_settle_to_the_stationary_distribution() {
    const DAYS: usize = 4000;
    let allowed = (libm::log(2.0 / 1e-4) / 2.0 / DAYS as f64).sqrt();
    for (number, class) in CLASSES.iter().enumerate() {
        let mut rng = stream(1, Purpose::Invent, 1000 + number as u64, 0);
        let mut k = centre(class, 5);
        let mut drawn: Vec<f64> = (0..DAYS)
            .map(|_| {
                for _ in 0..12 {
                    k = class.next(k, &mut rng);
                }
                k
            })
            .collect();
        drawn.sort_by(f64::total_cmp);
        let share = stationary(class);
        let below = |k: f64| {
            let at = (k - class.k_min) / (class.k_max - class.k_min) * STATES as f64;
            let state = (at as usize).min(STATES - 1);
            share[..state].iter().sum::<f64>() + share[state] * (at - state as f64)
        };
        let distance = drawn
            .iter()
            .enumerate()
            .map(|(i, &k)| {
                let f = below(k);
                (f - i as f64 / DAYS as f64).max((i + 1) as f64 / DAYS as f64 - f)
            })
            .fold(0.0, f64::max);
        println!("class {}: distance {distance:.4} (allowed {allowed:.4})", number + 1);
        assert!(distance < allowed);
    }
}
