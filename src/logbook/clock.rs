//! The clock that the times of a logbook were read from.

/// Which clock the times show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Standard time all year.
    Standard,
    /// One hour ahead of standard time in every entry.
    DaylightSaving,
    /// One hour ahead from the night that begins the first day of the year (0..365) to the night that begins the second.
    Between(u16, u16),
}

/// Minutes after midnight at which clocks are changed: at two by the clock that showed until then, where nights are changed at all (common
/// practice; some places take three or midnight, no source).
const CHANGED_AT_MIN: f64 = 120.0;
/// Times that the clock showed twice in the night in which it went back, if it went back from three or from two.
const TWICE_MIN: std::ops::Range<f64> = 60.0..180.0;

impl Clock {
    /// Minutes that the clock is ahead of standard time on a day of the year (0..365), at `minute` after midnight as it shows.
    pub fn ahead_min(self, day_of_year: u16, minute: f64) -> i32 {
        let Clock::Between(from, to) = self else {
            return if self == Clock::DaylightSaving { 60 } else { 0 };
        };
        let at = |day: u16, minute: f64| 1440.0 * f64::from(day) + minute;
        let (from, to) = (at(from, CHANGED_AT_MIN), at(to, CHANGED_AT_MIN));
        let now = at(day_of_year, minute);
        let ahead = match from <= to {
            true => (from..to).contains(&now),
            // In the south summer runs over the new year.
            false => now >= from || now < to,
        };
        if ahead { 60 } else { 0 }
    }

    /// Whether the clock showed this time twice, an hour apart.
    pub fn shows_twice(self, day_of_year: u16, minute: f64) -> bool {
        matches!(self, Clock::Between(_, to) if to == day_of_year) && TWICE_MIN.contains(&minute)
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
