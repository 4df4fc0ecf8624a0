//! Logbooks as a given unit would have made them: for demos, and to check that what is learned from them is true on average.

use super::case::Case;
use super::density::{Shown, noted, wrong_chance};
use super::explanation::Unit;
use super::filter::unweighed_unit;
use crate::logbook::{Entry, What};
use crate::seed::{Purpose, open_unit, stream};
use crate::units::normal_quantile;

/// The entries of the case with what `unit` would have shown, errors of observation included; `key` names weather and errors. With a
/// chance of [`wrong_chance`] an entry is wrong if `with_wrong_ones`. Where there is no jet to measure that is noted, and a day without one is still;
/// other entries with nothing to read are left out, and what had to be a yes and was a no.
pub fn invented(case: &Case<'_>, unit: &Unit, key: u64, with_wrong_ones: bool) -> Vec<Entry> {
    let shown = unweighed_unit(case, unit, key);
    let mut entries = Vec::new();
    for (k, entry) in case.entries.iter().enumerate() {
        let mut rng = stream(case.seed, Purpose::Learn("invented"), key, k as u64);
        let [chance, off, pick] = [0; 3].map(|_| open_unit(&mut rng));
        let wrong = with_wrong_ones && chance < wrong_chance(entry);
        let range = case.ranges[k];
        match shown[k] {
            Shown::Value(_) if wrong => entries.push(with_value(case, k, range * pick)),
            Shown::Value(value) => {
                entries.push(with_value(case, k, noted(entry, value, normal_quantile(off))))
            }
            Shown::Nothing => entries.extend(without_a_jet(entry)),
            Shown::Agrees(share) => {
                let seen = if wrong { off < 0.5 } else { off < share };
                entries.extend(yes_or_no(entry, seen));
            }
        }
    }
    entries
}

/// An entry with another value, or at another minute of its simulated day.
fn with_value(case: &Case<'_>, k: usize, value: f64) -> Entry {
    let entry = case.entries[k].clone();
    if entry.value.is_some() {
        return Entry { value: Some(value), ..entry };
    }
    let by = value - case.schedule.minutes[k].unwrap_or(value);
    Entry { minute: entry.minute.map(|m| m + by), clock_minute: entry.clock_minute.map(|m| m + by), ..entry }
}

/// What is noted instead of an entry about a jet that was not there.
fn without_a_jet(entry: &Entry) -> Option<Entry> {
    match entry.what {
        What::JetHeight if entry.tests.is_empty() => {
            Some(Entry { what: What::DoesNotRun, value: None, ..entry.clone() })
        }
        What::Stopped => Some(Entry { what: What::Still, minute: None, clock_minute: None, ..entry.clone() }),
        _ => None,
    }
}

/// The entry if it was so, or its opposite.
fn yes_or_no(entry: &Entry, seen: bool) -> Option<Entry> {
    let opposite = match entry.what {
        What::Runs => Some(What::DoesNotRun),
        What::DoesNotRun => Some(What::Runs),
        _ => None,
    };
    match (seen, opposite) {
        (true, _) => Some(entry.clone()),
        (false, Some(what)) => Some(Entry { what, ..entry.clone() }),
        (false, None) => None,
    }
}
