//! The part of the year around a date, from which like days are taken.

use crate::sky::calendar::DAYS;

/// Half-width of the calendar window, days.
pub const HALF_WINDOW_DAYS: u16 = 15;

/// Days between two days of the year, the short way round.
#[inline]
pub(crate) fn days_apart(a: u16, b: u16) -> u16 {
    let d = a.abs_diff(b);
    d.min(DAYS as u16 - d)
}

/// The dates in the calendar window around a day of the year.
pub(crate) fn around(day_of_year: u16) -> impl Iterator<Item = usize> {
    let half = usize::from(HALF_WINDOW_DAYS);
    let first = usize::from(day_of_year) + DAYS - half;
    (first..=first + 2 * half).map(|d| d % DAYS)
}
