//! How likely an entry is, given what a unit would have shown: normal errors of observation, and a small chance that the entry is simply
//! wrong, by which one slip of the pen moves little.

use super::normal;
use crate::logbook::{Entry, What};

/// Chance that a note of what was seen is wrong: another evening's, a clock an hour off, a guess (common practice, no source).
const NOTE_WRONG: f64 = 0.03;
/// The same of what was read off a meter or a compass: whoever takes one out looks at it, and writes down what it shows; a wrong range or a slip
/// of the pen is left (common practice, no source).
const READING_WRONG: f64 = 0.01;
/// Range of times over which a wrong one may lie, min.
const TIMES_MIN: f64 = 720.0;

/// What a unit shows of an entry on a path of weather.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// This value, in the unit of the entry (times: minutes from the start of the day).
    Value(f64),
    /// There is nothing to read: it never stopped, the pump did not run.
    Nothing,
    /// Agrees with what was noted, with this chance (0..=1).
    Agrees(f64),
}

/// Chance that an entry is wrong.
pub fn wrong_chance(entry: &Entry) -> f64 {
    if entry.is_reading() { READING_WRONG } else { NOTE_WRONG }
}

/// The density of an entry, and the part of it that stands for a wrong one. `observed`: the entry's value or minute; `range`: the range
/// over which wrong values of its kind may lie.
pub fn density(entry: &Entry, observed: f64, shown: Shown, range: f64) -> (f64, f64) {
    let right = 1.0 - wrong_chance(entry);
    match shown {
        Shown::Agrees(chance) => {
            let wrong = 0.5 * wrong_chance(entry);
            (right * chance + wrong, wrong)
        }
        Shown::Nothing => {
            let wrong = wrong_density(entry, range);
            (wrong, wrong)
        }
        Shown::Value(value) => {
            let wrong = wrong_density(entry, range);
            (right * honest(entry, observed, value) + wrong, wrong)
        }
    }
}

/// The greatest density that [`density`] can give an entry, whatever a unit shows.
pub fn greatest_density(entry: &Entry, observed: f64, range: f64) -> f64 {
    let best = match entry.what {
        What::DidNotStop | What::Runs | What::DoesNotRun | What::DidNotTurn => Shown::Agrees(1.0),
        What::RanAllDay | What::Still | What::FilledUp => Shown::Agrees(1.0),
        _ => Shown::Value(observed),
    };
    density(entry, observed, best, range).0
}

fn wrong_density(entry: &Entry, range: f64) -> f64 {
    match entry.what {
        // Half of the wrong ones are about whether it stopped at all.
        What::Stopped | What::Started => 0.5 * wrong_chance(entry) / TIMES_MIN,
        _ => wrong_chance(entry) / range,
    }
}

/// Density of an honest entry where a unit shows `value`.
fn honest(entry: &Entry, observed: f64, value: f64) -> f64 {
    match entry.what {
        // A height's error is a share of it.
        What::JetHeight => {
            if value <= 0.0 || observed <= 0.0 {
                return 0.0;
            }
            normal::density(libm::log(observed), libm::log(value), entry.sd) / observed
        }
        What::Azimuth => {
            let off = (observed - value + 540.0).rem_euclid(360.0) - 180.0;
            normal::density(off, 0.0, entry.sd)
        }
        _ => normal::density(observed, value, entry.sd.max(1e-9)),
    }
}

/// Where an entry would have been noted if a unit showed `value`: with an error of observation by a standard normal number.
pub fn noted(entry: &Entry, value: f64, z: f64) -> f64 {
    match entry.what {
        What::JetHeight => value * libm::exp(entry.sd * z),
        _ => value + entry.sd * z,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    /// Entries of one day that show as much as they say.
    fn entries() -> Vec<Entry> {
        let text = "# clock: standard\ndate,time,what,value\n2026-06-03,12:00,short-circuit current,0.6 A\n2026-06-03,21:00,stopped,\n";
        crate::logbook::parse(Path::new("log.csv"), text.as_bytes()).unwrap_or_else(|p| panic!("{p}")).entries
    }

    /// A proper density: right and wrong values together come to 1, by the trapezoidal rule over the range of wrong ones. A wrong time may also
    /// be about a jet that did not stop at all, which has the other half.
    #[test]
    fn a_reading_is_seldomer_wrong_than_a_note_and_both_are_proper() {
        let all = entries();
        for (entry, shown, range, whole) in [(&all[0], 0.6, 1.2, 1.0), (&all[1], 900.0, 720.0, 1.0 - 0.015)] {
            let steps = 40_000;
            let from = if entry.value.is_some() { 0.0 } else { 540.0 };
            let at = |k: usize| from + range * k as f64 / steps as f64;
            let sum: f64 = (0..=steps).map(|k| density(entry, at(k), Shown::Value(shown), range).0).sum();
            let sum = sum * range / steps as f64;
            assert!((sum - whole).abs() < 1e-3, "{entry:?}: {sum}");
        }
        // What no unit shows is three times as odd on a meter as in a note.
        assert!((wrong_chance(&all[1]) / wrong_chance(&all[0]) - 3.0).abs() < 1e-12);
        let (full, wrong) = density(&all[0], 0.36, Shown::Value(0.6), 1.2);
        assert!((wrong - 0.01 / 1.2).abs() < 1e-12 && wrong / full > 0.99, "{full} {wrong}");
    }
}
