//! The glow around a sun behind an edge.

use crate::check_file::Check;
use stilldays::sky::skyline::glow_above_edge;

#[test]
fn glow_behind_an_edge() {
    let share =
        |l: &crate::check_file::Line<'_>| glow_above_edge(l.number("sun_above_deg"), l.number("rad_deg"));
    let mut check = Check::open("computed/04c_glow_behind_edge.csv").part("formula");
    check.compare(|l| vec![("closed".into(), share(&l) - l.number("closed"))]);
    check.report(1e-5, "of the disc");
    let mut check = Check::open("computed/04c_glow_behind_edge.csv").part("points on the disc");
    check.compare(|l| vec![("numeric".into(), share(&l) - l.number("numeric"))]);
    check.report(0.04, "of the disc");
}
