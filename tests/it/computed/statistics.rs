//! Link 11: intervals, sample sizes, sizing figures.

use crate::check_file::{Check, open_json, relative, report_json};
use stilldays::seed::{Purpose, open_unit, stream};
use stilldays::tally::intervals::*;
use stilldays::tally::sizing::{BatteryWorksheet, day_balance, loss_of_load};

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
        .report(2e-14);
}

/// Newcombe 1998, Stat. Med. 17:857, table I, to its four digits.
#[test]
fn newcombes_examples() {
    let four = |i: Interval| ((i.lo * 1e4).round() / 1e4, (i.hi * 1e4).round() / 1e4);
    for (x, n, w, c) in [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
    ] {
        assert_eq!(four(wilson(x, n, 0.95)), w);
        assert_eq!(four(clopper_pearson(x, n, 0.95)), c);
    }
    assert_eq!(four(wilson(1, 29, 0.95)), (0.0061, 0.1718));
}

#[test]
fn ranks_that_enclose_a_quantile() {
    let mut without = 0;
    Check::open("computed/11b_quantile_order_stats.csv")
        .compare(|row| {
            let (n, p) = (row.number("n") as u64, row.number("p"));
            let found = quantile_ranks(n, p, row.number("conf"));
            let place = format!("{p} quantile of {n}");
            let rank = |r: Option<u64>| r.map_or_else(|| "none".to_owned(), |r| r.to_string());
            assert_eq!(rank(found.lower), row.text("l"), "{place}");
            assert_eq!(rank(found.upper), row.text("u"), "{place}");
            without += usize::from(found.upper.is_none());
            match found.coverage {
                Some(coverage) => vec![(place, coverage - row.number("coverage"))],
                None => {
                    assert_eq!(row.text("coverage"), "nan", "{place}");
                    vec![]
                }
            }
        })
        .report(5e-13);
    assert_eq!(without, 7, "these have no upper limit");
}

#[test]
fn trials_without_an_event() {
    Check::open("computed/11c_min_n.csv")
        .compare(|row| {
            let n = trials_without_event(row.number("p0"), row.number("conf"));
            vec![("n".into(), n as f64 - row.number("n"))]
        })
        .report(0.0);
}

#[test]
fn trials_for_a_half_width() {
    Check::open("computed/11f_sample_size.csv")
        .compare(|row| {
            let (x, half) = (row.number("sd_or_p"), row.number("half_width"));
            let n = match row.text("kind") {
                "mean" => trials_for_mean(x, half, 0.95),
                "proportion" => trials_for_proportion(x, half, 0.95),
                other => panic!("kind {other}"),
            };
            vec![(format!("{x} to {half}"), n as f64 - row.number("n"))]
        })
        .report(0.0);
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
        .report(2e-12);
}

#[test]
fn pairs_under_the_same_weather() {
    let name = "computed/11d_paired_t.json";
    let json = open_json(name);
    let list = |key: &str| -> Vec<f64> {
        json[key].as_array().expect(key).iter().map(|v| v.as_f64().expect(key)).collect()
    };
    let number = |key: &str| json[key].as_f64().expect(key);
    let (a, b) = (list("A"), list("B"));
    let p = paired(&a, &b, 0.95).expect("ten pairs");
    let moments = |v: &[f64]| {
        let n = v.len() as f64;
        let mean = v.iter().sum::<f64>() / n;
        let var = v.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0);
        (mean, (var / n).sqrt(), v.len() as u64)
    };
    let w = welch(moments(&a), moments(&b), 0.95).expect("ten of each");
    let (ci, welch_ci) = (list("ci"), list("welch_ci"));
    let errors = [
        (p.n as f64, number("n")),
        (p.mean, number("mean_diff")),
        (p.sd, number("sd_diff")),
        (t_quantile(0.975, 9.0), number("t_0.975")),
        (p.interval.lo, ci[0]),
        (p.interval.hi, ci[1]),
        (p.t, number("t_stat")),
        (p.p_value, number("p_value")),
        (p.correlation.expect("both vary"), number("corr_AB")),
        (p.variance_reduction.expect("differences vary"), number("variance_reduction_factor")),
        (w.lo, welch_ci[0]),
        (w.hi, welch_ci[1]),
    ]
    .map(|(ours, theirs)| relative(ours, theirs));
    report_json(name, &errors, 1e-11);
}

/// Stopping as soon as the interval is narrow enough costs little coverage. 2000 replications here and
/// there: the standard error of the difference of the coverages is 0.007, of the mean numbers about 1.3;
/// tolerances are four of them (a false alarm in 16,000).
#[test]
fn stopping_when_sure_enough_costs_little_coverage() {
    let json = open_json("computed/11g_sequential_stopping.json");
    let (replications, half_width) = (2000u64, 0.1);
    let z = normal_quantile(0.975);
    let (mut covered, mut total) = (0u64, 0u64);
    for k in 0..replications {
        let mut rng = stream(11, Purpose::Resample, k, 0);
        let (mut n, mut sum, mut squares) = (0u64, 0.0, 0.0);
        loop {
            // Exp(1) by inverse CDF; its mean is 1.
            let x = -libm::log(open_unit(&mut rng));
            n += 1;
            sum += x;
            squares += x * x;
            let count = n as f64;
            if n >= 50 && z * ((squares - sum * sum / count) / (count * (count - 1.0))).sqrt() <= half_width {
                covered += u64::from((sum / count - 1.0).abs() <= half_width);
                total += n;
                break;
            }
        }
    }
    let coverage = covered as f64 / replications as f64;
    let mean_n = total as f64 / replications as f64;
    println!("coverage {coverage}, mean number {mean_n}");
    assert!((coverage - json["coverage_sequential"].as_f64().expect("a number")).abs() < 0.028);
    assert!((mean_n - json["mean_stopping_n"].as_f64().expect("a number")).abs() < 6.0);
}

#[test]
fn loss_of_load_of_a_day_balance() {
    let mut check = Check::open("computed/11h_llp_example.csv");
    let days: Vec<f64> =
        check.lines().iter().filter(|r| r.text("day") != "LLP").map(|r| r.number("P")).collect();
    assert_eq!(days.len(), 10);
    let served = day_balance(&days, 1.0, 1.5);
    let mut left = served.iter();
    check
        .compare(|row| match row.text("day") {
            "LLP" => vec![
                ("C_A".into(), days.iter().sum::<f64>() / 10.0 - row.number("P")),
                ("LLP".into(), loss_of_load(&served, 1.0).expect("a load") - row.number("deficit")),
            ],
            day => {
                let s = *left.next().expect("a day for each row");
                vec![
                    (format!("served on day {day}"), s - row.number("served")),
                    (format!("missing on day {day}"), 1.0 - s - row.number("deficit")),
                ]
            }
        })
        .report(1e-14);
}

#[test]
fn the_battery_worksheet() {
    let name = "computed/11i_autonomy_example.json";
    let json = open_json(name);
    let number = |key: &str| json[key].as_f64().expect(key);
    let sheet = BatteryWorksheet {
        load_ah_day: number("load_Ah_day"),
        days: number("days"),
        max_depth: 0.8,
        max_daily_depth: 0.2,
        end_of_life: 0.8,
        cold: 0.83,
        margin: 1.1,
    };
    let errors = [
        sheet.largest_ah() - number("max_of_three"),
        sheet.capacity_ah() - number("with_margin"),
        number("array_Ah_day") / sheet.load_ah_day - number("array_to_load"),
    ];
    report_json(name, &errors, 1e-14);
}
