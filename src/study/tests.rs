//! What tests of races share: how often a race on drawn trials may be wrong.

use crate::tally::intervals;

/// Races of one kind.
pub(crate) const RACES: u64 = 400;

/// A number in 0..1: half of the time the weather's, which all builds share, half of the time a build's own luck.
pub(crate) fn luck(weather: f64, own: f64) -> f64 {
    if own < 0.5 { weather } else { 2.0 * (own - 0.5) }
}

/// Runs [`RACES`] races, one a seed from `first` on, each of which tells whether it was wrong; no more of them may be
/// than the stated rate.
///
/// Of a rule that errs half as often as a stated 5 %, more than 20 of 400 are wrong with a chance of 0.14 %: the
/// false-alarm rate. One that errs twice as often passes with a chance of 0.02 %. Seeds are fixed.
pub(crate) fn wrong_as_rarely_as_said(
    name: &str,
    error_rate: f64,
    first: u64,
    mut race: impl FnMut(u64) -> bool,
) {
    let wrong = (first..first + RACES).filter(|&seed| race(seed)).count() as u64;
    let at_most = intervals::clopper_pearson(wrong, RACES, 0.9).hi;
    println!(
        "{name}: {wrong} of {RACES} races wrong; at most {:.1} % in the long run (95 %)",
        100.0 * at_most
    );
    assert!(wrong as f64 <= error_rate * RACES as f64, "{name}: {wrong}");
}
