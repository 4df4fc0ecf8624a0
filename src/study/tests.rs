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
