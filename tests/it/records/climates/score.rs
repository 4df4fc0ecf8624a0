//! Scores of sampled years, each against the record whose climate had no part in the lines that made them.

use super::figures::{Figures, figures, ks, temperature};
use super::record::months;
use super::{Case, YEARS, fitted, sample};
use std::collections::BTreeMap;
use stilldays::design::YearSpread;
use stilldays::weather::days::series::Series;
use stilldays::weather::file::year::YearKind;

/// Scores of a case, or their means over the cases of a record.
type Scores = [f64; 11];

/// What they are; the unnamed one, the memory of the fast part, is only printed.
const NAMES: [&str; 11] = [
    "months",
    "years",
    "lag-1",
    "KS",
    "below 0.25",
    "below 0.4",
    "run",
    "run of ten years",
    "",
    "air months",
    "air lag-1",
];

/// Largest mean and root mean square over the records: what is reached, a little rounded up.
fn limits(kind: YearKind, name: &str) -> (f64, f64) {
    match (kind, name) {
        (YearKind::Typical, "months") => (0.05, 0.12),
        (YearKind::Typical, "years") => (0.05, 0.20),
        (_, "lag-1") => (0.02, 0.05),
        (YearKind::Typical, "KS") => (0.042, 0.045),
        (YearKind::Typical, "below 0.4") => (0.06, 0.12),
        (YearKind::Typical, "run") => (0.04, 0.14),
        (YearKind::Typical, "run of ten years") => (0.06, 0.26),
        (YearKind::Typical, "below 0.25") => (0.11, 0.22),
        (YearKind::Typical, "air months") => (0.03, 0.17),
        (_, "air lag-1") => (0.05, 0.15),
        _ => (1.0, 1.0),
    }
}

/// Scores of one case; second, the natural logarithms of its twelve months' spread over the record's.
fn of_case(
    case: &Case,
    cases: &[Case],
    truth: &BTreeMap<String, Figures>,
    kind: YearKind,
) -> (Scores, Vec<f64>) {
    let lines = fitted(cases, truth, &case.record.group);
    let series = Series::with_lines(&case.pool, months(), kind, YearSpread::ByClimate, &lines);
    let (index, air_c) = sample(&series, 5, YEARS);
    let air = temperature(&air_c, &case.record.air_c);
    let got = figures(&index, &case.record.clear_wh_m2, false);
    let want = &truth[&case.record.name];
    let bias = 1.0 / (2.0 * (case.record.index.len() as f64 - 2.0));
    let ratio = |a: f64, b: f64| libm::log(a.max(1e-4) / b.max(1e-4));
    let months: Vec<f64> =
        (0..12).map(|m| ratio(got.variability.monthly[m], want.variability.monthly[m]) - bias).collect();
    let month_mean = months.iter().sum::<f64>() / 12.0;
    let scores = [
        month_mean,
        ratio(got.variability.annual, want.variability.annual) - bias,
        got.lag_1 - want.lag_1,
        ks(&got.index, &want.index),
        if case.record.derived { f64::NAN } else { ratio(got.below[0], want.below[0]) },
        ratio(got.below[1], want.below[1]),
        ratio(got.run.max(0.3), want.run.max(0.3)),
        ratio(got.run_10.max(0.3), want.run_10.max(0.3)),
        series.persistence().memory.fast,
        air[0],
        air[1],
    ];
    (scores, months)
}

/// Prints the scores of all cases and holds them to the [`limits`].
pub fn score(cases: &[Case], truth: &BTreeMap<String, Figures>, kind: YearKind) {
    let mut by_record: BTreeMap<&str, Vec<Scores>> = BTreeMap::new();
    let (mut inside, mut all) = (0, 0);
    for case in cases {
        let (scores, months) = of_case(case, cases, truth, kind);
        inside += months.iter().filter(|r| (0.75f64..=1.30).contains(&libm::exp(**r))).count();
        all += 12;
        by_record.entry(&case.record.name).or_default().push(scores);
    }
    println!(
        "{kind:?}: single months within 0.75 to 1.30: {:.0} %",
        100.0 * f64::from(inside as u32) / f64::from(all)
    );
    println!("{:18} months  years  lag-1     KS   <0.25  <0.4    run  run10   fast  T-months  T-lag-1", "");
    let mut means: Vec<Scores> = Vec::new();
    let mut scatter = [0.0; 11];
    for (name, rows) in &by_record {
        let mean: Scores =
            std::array::from_fn(|k| rows.iter().map(|r| r[k]).sum::<f64>() / rows.len() as f64);
        for k in 0..11 {
            scatter[k] +=
                rows.iter().map(|r| (r[k] - mean[k]) * (r[k] - mean[k])).sum::<f64>() / rows.len() as f64;
        }
        let e = |x: f64| libm::exp(x);
        let [months, years, lag_1, ks, dark, dull, run, run_10, fast, air, air_lag_1] = mean;
        println!(
            "{name:18} {:6.2} {:6.2} {lag_1:6.3} {ks:6.3} {:6.2} {:6.2} {:6.2} {:6.2} {fast:6.2} {:8.2} {:8.2}",
            e(months),
            e(years),
            e(dark),
            e(dull),
            e(run),
            e(run_10),
            e(air),
            e(air_lag_1)
        );
        means.push(mean);
    }
    for (k, name) in NAMES.iter().enumerate().filter(|(_, n)| !n.is_empty()) {
        let v: Vec<f64> = means.iter().map(|m| m[k]).filter(|v| v.is_finite()).collect();
        let mean = v.iter().sum::<f64>() / v.len() as f64;
        let rms = (v.iter().map(|x| x * x).sum::<f64>() / v.len() as f64).sqrt();
        let limit = limits(kind, name);
        assert!(mean.abs() < limit.0 && rms < limit.1, "{kind:?}, {name}: mean {mean:.3}, rms {rms:.3}");
        println!(
            "{name:18} mean {:.3}, rms {:.3}, scatter by base year {:.3}",
            if k == 2 || k == 3 { mean } else { libm::exp(mean) },
            rms,
            (scatter[k] / by_record.len() as f64).sqrt()
        );
    }
}
