//! What is scored of years of days, and what records do.

use super::record::{DAYS, Record, months};
use stilldays::weather::days::variability::Variability;

/// What is scored of years of daily indices.
#[derive(Clone, Debug)]
pub struct Figures {
    pub variability: Variability,
    pub lag_1: f64,
    pub below: [f64; 2],
    pub run: f64,
    pub run_10: f64,
    pub index: Vec<f64>,
}

pub fn figures(years: &[Vec<f64>], clear: &[f64], detrend: bool) -> Figures {
    let month = months();
    let sums: Vec<[f64; 12]> = years
        .iter()
        .map(|y| {
            let mut s = [0.0; 12];
            (0..DAYS).for_each(|d| s[usize::from(month[d])] += y[d] * clear[d]);
            s
        })
        .collect();
    let variability =
        if detrend { Variability::of_detrended(&sums).expect("years") } else { Variability::of_sums(&sums) };
    let mut mean = [[0.0; 2]; 12];
    for y in years {
        for d in 0..DAYS {
            let s = &mut mean[usize::from(month[d])];
            *s = [s[0] + y[d], s[1] + 1.0];
        }
    }
    let about = |y: &[f64], d: usize| y[d] - mean[usize::from(month[d])][0] / mean[usize::from(month[d])][1];
    let (mut square, mut cross) = (0.0, 0.0);
    for y in years {
        for d in 1..DAYS {
            square += about(y, d) * about(y, d);
            cross += about(y, d) * about(y, d - 1);
        }
    }
    let all: Vec<f64> = years.iter().flatten().copied().collect();
    let below = [0.25, 0.4].map(|x| all.iter().filter(|&&k| k < x).count() as f64 / all.len() as f64);
    let longest: Vec<f64> = years
        .iter()
        .map(|y| {
            let (mut run, mut most) = (0, 0);
            for &k in y {
                run = if k < 0.4 { run + 1 } else { 0 };
                most = most.max(run);
            }
            f64::from(most)
        })
        .collect();
    let run = longest.iter().sum::<f64>() / longest.len() as f64;
    // Expected largest of ten years drawn from those there are.
    let mut sorted = longest.clone();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let run_10 = sorted
        .iter()
        .enumerate()
        .map(|(i, r)| r * (libm::pow((i as f64 + 1.0) / n, 10.0) - libm::pow(i as f64 / n, 10.0)))
        .sum();
    Figures { variability, lag_1: cross / square, below, run, run_10, index: all }
}

/// Of temperatures, sampled over recorded, ln: spread of monthly means between years, mean over the months; correlation of
/// neighbouring days about the month's mean. NaN without records. Recorded years whose mean is 4 °C or more from the median year's
/// are left out: no climate does that, a faulty sensor does (one record has three Julys of 3 to 7 °C in Michigan).
pub fn temperature(sampled: &[Vec<f64>], recorded: &[Vec<f64>]) -> [f64; 2] {
    let mean = |y: &[f64]| y.iter().sum::<f64>() / y.len() as f64;
    let mut known: Vec<Vec<f64>> =
        recorded.iter().filter(|y| y.iter().all(|v| v.is_finite())).cloned().collect();
    let mut means: Vec<f64> = known.iter().map(|y| mean(y)).collect();
    means.sort_by(f64::total_cmp);
    if let Some(&median) = means.get(means.len() / 2) {
        known.retain(|y| (mean(y) - median).abs() < 4.0);
    }
    if known.len() < 5 {
        return [f64::NAN; 2];
    }
    let month = months();
    let of = |years: &[Vec<f64>]| -> [f64; 2] {
        let mean = |y: &[f64], m: usize| {
            let days: Vec<f64> = (0..DAYS).filter(|&d| usize::from(month[d]) == m).map(|d| y[d]).collect();
            days.iter().sum::<f64>() / days.len() as f64
        };
        let mut spread = 0.0;
        let mut long = [0.0; 12];
        for (m, long) in long.iter_mut().enumerate() {
            let v: Vec<f64> = years.iter().map(|y| mean(y, m)).collect();
            let n = v.len() as f64;
            *long = v.iter().sum::<f64>() / n;
            spread += (v.iter().map(|x| (x - *long) * (x - *long)).sum::<f64>() / (n - 1.0)).sqrt() / 12.0;
        }
        let (mut square, mut cross) = (0.0, 0.0);
        for y in years {
            let a = |d: usize| y[d] - long[usize::from(month[d])];
            for d in 1..DAYS {
                square += a(d) * a(d);
                cross += a(d) * a(d - 1);
            }
        }
        [spread, cross / square]
    };
    let (a, b) = (of(sampled), of(&known));
    [libm::log(a[0] / b[0]), libm::log(a[1] / b[1])]
}

pub fn ks(a: &[f64], b: &[f64]) -> f64 {
    let sorted = |v: &[f64]| {
        let mut v = v.to_vec();
        v.sort_by(f64::total_cmp);
        v
    };
    let (a, b) = (sorted(a), sorted(b));
    let share = |v: &[f64], x: f64| v.partition_point(|&y| y <= x) as f64 / v.len() as f64;
    (0..200).map(|k| f64::from(k) * 0.006).map(|x| (share(&a, x) - share(&b, x)).abs()).fold(0.0, f64::max)
}

/// Weighted least squares: constant and slope.
pub fn line(points: &[(f64, f64, f64)]) -> [f64; 2] {
    let w: f64 = points.iter().map(|p| p.2).sum();
    let (x, y) = points.iter().fold((0.0, 0.0), |s, p| (s.0 + p.2 * p.0 / w, s.1 + p.2 * p.1 / w));
    let (mut xx, mut xy) = (0.0, 0.0);
    for p in points {
        xx += p.2 * (p.0 - x) * (p.0 - x);
        xy += p.2 * (p.0 - x) * (p.1 - y);
    }
    [y - xy / xx * x, xy / xx]
}

/// What a record does. Where the level of clear days wanders by more than 2 % between years, instruments have their part in
/// the spread of years: it is the geometric mean of the spread with the level and without.
pub fn truth_of(record: &Record) -> Figures {
    let mut all = figures(&record.index, &record.clear_wh_m2, true);
    let n = record.level.len() as f64;
    let mean = record.level.iter().sum::<f64>() / n;
    let sd = (record.level.iter().map(|l| (l - mean) * (l - mean)).sum::<f64>() / (n - 1.0)).sqrt();
    if sd > 0.02 {
        let level: Vec<Vec<f64>> =
            record.index.iter().zip(&record.level).map(|(y, l)| y.iter().map(|k| k / l).collect()).collect();
        let corrected = figures(&level, &record.clear_wh_m2, true).variability;
        let both = |a: f64, b: f64| (a * b).sqrt();
        all.variability = Variability {
            monthly: std::array::from_fn(|m| both(all.variability.monthly[m], corrected.monthly[m])),
            annual: both(all.variability.annual, corrected.annual),
        };
    }
    all
}
