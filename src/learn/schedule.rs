//! The days that a logbook makes worth simulating, in the order of the calendar.

use crate::logbook::{Date, Entry, Test, What};
use crate::sky::Calendar;

/// Days simulated before the first entry, and after a gap: charge and mount settle.
const LEAD_DAYS: i64 = 2;
/// Longest stretch without entries that is simulated day by day.
const GAP_DAYS: i64 = 3;

/// One day to simulate.
#[derive(Clone, Debug, PartialEq)]
pub struct LogDay {
    /// Day of the calendar.
    pub date: Date,
    /// Whether the day before it is not simulated.
    pub after_gap: bool,
    /// Entries about it, by their number.
    pub entries: Vec<usize>,
    /// The basin is filled up that morning.
    pub filled_up: bool,
    /// The battery is freshly charged that morning.
    pub charged: bool,
}

/// The days of a logbook.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// In order.
    pub days: Vec<LogDay>,
    /// For each entry the minute from the start of its simulated day, if it has a time.
    pub minutes: Vec<Option<f64>>,
    /// Entries about a part alone: no day has to be simulated for them.
    pub of_parts: Vec<usize>,
}

/// Whether an entry speaks of a part alone.
fn of_part(entry: &Entry) -> bool {
    matches!(entry.what, What::Quantity(_) | What::StandbyCurrent)
        || entry.tests.iter().any(|t| matches!(t, Test::OnSupply(_)))
}

impl Schedule {
    /// Of entries by day and time.
    pub fn new(entries: &[Entry], calendar: &Calendar) -> Schedule {
        let mut minutes = Vec::with_capacity(entries.len());
        let mut days: Vec<LogDay> = Vec::new();
        let mut of_parts = Vec::new();
        for (k, entry) in entries.iter().enumerate() {
            let (date, minute) = simulated(entry, calendar);
            minutes.push(minute);
            if of_part(entry) {
                of_parts.push(k);
                continue;
            }
            let at = match days.iter().position(|d| d.date == date) {
                Some(at) => at,
                None => {
                    let day = LogDay {
                        date,
                        after_gap: false,
                        entries: Vec::new(),
                        filled_up: false,
                        charged: false,
                    };
                    days.push(day);
                    days.len() - 1
                }
            };
            let day = &mut days[at];
            match entry.is_observation() {
                true => day.entries.push(k),
                false => day.filled_up = true,
            }
            day.charged |= entry.tests.contains(&Test::FreshlyCharged);
        }
        days.sort_by_key(|d| d.date);
        Schedule { days: with_days_between(days), minutes, of_parts }
    }

    /// Days with entries.
    pub fn logged(&self) -> usize {
        self.days.iter().filter(|d| !d.entries.is_empty()).count()
    }
}

/// The simulated day that an entry belongs to, which does not begin at midnight, and its minute in it.
fn simulated(entry: &Entry, calendar: &Calendar) -> (Date, Option<f64>) {
    let Some(minute) = entry.minute else { return (entry.date, None) };
    let minute = minute - 60.0 * f64::from(calendar.day_start_h);
    if minute < 0.0 {
        return (entry.date.previous(), Some(minute + 1440.0));
    }
    if minute >= 1440.0 {
        return (entry.date.next(), Some(minute - 1440.0));
    }
    (entry.date, Some(minute))
}

/// The days before and between: all within short gaps, and the last few before a day after a long one.
fn with_days_between(logged: Vec<LogDay>) -> Vec<LogDay> {
    let mut days: Vec<LogDay> = Vec::new();
    for day in logged {
        let number = day.date.number();
        let last = days.last().map(|d: &LogDay| d.date);
        let (first, after_gap) = match last {
            Some(last) if number - last.number() <= GAP_DAYS + 1 => (last.number() + 1, false),
            Some(last) => ((number - LEAD_DAYS).max(last.number() + 1), true),
            None => (number - LEAD_DAYS, true),
        };
        let mut before = Vec::new();
        let mut date = day.date;
        while date.number() > first {
            date = date.previous();
            before.push(LogDay {
                date,
                after_gap: false,
                entries: Vec::new(),
                filled_up: false,
                charged: false,
            });
        }
        before.reverse();
        let mut stretch: Vec<LogDay> = before;
        stretch.push(day);
        stretch[0].after_gap = after_gap;
        days.extend(stretch);
    }
    days
}
