//! Rainflow counting against the worked example of its standard.

use crate::check_file::Check;
use crate::computed::cycles::cycles;

/// ASTM E1049-85, figure 6: how many cycles of each range.
#[test]
fn the_worked_example_of_astm_e1049_85() {
    let found = cycles(&[-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]);
    let mut check = Check::open("published/07f_rainflow_astm.csv");
    let ranges: Vec<f64> = check.lines().iter().map(|l| l.number("range")).collect();
    assert!(found.iter().all(|(range, _)| ranges.contains(range)), "{found:?}");
    check.compare(|row| {
        let range = row.number("range");
        let count: f64 = found.iter().filter(|c| c.0 == range).map(|c| c.1).sum();
        vec![(format!("range {range}"), count - row.number("count"))]
    });
    check.report(0.0, "cycles");
}
