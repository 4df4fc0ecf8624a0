//! Link 10: the Markov library of daily clearness (Aguiar, Collares-Pereira & Conde 1988).
//!
//! `10a_mtm_library.json`: the matrices; `10b_mtm_stationary.csv`: what each settles to.

use crate::check_file::Check;
use stilldays::seed::{Purpose, stream};
use stilldays::weather::invent::matrices::{CLASSES, Class, STATES};

const LIBRARY: &str = include_str!("../../published/data/10a_mtm_library.json");

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

#[test]
fn the_matrices_are_those_of_the_library() {
    let library: serde_json::Value = serde_json::from_str(LIBRARY).unwrap();
    let classes = library["classes"].as_array().unwrap();
    assert_eq!(classes.len(), CLASSES.len());
    let mut numbers = 0;
    for (class, published) in CLASSES.iter().zip(classes) {
        assert_eq!(class.k_min, published["Kmin"].as_f64().unwrap());
        assert_eq!(class.k_max, published["Kmax"].as_f64().unwrap());
        assert_eq!(class.k_upper, published["K_upper"].as_f64().unwrap_or(1.0));
        for state in 0..STATES {
            let never_observed = class.matrix[state].iter().all(|&t| t == 0);
            for (to, thousandths) in class.matrix[state].iter().enumerate() {
                let published = published["matrix"][state][to].as_f64().unwrap();
                // Rows never observed stand as certain ways to the ninth state in the copy.
                let ours =
                    if never_observed { class.row(state)[to] } else { f64::from(*thousandths) / 1000.0 };
                assert_eq!(ours, published, "row {state}, column {to}");
                numbers += 1;
            }
            let sum: f64 = class.row(state).iter().sum();
            assert!((sum - 1.0).abs() < 1e-12);
        }
    }
    assert_eq!(numbers, 1000);
    println!("published 10a_mtm_library.json rows={numbers} tol=0e0 worst=0.000e0");
}

#[test]
fn each_class_settles_to_its_published_mean_and_spread() {
    const TOLERANCE: f64 = 1e-9;
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
    check.report(TOLERANCE);
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
