//! Years invented from the monthly means of records, against the records; and the laws that make them, fitted again.

use super::figures::ks;
use super::record::{DAYS, Record, months, read};
use stilldays::sky::Calendar;
use stilldays::sky::clear::extraterrestrial_w_m2;
use stilldays::weather::invent::month_law::{Moments, MonthLaw};
use stilldays::weather::invent::{Climate, Setting, years};

/// Irradiation above the atmosphere of each day, Wh/m².
fn above(record: &Record) -> Vec<f64> {
    let calendar = Calendar::new(record.place, record.turbidity);
    let of = |(d, day): (usize, &stilldays::sky::CalendarDay)| {
        extraterrestrial_w_m2(d as u32 + 1) * day.minutes.iter().map(|m| m.up / 60.0).sum::<f64>()
    };
    calendar.days.iter().enumerate().map(of).collect()
}

/// Daily clearness of a record, by month.
fn clearness(record: &Record, above: &[f64]) -> [Vec<f64>; 12] {
    let month = months();
    let mut out: [Vec<f64>; 12] = Default::default();
    for year in &record.index {
        for d in 0..DAYS {
            out[usize::from(month[d])].push(year[d] * record.clear_wh_m2[d] / above[d]);
        }
    }
    out
}

fn mean(v: &[f64]) -> f64 {
    v.iter().sum::<f64>() / v.len() as f64
}

fn sorted(v: &[f64]) -> Vec<f64> {
    let mut v = v.to_vec();
    v.sort_by(f64::total_cmp);
    v
}

/// Mean temperature of each month; `None` if some month has none.
fn air(record: &Record) -> Option<[f64; 12]> {
    let month = months();
    let mut sums = [[0.0; 2]; 12];
    for (d, t) in record.air_c.iter().flat_map(|y| y.iter().enumerate()).filter(|(_, t)| t.is_finite()) {
        let s = &mut sums[usize::from(month[d])];
        *s = [s[0] + t, s[1] + 1.0];
    }
    sums.iter().all(|s| s[1] > 50.0).then(|| sums.map(|[sum, n]| sum / n))
}

/// Least squares: the weights of the columns of `rows` that give `y`.
fn solve(rows: &[[f64; 4]], y: &[f64]) -> [f64; 4] {
    let mut m = [[0.0; 5]; 4];
    for (row, y) in rows.iter().zip(y) {
        for i in 0..4 {
            (0..4).for_each(|j| m[i][j] += row[i] * row[j]);
            m[i][4] += row[i] * y;
        }
    }
    for i in 0..4 {
        let pivot = m[i];
        for (k, row) in m.iter_mut().enumerate().filter(|(k, _)| *k != i) {
            let _ = k;
            let by = row[i] / pivot[i];
            (0..5).for_each(|j| row[j] -= by * pivot[j]);
        }
    }
    std::array::from_fn(|i| m[i][4] / m[i][i])
}

/// A record with what it shows of its months.
struct Shown {
    record: Record,
    clearness: [Vec<f64>; 12],
    air_c: [f64; 12],
}

fn shown() -> Vec<Shown> {
    let mut paths: Vec<_> = std::fs::read_dir(super::folder())
        .expect("the folder opens")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "gz"))
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|p| read(p))
        .filter(|r| !r.derived)
        .filter_map(|record| {
            let clearness = clearness(&record, &above(&record));
            air(&record).map(|air_c| Shown { record, clearness, air_c })
        })
        .collect()
}

fn seasons_c(air_c: &[f64; 12]) -> f64 {
    air_c.iter().fold(f64::MIN, |a, &b| a.max(b)) - air_c.iter().fold(f64::MAX, |a, &b| a.min(b))
}

/// The laws of `month_law` are those of the records: refitted, they give the same standard deviation and brightest day.
#[test]
#[ignore = "needs measured records: STILLDAYS_RECORDS names their folder"]
fn the_laws_of_months_are_those_of_the_records() {
    let (mut rows, mut sd, mut brightest) = (Vec::new(), Vec::new(), Vec::new());
    for s in shown() {
        for k in &s.clearness {
            let m = mean(k);
            rows.push([1.0, m, m * m, seasons_c(&s.air_c).min(15.0)]);
            sd.push(libm::log((k.iter().map(|x| (x - m) * (x - m)).sum::<f64>() / k.len() as f64).sqrt()));
            brightest.push(sorted(k)[(0.99 * k.len() as f64) as usize]);
        }
    }
    let (sd, brightest) = (solve(&rows, &sd), solve(&rows, &brightest));
    println!("{} months: ln sd {sd:.4?}, 99th percentile {brightest:.4?}", rows.len());
    let at = |c: &[f64; 4], k: f64, s: f64| c[0] + c[1] * k + c[2] * k * k + c[3] * s;
    for (k, seasons) in [(0.3, 12.0), (0.45, 3.0), (0.5, 15.0), (0.6, 15.0)] {
        let ours = Moments::of(k, seasons);
        assert!((ours.sd / libm::exp(at(&sd, k, seasons)) - 1.0).abs() < 0.03, "{ours:?}");
        assert!((ours.high + 0.02 - at(&brightest, k, seasons)).abs() < 0.02, "{ours:?}");
    }
}

