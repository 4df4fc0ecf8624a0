//! Entries of one day that cannot both be right, whatever the fountain is like. They are warned about and kept: which of them is wrong is for
//! the reader of the logbook to say, and until then both are doubted by what the rest says.

use super::entry::{Entry, What};

/// Standard deviations that two readings of one thing may lie apart.
const APART_SD: f64 = 4.0;
/// Readings are of one time if they lie no further apart, min.
const SAME_TIME_MIN: f64 = 2.0;
/// A jet may still sputter so long after it was taken to have stopped, min (common practice, no source).
const SPUTTER_MIN: f64 = 10.0;
/// Minutes after midnight up to which an entry may belong to the evening before.
const NIGHT_MIN: f64 = 240.0;

/// Pairs of entries, by their place, that contradict each other, and why.
pub(super) fn contradictions(entries: &[Entry]) -> Vec<(usize, usize, &'static str)> {
    let mut found = Vec::new();
    for (k, a) in entries.iter().enumerate() {
        // They come by date: what is of another day ends the search.
        for (j, b) in entries.iter().enumerate().skip(k + 1).take_while(|(_, b)| b.date == a.date) {
            if let Some(why) = contradiction(a, b).or_else(|| contradiction(b, a)) {
                found.push((k, j, why));
            }
        }
    }
    found
}

/// Why two entries of a day cannot both be right, if `a` is the one that speaks of the whole day, the later time or the larger value.
fn contradiction(a: &Entry, b: &Entry) -> Option<&'static str> {
    let in_use = |e: &Entry| e.tests.is_empty() && e.minute.is_none_or(|m| m >= NIGHT_MIN);
    if !in_use(a) || !in_use(b) {
        // A test interrupts the day; a night belongs to two.
        return (a.tests == b.tests && readings_differ(a, b)).then_some(DIFFER);
    }
    let (at_a, at_b) = (a.minute.unwrap_or(0.0), b.minute.unwrap_or(0.0));
    let sure_min = APART_SD * joint(timing_sd(a), timing_sd(b));
    match (&a.what, &b.what) {
        (What::DidNotStop, What::Stopped) => Some("the jet stopped, and did not stop"),
        (What::RanAllDay, What::Still) => Some("it ran all day, and was a still day"),
        (What::Runs, What::DoesNotRun) if (at_a - at_b).abs() < SAME_TIME_MIN => {
            Some("there was a jet, and none, at the same time")
        }
        (What::Runs | What::JetHeight, What::Stopped) if at_a - at_b > sure_min + SPUTTER_MIN => {
            Some("the jet ran after it had stopped for the day")
        }
        (What::Started, What::Runs | What::JetHeight | What::Stopped) if at_a - at_b > sure_min => {
            Some("the jet ran before it first started")
        }
        (What::Stopped, What::Stopped) | (What::Started, What::Started) if at_a - at_b > sure_min => {
            Some("the last stop, or the first start, of a day has one time")
        }
        _ => readings_differ(a, b).then_some(DIFFER),
    }
}

const DIFFER: &str = "two readings of the same thing differ by more than both can be off";

/// Standard deviation of the time of an entry that is about a time, min.
fn timing_sd(entry: &Entry) -> f64 {
    match entry.what {
        What::Stopped | What::Started => entry.sd,
        _ => 0.0,
    }
}

/// Standard deviation of a difference.
fn joint(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// Whether two values of one thing at one time differ too much.
fn readings_differ(a: &Entry, b: &Entry) -> bool {
    let (Some(x), Some(y)) = (a.value, b.value) else { return false };
    let same_time = match (a.minute, b.minute) {
        (Some(m), Some(n)) => (m - n).abs() < SAME_TIME_MIN,
        (None, None) => true,
        _ => false,
    };
    // The error of a jet is a share of it.
    let sd = |e: &Entry, value: f64| if e.what == What::JetHeight { e.sd * value } else { e.sd };
    let apart = match a.what {
        What::Azimuth => ((x - y + 540.0).rem_euclid(360.0) - 180.0).abs(),
        _ => (x - y).abs(),
    };
    a.what == b.what && same_time && apart > APART_SD * joint(sd(a, x), sd(b, y))
}
