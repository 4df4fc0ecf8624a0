//! Names of months, dates, causes and keys, and text from outside made safe to show.

use crate::plant::{Cause, DayTrace};
use crate::report::number::{self, NOT_COMPUTABLE};
use crate::source::is_terminal_control;
use crate::tally::Summary;
use crate::units::dates::{self, MONTHS};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Name of a month 1..=12.
pub fn month(number: u8) -> &'static str {
    MONTHS.get(usize::from(number).wrapping_sub(1)).copied().unwrap_or("?")
}

/// First three letters of the name of a month 1..=12.
pub fn month_short(number: u8) -> &'static str {
    month(number).get(..3).unwrap_or("?")
}

/// `14 June`, of a day of the year 0..365.
pub fn date(day_of_year: u16) -> String {
    let (month, day) = dates::month_and_day(day_of_year % 365);
    format!("{day} {}", MONTHS[month - 1])
}

/// Local standard time of a minute of the trace's day, `05:47`.
pub fn clock(trace: &DayTrace, minute: f64) -> String {
    let m = (minute.round() as i64 + i64::from(trace.day_start_h) * 60).rem_euclid(1440);
    format!("{:02}:{:02}", m / 60, m % 60)
}

/// One letter for each cause.
pub(crate) fn letter(cause: Cause) -> char {
    match cause {
        Cause::Blocked => 'X',
        Cause::Frozen => 'I',
        Cause::LowWater => 'W',
        Cause::Wind => 'G',
        Cause::TooCold => 'C',
        Cause::BatteryFlat => 'F',
        Cause::HeldBack => 'R',
        Cause::MountStarved => 'M',
        Cause::BehindSkyline => 'S',
        Cause::Covered => 'L',
        Cause::Pulsing => 'P',
        Cause::TooLow => 'J',
        Cause::TooLittleSun => 'D',
    }
}

/// Words for a cause given by its key; an unknown key is shown as it is.
pub fn cause(key: &str) -> String {
    match Cause::ALL.into_iter().find(|c| c.key() == key) {
        Some(c) => c.words().to_owned(),
        None => escaped(key).replace('_', " "),
    }
}

/// What a key of a design is called in a sentence: `pump.bench[1].jet` is the "jet of the pump (bench row 2)". A
/// word without a dot is shown as it is.
pub fn key_in_words(key: &str) -> String {
    let plain = |text: &str| escaped(text).replace('_', " ");
    let Some((table, name)) = key.split_once('.') else { return escaped(key).into_owned() };
    let row = name.strip_prefix("bench[").and_then(|rest| rest.split_once("]."));
    match row.and_then(|(row, name)| Some((row.parse::<u32>().ok()?, name))) {
        Some((row, name)) => format!("{} of the {} (bench row {})", plain(name), plain(table), row + 1),
        None => format!("{} of the {}", plain(name), plain(table)),
    }
}

/// Where within the hour a weather file's light fits the sun best; minutes after the hour's end.
pub fn closure_offset(offset_min: Option<f64>) -> String {
    match offset_min {
        None => NOT_COMPUTABLE.to_owned(),
        Some(-30.0) => "the middle of the hour, as it should be".to_owned(),
        Some(m) if m < 0.0 => format!("{} min before the hour's end", number::fixed(-m, 0)),
        Some(m) => format!("{} min after the hour's end", number::fixed(m, 0)),
    }
}

/// Causes with a share above zero, greatest first; equal ones in the order of their keys.
pub fn ranked(causes: &BTreeMap<String, f64>) -> Vec<(&str, f64)> {
    let mut list: Vec<(&str, f64)> =
        causes.iter().map(|(k, v)| (k.as_str(), *v)).filter(|(_, v)| *v > 0.0).collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
    list
}

/// Text from outside with its control and direction characters made escaped, so that it can
/// neither move the cursor of a terminal nor turn the text around it.
pub fn escaped(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_terminal_control) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_terminal_control(c) {
            out.push_str(&format!("[U+{:04X}]", u32::from(c)));
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// A title in quotes; quotes inside become single ones.
pub fn quoted(title: &str) -> String {
    let (mut inner, mut open) = (String::with_capacity(title.len()), false);
    for c in escaped(title).chars() {
        inner.push(match c {
            '“' => '‘',
            '”' => '’',
            '"' => {
                open = !open;
                if open { '‘' } else { '’' }
            }
            other => other,
        });
    }
    format!("“{inner}”")
}

/// The cautions of several designs, each once.
pub(crate) fn all_cautions(designs: &[Summary]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for caution in designs.iter().flat_map(|s| &s.cautions) {
        if !all.contains(caution) {
            all.push(caution.clone());
        }
    }
    all
}

/// `12 builds`, `1 build`.
pub fn count(n: usize, what: &str) -> String {
    format!("{} {what}{}", number::grouped(n as u64), if n == 1 { "" } else { "s" })
}

/// `2,000 trials`, `1 trial`.
pub fn trials(n: u64) -> String {
    format!("{} trial{}", number::grouped(n), if n == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_those_of_a_365_day_year() {
        assert_eq!(date(0), "1 January");
        assert_eq!(date(58), "28 February");
        assert_eq!(date(59), "1 March");
        assert_eq!(date(364), "31 December");
    }

    #[test]
    fn what_could_hide_or_turn_text_is_shown() {
        assert_eq!(escaped("plain ä"), "plain ä");
        assert_eq!(escaped("a\u{202e}b\u{1b}[2Jc"), "a[U+202E]b[U+001B][2Jc");
    }

    #[test]
    fn quotes_in_a_title_become_single() {
        assert_eq!(quoted("Basin"), "“Basin”");
        assert_eq!(quoted("The \"blue\" basin"), "“The ‘blue’ basin”");
        assert_eq!(quoted("The “blue” basin\u{1b}"), "“The ‘blue’ basin[U+001B]”");
    }

    #[test]
    fn causes_have_words() {
        assert_eq!(cause("battery_flat"), "battery flat");
        assert_eq!(cause("some_new\u{7}"), "some new[U+0007]");
    }
}
