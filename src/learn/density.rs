//! How likely an entry is, given what a unit would have shown: normal errors of observation, and a small chance that the entry is simply
//! wrong, by which one slip of the pen moves little.

use super::normal;
use crate::logbook::{Entry, What};

/// Chance that an entry is wrong (common practice, no source).
pub const WRONG: f64 = 0.03;
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

/// The density of an entry, and the part of it that stands for a wrong one. `observed`: the entry's value or minute; `range`: the range
/// over which wrong values of its kind may lie.
pub fn density(entry: &Entry, observed: f64, shown: Shown, range: f64) -> (f64, f64) {
    match shown {
        Shown::Agrees(chance) => {
            let wrong = 0.5 * WRONG;
            ((1.0 - WRONG) * chance + wrong, wrong)
        }
        Shown::Nothing => {
            let wrong = wrong_density(entry, range);
            (wrong, wrong)
        }
        Shown::Value(value) => {
            let wrong = wrong_density(entry, range);
            ((1.0 - WRONG) * honest(entry, observed, value) + wrong, wrong)
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
        What::Stopped | What::Started => 0.5 * WRONG / TIMES_MIN,
        _ => WRONG / range,
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
