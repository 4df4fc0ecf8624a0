//! What tests of error rates share: how often a decision on drawn trials may be wrong.

use crate::tally::intervals;

/// Repetitions of one case.
pub(crate) const REPETITIONS: u64 = 400;

/// A number in 0..1: half of the time the weather's, which all builds share, half of the time a build's own luck.
pub(crate) fn luck(weather: f64, own: f64) -> f64 {
    if own < 0.5 { weather } else { 2.0 * (own - 0.5) }
}

/// Repeats a case with [`REPETITIONS`] seeds from `first` on; `wrong` tells whether its decision was wrong. No more may be
/// wrong than the stated rate.
///
/// Of a rule that errs half as often as a stated 5 %, more than 20 of 400 are wrong with a chance of 0.14 %: the
/// false-alarm rate. One that errs twice as often passes with a chance of 0.02 %. Seeds are fixed.
pub(crate) fn wrong_as_rarely_as_said(
    name: &str,
    error_rate: f64,
    first: u64,
    mut wrong: impl FnMut(u64) -> bool,
) {
    let wrong = (first..first + REPETITIONS).filter(|&seed| wrong(seed)).count() as u64;
    let at_most = intervals::clopper_pearson(wrong, REPETITIONS, 0.9).hi;
    println!(
        "{name}: {wrong} of {REPETITIONS} wrong; at most {:.1} % in the long run (95 %)",
        100.0 * at_most
    );
    assert!(wrong as f64 <= error_rate * REPETITIONS as f64, "{name}: {wrong}");
}

/// Coverage of all figures of a real design, with rare still days in June and July (mill 3, truth 0.005 and 0.02 a month): 200
/// runs of 100 trials against one of 100,000. Takes a quarter of an hour on two cores:
/// `cargo test --release --lib -- --ignored figures_of_a_demo_design --nocapture`
#[test]
#[ignore = "a quarter of an hour; see its comment"]
fn figures_of_a_demo_design_are_covered_as_often_as_said() {
    use crate::study::run::Until;
    use crate::study::{Engine, Plan, Sites, simulate};
    use crate::tally::Summary;
    use crate::tally::coverage::{Coverage, figures};
    use std::sync::Arc;

    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mill-3-seeking-small-battery.toml");
    let file = crate::design::read(&path).expect("a demo design");
    let plan = Plan::new(file, &Sites::default()).expect("its weather");
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().build().expect("threads"));
    let run = |seed: u64, trials: u64| {
        simulate(&Engine::new(seed, Arc::clone(&pool)), &plan, Until::Trials(trials), String::new())
            .expect("trials")
    };
    let mut truth = figures(&run(1_000_000, 100_000));
    let samples: Vec<Summary> = (1..=200).map(|seed| run(seed, 100)).collect();
    // Full basins are followed through few trials of any run: there the mean of all samples is nearer the truth.
    let full_basin = |s: &Summary| Some(s.water.full_basin.as_ref()?.litres_per_week.mean);
    let means: Vec<f64> = samples.iter().filter_map(full_basin).collect();
    if let Some((value, _)) = truth.get_mut("/water/full_basin/litres_per_week") {
        *value = means.iter().sum::<f64>() / means.len() as f64;
    }
    let mut coverage = Coverage::default();
    samples.iter().for_each(|sample| coverage.add(&truth, sample));
    for (k, month) in ["April", "May", "June", "July", "August", "September", "October"].iter().enumerate() {
        let path = format!("/months/{k}/still_days/mean");
        for (path, share) in coverage.of(&path) {
            println!("{month}: truth {:.4}, covered by {:.1} % ({path})", truth[path].0, 100.0 * share);
            assert!(share >= 0.92, "{month}");
        }
    }
    for (kind, (n, mean, least)) in coverage.by_kind() {
        println!("{:6.1} % (lowest of {n}: {:.1} %)  {kind}", 100.0 * mean, 100.0 * least);
        assert!(mean >= 0.92, "{kind}: {mean}");
    }
}

/// Control variates at the default number of trials, on three demo designs and 100 seeds each: how much narrower the intervals of still days a
/// month are, how much less the means really spread, and how often the intervals hold the mean of all seeds. Some minutes on two cores:
/// `cargo test --release --lib -- --ignored control_variates --nocapture`
#[test]
#[ignore = "some minutes; see its comment"]
fn control_variates_narrow_what_they_say_and_cover() {
    use crate::study::run::Until;
    use crate::study::simulate::run_trials;
    use crate::study::{Engine, Plan, Sites};
    const SEEDS: u64 = 100;
    let spread = |values: &[f64]| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
        (mean, (squares / (values.len() as f64 - 1.0)).sqrt())
    };
    let pool = std::sync::Arc::new(rayon::ThreadPoolBuilder::new().build().expect("threads"));
    // Largest ratio of the intervals: where still days are rare, nothing is gained.
    for (design, most) in [
        ("mill-3-seeking-small-battery", 0.67),
        ("mill-2-seeking-direct", 0.67),
        ("mill-6-fixed-battery", 1.05),
    ] {
        let file = format!("{}/scenarios/{design}.toml", env!("CARGO_MANIFEST_DIR"));
        let plan = Plan::new(crate::design::read(file.as_ref()).expect("a demo design"), &Sites::new());
        let plan = plan.expect("its weather");
        let runs: Vec<_> = (1..=SEEDS)
            .map(|seed| {
                let tally =
                    run_trials(&Engine::new(seed, std::sync::Arc::clone(&pool)), &plan, Until::default());
                let tally = tally.state.tally;
                (tally.still_days_as_seen().expect("trials"), tally.still_days_per_month().expect("trials"))
            })
            .collect();
        let means = |of: fn(&(crate::tally::summary::Estimate, crate::tally::summary::Estimate)) -> f64| {
            runs.iter().map(of).collect::<Vec<_>>()
        };
        let (seen, corrected) = (spread(&means(|r| r.0.mean)), spread(&means(|r| r.1.mean)));
        let said = spread(&means(|r| r.1.se.unwrap_or(f64::NAN))).0;
        let ratio = spread(&means(|r| r.1.half_width().unwrap() / r.0.half_width().unwrap())).0;
        let covered = runs
            .iter()
            .filter(|r| r.1.interval_95.is_some_and(|[lo, hi]| lo <= corrected.0 && corrected.0 <= hi));
        let covered = covered.count();
        println!(
            "{design}: as seen {:.4} ± {:.4} (sd), corrected {:.4} ± {:.4}, said {said:.4}; intervals {ratio:.3} as wide; {covered} of {SEEDS} covered",
            seen.0, seen.1, corrected.0, corrected.1
        );
        assert!(covered >= 88 && ratio < most, "{design}: {covered} of {SEEDS}, {ratio}");
        // No bias: within four standard errors of the mean as seen.
        assert!((seen.0 - corrected.0).abs() < 4.0 * seen.1 / (SEEDS as f64).sqrt(), "{design}");
    }
}
