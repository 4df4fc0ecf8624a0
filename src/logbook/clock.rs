//! The clock that the times of a logbook were read from.

/// Which clock the times show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Standard time all year.
    Standard,
    /// One hour ahead of standard time in every entry.
    DaylightSaving,
    /// One hour ahead from the first day of the year (0..365) up to, without, the second.
    Between(u16, u16),
}

impl Clock {
    /// Minutes that the clock is ahead of standard time on a day of the year (0..365).
    pub fn ahead_min(self, day_of_year: u16) -> i32 {
        let ahead = match self {
            Clock::Standard => false,
            Clock::DaylightSaving => true,
            Clock::Between(from, to) if from <= to => (from..to).contains(&day_of_year),
            // In the south summer runs over the new year.
            Clock::Between(from, to) => day_of_year >= from || day_of_year < to,
        };
        if ahead { 60 } else { 0 }
    }
}
