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

/// Minutes after midnight of "21:40", "9:40 pm", "21:40:15".
pub(super) fn minute_of(text: &str) -> Option<f64> {
    let plain = text.trim().to_lowercase();
    let (digits, half) = match (plain.strip_suffix("am"), plain.strip_suffix("pm")) {
        (Some(rest), _) => (rest.trim(), Some(0)),
        (_, Some(rest)) => (rest.trim(), Some(12)),
        (None, None) => (plain.as_str(), None),
    };
    let parts: Vec<u32> = digits
        .split(':')
        .map(|p| (1..=2).contains(&p.len()).then(|| p.parse().ok()).flatten())
        .collect::<Option<_>>()?;
    let (hour, minute, second) = match parts[..] {
        [h, m] => (h, m, 0),
        [h, m, s] => (h, m, s),
        _ => return None,
    };
    let hour = match half {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(add) => hour % 12 + add,
        None => hour,
    };
    (hour < 24 && minute < 60 && second < 60)
        .then(|| f64::from(60 * hour + minute) + f64::from(second) / 60.0)
}
