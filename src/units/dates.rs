//! Days of a 365-day year, 0 = 1 January: 29 February is left out.

/// First days of the months, and the day after the last.
pub(crate) const MONTH_STARTS: [u16; 13] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];

/// Mean length of a month, d.
pub(crate) const MEAN_MONTH_DAYS: f64 = 365.0 / 12.0;

/// Names of the months.
pub(crate) const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Days of the months of a leap year.
pub(crate) const DAYS_OF_LEAP_MONTHS: [u8; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Days of a month (1..=12) of the Gregorian calendar.
pub(crate) fn days_of_month(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if !leap => 28,
        month => DAYS_OF_LEAP_MONTHS[usize::from(month.clamp(1, 12)) - 1],
    }
}

/// Month 0..12 of a day 0..365 (later days: December).
pub fn month_of(day: u16) -> usize {
    MONTH_STARTS.iter().rposition(|&first| first <= day).unwrap_or(0).min(11)
}

/// Month 1..=12 and day of the month 1..=31 of a day 0..365.
pub fn month_and_day(day: u16) -> (usize, u16) {
    let month = month_of(day);
    (month + 1, day - MONTH_STARTS[month] + 1)
}

/// "MM-DD" of a day 0..365.
pub fn month_day(day: u16) -> String {
    let (month, day) = month_and_day(day);
    format!("{month:02}-{day:02}")
}

/// Day 0..365 of "MM-DD"; `None` if there is no such day in a 365-day year.
pub fn day_of_year(text: &str) -> Option<u16> {
    let (month, day) = text.trim().split_once('-')?;
    let (month, day): (usize, u16) = (month.parse().ok()?, day.parse().ok()?);
    let first = *MONTH_STARTS.get(month.checked_sub(1)?)?;
    let length = MONTH_STARTS.get(month)? - first;
    (1..=length).contains(&day).then(|| first + day - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_has_its_name() {
        for day in 0..365 {
            assert_eq!(day_of_year(&month_day(day)), Some(day));
        }
        assert_eq!(month_day(59), "03-01");
        for wrong in ["02-29", "13-01", "00-05", "4", "04-31", "a-b", "04-00"] {
            assert_eq!(day_of_year(wrong), None, "{wrong}");
        }
    }
}
