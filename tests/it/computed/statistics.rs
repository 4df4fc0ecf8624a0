//! Intervals, quantiles and stopping rules against general statistics libraries.

use crate::check_file::{Check, open_json, relative, report_json};
use rand_distr::{Distribution, Exp1};
use stilldays::seed::{Purpose, stream};
use stilldays::study::engine::WAVE_TRIALS;
use stilldays::study::paired::{Pairs, independent_means};
use stilldays::study::run::Until;
use stilldays::tally::Moments;
use stilldays::tally::intervals::*;
use stilldays::units::normal_quantile;

#[test]
fn intervals_of_proportions() {
    Check::open("computed/11a_proportion_ci.csv")
        .compare(|row| {
            let (x, n, confidence) = (row.number("x") as u64, row.number("n") as u64, row.number("conf"));
            let (w, c) = (wilson(x, n, confidence), clopper_pearson(x, n, confidence));
            [("wilson_lo", w.lo), ("wilson_hi", w.hi), ("cp_lo", c.lo), ("cp_hi", c.hi)]
                .map(|(column, ours)| (format!("{x} of {n}, {column}"), ours - row.number(column)))
                .to_vec()
        })
        .report(2e-14, "of 1");
}

/// Ranks of the limits of a quantile: one value of each rank makes them its bins.
#[test]
fn limits_of_quantiles_by_order_statistics() {
    Check::open("computed/11b_quantile_order_stats.csv")
        .compare(|row| {
            let (n, p) = (row.number("n"), row.number("p"));
            let mut counts = vec![1u64; n as usize + 1];
            counts[0] = 0;
            let [lower, upper] = quantile_of_counts(&counts, p, row.number("conf"));
            let place = format!("{p} of {n}");
            let rank = |bin: Option<usize>| bin.map_or(f64::NAN, |bin| bin as f64);
            let mut errors = vec![(format!("lower, {place}"), rank(lower) - row.number("l"))];
            match row.text("u") {
                "none" => errors.push((format!("no upper, {place}"), f64::from(u8::from(upper.is_some())))),
                _ => errors.push((format!("upper, {place}"), rank(upper) - row.number("u"))),
            }
            errors
        })
        .report(0.0, "ranks");
}

#[test]
fn trials_without_an_event() {
    Check::open("computed/11c_min_n.csv")
        .compare(|row| {
            let n = trials_without_event(row.number("p0"), row.number("conf"));
            vec![("n".into(), n as f64 - row.number("n"))]
        })
        .report(0.0, "trials");
}

#[test]
fn quantiles_of_student_and_normal() {
    Check::open("computed/11e_t_quantiles.csv")
        .compare(|row| {
            let df = row.number("df");
            [0.95, 0.975, 0.995]
                .map(|p| {
                    let place = format!("t_{p}");
                    (format!("{place} of {df}"), relative(t_quantile(p, df), row.number(&place)))
                })
                .to_vec()
        })
        .report(2e-12, "of the value");
}

/// What `compare` says of two designs under the same weather, and of two that are independent samples.
#[test]
fn pairs_under_the_same_weather() {
    let name = "computed/11d_paired_t.json";
    let json = open_json(name);
    let list = |key: &str| -> Vec<f64> {
        json[key].as_array().expect(key).iter().map(|v| v.as_f64().expect(key)).collect()
    };
    let number = |key: &str| json[key].as_f64().expect(key);
    let (a, b) = (list("A"), list("B"));
    let mut pairs = Pairs::default();
    a.iter().zip(&b).for_each(|(a, b)| pairs.push(*b, *a));
    let p = pairs.difference(0.95).expect("ten pairs");
    let moments = |v: &[f64]| {
        let mut moments = Moments::default();
        v.iter().for_each(|x| moments.push(*x));
        moments
    };
    let w = independent_means(&moments(&b), &moments(&a), 0.95).expect("ten of each");
    let se = p.se.expect("differences vary");
    let (ci, welch_ci) = (list("ci"), list("welch_ci"));
    let errors = [
        (p.trials.expect("pairs") as f64, number("n")),
        (p.mean, number("mean_diff")),
        (se * 10f64.sqrt(), number("sd_diff")),
        (t_quantile(0.975, 9.0), number("t_0.975")),
        (p.low.expect("ten pairs"), ci[0]),
        (p.high.expect("ten pairs"), ci[1]),
        (p.mean / se, number("t_stat")),
        (w.low.expect("ten of each"), welch_ci[0]),
        (w.high.expect("ten of each"), welch_ci[1]),
    ]
    .map(|(ours, theirs)| relative(ours, theirs));
    report_json(name, &errors, 1e-11, "of the value");
}

/// The stopping rule of `run` covers no less than a rule that is asked after every value, because it is asked once in a wave
/// and widens the half-width. Both use 2000 replications: the standard error of the difference of their coverages is 0.007,
/// the tolerance four of these (one false alarm in 30,000).
#[test]
fn stopping_when_sure_enough_costs_little_coverage() {
    let json = open_json("computed/11g_sequential_stopping.json");
    let (replications, half_width) = (2000u64, 0.1);
    let rule = Until::HalfWidth(half_width);
    let (mut covered, mut total) = (0u64, 0u64);
    for k in 0..replications {
        let mut rng = stream(11, Purpose::Resample, k, 0);
        let (mut n, mut sum, mut squares) = (0u64, 0.0, 0.0);
        loop {
            for _ in 0..WAVE_TRIALS {
                // Its mean is 1.
                let x: f64 = Exp1.sample(&mut rng);
                n += 1;
                sum += x;
                squares += x * x;
            }
            let count = n as f64;
            let se = ((squares - sum * sum / count) / (count * (count - 1.0))).sqrt();
            if rule.met_by(n, Some(normal_quantile(0.975) * se)) {
                let printed = normal_quantile(0.975) * se;
                covered += u64::from((sum / count - 1.0).abs() <= printed);
                total += n;
                break;
            }
        }
    }
    let coverage = covered as f64 / replications as f64;
    let mean_n = total as f64 / replications as f64;
    println!("coverage {coverage}, mean number {mean_n}");
    let (asked_always, always_n) = (json["coverage_sequential"].as_f64(), json["mean_stopping_n"].as_f64());
    assert!(coverage > asked_always.expect("a number") - 0.028, "{coverage}");
    // A wave late and 3 % narrower, no more: 1.03² of the number, and a wave.
    let most = 1.03 * 1.03 * always_n.expect("a number") + WAVE_TRIALS as f64;
    assert!(mean_n > always_n.expect("a number") && mean_n < most, "{mean_n}");
}
