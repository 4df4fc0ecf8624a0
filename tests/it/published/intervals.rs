//! Intervals of proportions and of paired differences against printed examples.

use crate::check_file::Check;
use stilldays::study::paired::Pairs;
use stilldays::tally::intervals::{clopper_pearson, wilson};

/// To the four digits of the paper.
#[test]
fn newcombes_intervals_of_proportions() {
    Check::open("published/11a_newcombe_1998.csv")
        .compare(|row| {
            let (x, n) = (row.number("x") as u64, row.number("n") as u64);
            let (w, c) = (wilson(x, n, 0.95), clopper_pearson(x, n, 0.95));
            [("wilson_lo", w.lo), ("wilson_hi", w.hi), ("cp_lo", c.lo), ("cp_hi", c.hi)]
                .map(|(column, ours)| (format!("{x} of {n}, {column}"), ours - row.number(column)))
                .to_vec()
        })
        .report(5e-5, "of 1");
}

/// Ten patients with two drugs: mean and standard deviation of paired differences, to the printed digits.
#[test]
fn students_pairs() {
    let mut check = Check::open("published/11d_student_1908.csv");
    let column = |name: &str| -> Vec<f64> {
        check
            .lines()
            .iter()
            .filter(|l| l.text("patient").parse::<u32>().is_ok())
            .map(|l| l.number(name))
            .collect()
    };
    let mut pairs = Pairs::default();
    column("first").iter().zip(column("second")).for_each(|(first, second)| pairs.push(*first, second));
    let p = pairs.difference(0.95).expect("ten pairs");
    assert_eq!(p.trials, Some(10));
    // Student divides by n, we by n - 1.
    let sd = p.se.expect("the differences vary") * 10.0_f64.sqrt() * 0.9_f64.sqrt();
    check.compare(|row| match row.text("patient") {
        "mean" => vec![("mean".into(), p.mean - row.number("difference"))],
        "sd" => vec![("standard deviation".into(), sd - row.number("difference"))],
        _ => vec![],
    });
    check.report(5e-3, "h");
}
