//! Days of the Gregorian calendar as logbooks write them.

use crate::units::dates::{MONTH_STARTS, days_of_month};
use std::fmt;

/// A day of the calendar, 1900 to 2199.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Month, 1..=12.
    pub month: u8,
    /// Day of the month, 1..=31.
    pub day: u8,
}

/// Years that a logbook may speak of.
const YEARS: std::ops::RangeInclusive<u16> = 1900..=2199;

impl Date {
    /// "YYYY-MM-DD"; `None` if it is written in another way or there is no such day.
    pub fn parse(text: &str) -> Option<Date> {
        let mut parts = text.trim().splitn(3, '-');
        let mut number = |digits: usize| {
            let part = parts.next()?;
            (part.len() == digits && part.bytes().all(|b| b.is_ascii_digit()))
                .then(|| part.parse::<u16>())?
                .ok()
        };
        let (year, month, day) = (number(4)?, number(2)? as u8, number(2)? as u8);
        let known = YEARS.contains(&year) && (1..=12).contains(&month);
        (known && (1..=days_of_month(year, month)).contains(&day)).then_some(Date { year, month, day })
    }

    /// Day of a 365-day year, 0..365; 29 February counts as the 28th.
    pub fn day_of_year(self) -> u16 {
        let day = if (self.month, self.day) == (2, 29) { 28 } else { self.day };
        MONTH_STARTS[usize::from(self.month) - 1] + u16::from(day) - 1
    }

    /// Days since 1 March of the year 0 (Gregorian calendar, from memory: years that begin in March put the leap day last).
    pub fn number(self) -> i64 {
        let (y, m) = (i64::from(self.year), i64::from(self.month));
        let (y, m) = if m > 2 { (y, m - 3) } else { (y - 1, m + 9) };
        365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + i64::from(self.day) - 1
    }

    /// The day after.
    #[must_use]
    pub fn next(self) -> Date {
        if self.day < days_of_month(self.year, self.month) {
            return Date { day: self.day + 1, ..self };
        }
        match self.month {
            12 => Date { year: self.year + 1, month: 1, day: 1 },
            month => Date { month: month + 1, day: 1, ..self },
        }
    }

    /// The day before.
    #[must_use]
    pub fn previous(self) -> Date {
        if self.day > 1 {
            return Date { day: self.day - 1, ..self };
        }
        let (year, month) = if self.month == 1 { (self.year - 1, 12) } else { (self.year, self.month - 1) };
        Date { year, month, day: days_of_month(year, month) }
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}
