//! The hours of a year by name, for messages: slot 0 ends on 1 January at 01:00, slot 8759 on 31 December at 24:00.

use crate::units::dates::{MONTHS, month_and_day};

/// Gaps named one by one in a warning; the rest is counted.
const GAPS_NAMED_MAX: usize = 6;

/// "3 March 14:00": the end of an hour of the year.
pub(crate) fn label(slot: usize) -> String {
    let (month, day) = month_and_day((slot / 24) as u16);
    format!("{day} {} {:02}:00", MONTHS[month - 1], slot % 24 + 1)
}

/// "missing: 3 March 04:00, 1 June 01:00 to 4 June 24:00 and 3 more stretches".
pub(crate) fn gaps<T>(hours: &[Option<T>]) -> String {
    let named = stretches(hours);
    let rest = named.len().saturating_sub(GAPS_NAMED_MAX);
    let rest = if rest > 0 { format!(" and {rest} more stretches") } else { String::new() };
    format!("missing: {}{rest}", named[..named.len().min(GAPS_NAMED_MAX)].join(", "))
}

/// The stretches of hours without value: "3 March 04:00", "1 June 01:00 to 4 June 24:00".
pub(crate) fn stretches<T>(hours: &[Option<T>]) -> Vec<String> {
    let mut ends: Vec<(usize, usize)> = Vec::new();
    for slot in (0..hours.len()).filter(|&slot| hours[slot].is_none()) {
        match ends.last_mut() {
            Some((_, end)) if *end + 1 == slot => *end = slot,
            _ => ends.push((slot, slot)),
        }
    }
    ends.iter()
        .map(|&(a, b)| if a == b { label(a) } else { format!("{} to {}", label(a), label(b)) })
        .collect()
}