/// Years invented from the twelve means of each record, against all of its days.
#[test]
#[ignore = "needs measured records: STILLDAYS_RECORDS names their folder"]
fn invented_years_are_like_the_records() {
    const YEARS: usize = 20;
    let (mut apart, mut dull) = (Vec::new(), Vec::new());
    for Shown { record, clearness, air_c } in shown() {
        let month = months();
        let above = above(&record);
        let ghi: Vec<f64> = (0..DAYS)
            .map(|d| record.clear_wh_m2[d] * mean(&record.index.iter().map(|y| y[d]).collect::<Vec<_>>()))
            .collect();
        let of_month = |m: usize, v: &[f64]| {
            mean(&(0..DAYS).filter(|&d| usize::from(month[d]) == m).map(|d| v[d]).collect::<Vec<_>>())
        };
        let coast = ["maritime", "tropical"].iter().any(|g| record.group.starts_with(g));
        let climate = Climate {
            title: record.name.clone(),
            origin: "record".into(),
            place: record.place,
            setting: if coast { Setting::Coast } else { Setting::Inland },
            insolation_kwh_m2: std::array::from_fn(|m| of_month(m, &ghi) / 1000.0),
            air_c,
            wind_m_s: [2.0; 12],
            rain_mm: None,
        };
        let invented = years(&climate, 1, YEARS);
        let mut all: Vec<f64> = Vec::new();
        let mut below = [0.0; 2];
        let mut hottest = f64::MIN;
        let clear: [f64; 12] = std::array::from_fn(|m| {
            let k = sorted(&clearness[m]);
            k[(0.95 * k.len() as f64) as usize]
        });
        for year in &invented {
            for d in 0..DAYS {
                let hours = year.hours[24 * d..24 * d + 24].iter().flatten();
                let k = hours.clone().map(|h| h.ghi_w_m2).sum::<f64>() / above[d];
                hottest = hours.fold(hottest, |a, h| a.max(h.air_c));
                for (b, limit) in below.iter_mut().zip([0.25, 0.4]) {
                    *b += f64::from(u8::from(k < limit * clear[usize::from(month[d])]));
                }
                all.push(k);
            }
        }
        let below = below.map(|b| b / all.len() as f64);
        let real: Vec<f64> = clearness.iter().flatten().copied().collect();
        let real_below = [0.25, 0.4].map(|limit| {
            let n: usize =
                (0..12).map(|m| clearness[m].iter().filter(|&&k| k < limit * clear[m]).count()).sum();
            n as f64 / real.len() as f64
        });
        let warmest_day =
            record.air_c.iter().flatten().filter(|t| t.is_finite()).fold(f64::MIN, |a, &b| a.max(b));
        let d = ks(&sorted(&all), &sorted(&real));
        println!(
            "{:18} KS {d:.3}, days below 0.25 {:.3} ({:.3}), below 0.4 {:.3} ({:.3}), hottest hour {hottest:.1}, warmest day of the record {warmest_day:.1}",
            record.name, below[0], real_below[0], below[1], real_below[1]
        );
        apart.push(d);
        dull.push(libm::log((below[1] + 0.005) / (real_below[1] + 0.005)));
    }
    let rms = |v: &[f64]| (v.iter().map(|x| x * x).sum::<f64>() / v.len() as f64).sqrt();
    println!(
        "KS {:.3} on average; days below 0.4: {:.2}, rms {:.2}",
        mean(&apart),
        libm::exp(mean(&dull)),
        rms(&dull)
    );
    assert!(mean(&apart) < 0.075 && apart.iter().all(|&d| d < 0.17), "{apart:.3?}");
    assert!(mean(&dull).abs() < 0.15 && rms(&dull) < 0.35, "{dull:.2?}");
    // The law alone, in the shares it is made of.
    let law = MonthLaw::new(&Moments::of(0.5, 15.0));
    assert!(law.quantile(0.02) > 0.08 && law.quantile(0.98) < 0.78);
}
