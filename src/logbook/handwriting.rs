//! Fields as people and spreadsheets write them, turned into the one form that is checked: decimal commas, `21.10`, `9:10 p.m.`,
//! `3.6.2026`, `sunny`. What could mean two things is left as it is, for the check to refuse.

use super::clock::minute_of;
use super::date::Date;
use super::entry::Sky;
use crate::units::{Dimension, QuantityError, Uncertain, dates, parse};
use std::borrow::Cow;

/// Words before a number that say no more than that it was read by a person.
const ABOUT: [&str; 7] = ["about", "around", "approximately", "approx.", "approx", "ca.", "~"];
/// What people call a sky, beside the words of the guide.
const SKIES: [(&str, Option<Sky>); 23] = [
    ("clear", Some(Sky::Clear)),
    ("clear sky", Some(Sky::Clear)),
    ("blue", Some(Sky::Clear)),
    ("blue sky", Some(Sky::Clear)),
    ("sunny", Some(Sky::Clear)),
    ("broken", Some(Sky::Broken)),
    ("broken clouds", Some(Sky::Broken)),
    ("sun and clouds", Some(Sky::Broken)),
    ("sun and cloud", Some(Sky::Broken)),
    ("partly cloudy", Some(Sky::Broken)),
    ("mixed", Some(Sky::Broken)),
    ("overcast", Some(Sky::Overcast)),
    ("dull", Some(Sky::Overcast)),
    ("grey", Some(Sky::Overcast)),
    ("gray", Some(Sky::Overcast)),
    ("rain", Some(Sky::Overcast)),
    ("fog", Some(Sky::Overcast)),
    ("unknown", None),
    ("?", None),
    ("-", None),
    ("n/a", None),
    ("none", None),
    ("", None),
];

/// Lower case, with single blanks; underscores and hyphens within words are blanks.
pub(super) fn plain(text: &str) -> String {
    let spaced = text.replace(['_', '-', '’'], " ").replace("n't", " not");
    spaced.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// The sky that a word means; `None` if it is no sky.
pub(super) fn sky(text: &str) -> Option<Option<Sky>> {
    let word = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    SKIES.iter().find(|(w, _)| *w == word).map(|(_, sky)| *sky)
}

/// Minutes after midnight of `21:10`, `21.10`, `21h10`, `21 h`, `9 pm`, `9.10 p.m.`, `noon`; 1440 of `24:00`.
pub(super) fn minute(text: &str) -> Option<f64> {
    let lower = text.trim().to_lowercase().replace("a.m.", "am").replace("p.m.", "pm");
    match lower.as_str() {
        "noon" => return Some(720.0),
        "24:00" | "24.00" | "24h" => return Some(1440.0),
        _ => {}
    }
    if let Some(minute) = minute_of(&lower) {
        return Some(minute);
    }
    let (time, half) = match lower.strip_suffix("am").or(lower.strip_suffix("pm")) {
        Some(time) => (time.trim(), &lower[lower.len() - 2..]),
        None => (lower.strip_suffix('h').map_or(lower.as_str(), str::trim), ""),
    };
    let hour_alone = !half.is_empty() || lower.ends_with('h');
    let whole = |digits: &str| (1..=2).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    match time.split_once(['.', 'h', ':']) {
        Some((h, m)) if whole(h) && whole(m) && m.len() == 2 => minute_of(&format!("{h}:{m}{half}")),
        None if hour_alone && whole(time) => minute_of(&format!("{time}:00{half}")),
        _ => None,
    }
}

/// The order of day and month in dates with slashes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SlashOrder {
    DayFirst,
    MonthFirst,
}

/// The order that the dates of a file show: a number beyond 12 is no month. `None` if none shows it, or they differ.
pub(super) fn slash_order<'t>(dates: impl Iterator<Item = Cow<'t, str>>) -> Option<SlashOrder> {
    let mut found = None;
    for date in dates {
        let Some([a, b, _]) = numbers(&split_time(&date).0, '/') else { continue };
        let shown = match (a > 12, b > 12) {
            (true, false) => SlashOrder::DayFirst,
            (false, true) => SlashOrder::MonthFirst,
            _ => continue,
        };
        if found.is_some_and(|f| f != shown) {
            return None;
        }
        found = Some(shown);
    }
    found
}

/// The day of `2026-6-3`, `2026/06/03`, `3.6.2026`, `3 June 2026`, `June 3, 2026`, and of `3/6/2026` if the order is known.
pub(super) fn date(text: &str, order: Option<SlashOrder>) -> Option<Date> {
    let text = text.trim();
    let day_of = |y: u32, m: u32, d: u32| Date::parse(&format!("{y:04}-{m:02}-{d:02}"));
    for separator in ['-', '/', '.'] {
        let Some([a, b, c]) = numbers(text, separator) else { continue };
        return match (a > 999, separator, order) {
            (true, _, _) => day_of(a, b, c),
            (false, '.', _) => day_of(c, b, a),
            (false, '/', Some(SlashOrder::DayFirst)) => day_of(c, b, a),
            (false, '/', Some(SlashOrder::MonthFirst)) => day_of(c, a, b),
            _ => None,
        };
    }
    let words: Vec<&str> = text.split([' ', ',', '.']).filter(|w| !w.is_empty()).collect();
    let [a, b, year] = words[..] else { return None };
    let month_of = |word: &str| {
        // By the first three letters.
        let start = word.get(..3)?;
        word.bytes().all(|b| b.is_ascii_alphabetic()).then_some(())?;
        dates::MONTHS.iter().position(|m| m[..3].eq_ignore_ascii_case(start)).map(|k| k as u32 + 1)
    };
    let (day, month) = match month_of(b) {
        Some(month) => (a, month),
        None => (b, month_of(a)?),
    };
    let day = day.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    day_of(year.parse().ok()?, month, day.parse().ok()?)
}

/// A date and the time that a phone may have written behind it; midnight is none.
pub(super) fn split_time(text: &str) -> (Cow<'_, str>, Option<f64>) {
    let cut = text.rfind([' ', 'T']).filter(|at| text[at + 1..].contains(':'));
    let Some((day, time)) = cut.map(|at| (&text[..at], &text[at + 1..])) else {
        return (Cow::Borrowed(text), None);
    };
    let time = time.split(['.', 'Z', '+']).next().unwrap_or(time);
    match minute(time) {
        Some(minute) => (Cow::Borrowed(day.trim()), Some(minute).filter(|m| *m > 0.0)),
        None => (Cow::Borrowed(text), None),
    }
}

fn numbers(text: &str, separator: char) -> Option<[u32; 3]> {
    let parts: Vec<u32> = text
        .split(separator)
        .map(|p| (1..=4).contains(&p.trim().len()).then(|| p.trim().parse().ok()).flatten())
        .collect::<Option<_>>()?;
    // One with a year of four digits: of "3.6.26" nobody knows.
    let [a, b, c] = parts[..] else { return None };
    (a > 999 || c > 999).then_some([a, b, c])
}

/// A quantity as [`parse`] reads it, or with a decimal comma, a hyphen for a range, "about" before it, or other capitals in its unit.
pub(super) fn quantity(text: &str, wanted: Dimension) -> Result<Uncertain, QuantityError> {
    let as_written = parse(text, wanted);
    if as_written.is_ok() {
        return as_written;
    }
    let tidied = with_unit(&with_range(&with_point(without_about(text))), wanted);
    match parse(&tidied, wanted) {
        // Places of the tidied text are those of the text, if no byte was put in or taken away.
        Err(e) if tidied.len() == text.len() => Err(e),
        Err(_) => as_written,
        value => value,
    }
}

fn without_about(text: &str) -> &str {
    let trimmed = text.trim_start();
    let lower = trimmed.to_lowercase();
    let word = ABOUT.iter().find(|w| lower.starts_with(**w));
    match word.and_then(|w| trimmed.get(w.len()..)) {
        Some(rest) if rest.trim_start().starts_with(|c: char| c.is_ascii_digit()) => rest,
        _ => text,
    }
}

/// Decimal commas as points. A comma before exactly three digits may stand for thousands, unless a lone 0 is before it; two commas in one
/// number do.
fn with_point(text: &str) -> String {
    let bytes = text.as_bytes();
    let digits_from = |at: usize| bytes[at..].iter().take_while(|b| b.is_ascii_digit()).count();
    let mut out = bytes.to_vec();
    for at in 1..bytes.len() {
        let before = bytes[..at].iter().rev().take_while(|b| b.is_ascii_digit()).count();
        let after = digits_from(at + 1);
        let end = at + 1 + after;
        let more = matches!(bytes.get(end), Some(b',' | b'.')) && digits_from(end + 1) > 0;
        let part_of_more = at > before && matches!(bytes[at - before - 1], b',' | b'.');
        let thousands = after == 3 && &bytes[at - before..at] != b"0";
        if bytes[at] == b',' && before > 0 && after > 0 && !thousands && !more && !part_of_more {
            out[at] = b'.';
        }
    }
    String::from_utf8(out).unwrap_or_else(|_| text.to_owned())
}

/// "5-6 h" as "5 to 6 h".
fn with_range(text: &str) -> String {
    for sign in ['-', '–', '—'] {
        let Some((from, upto)) = text.split_once(sign) else { continue };
        let ends = from.trim_end().ends_with(|c: char| c.is_ascii_digit());
        if ends && upto.trim_start().starts_with(|c: char| c.is_ascii_digit()) {
            return format!("{from} to {upto}");
        }
    }
    text.to_owned()
}

/// Units in the capitals that they have, where only one is meant.
fn with_unit(text: &str, wanted: Dimension) -> String {
    let in_unit = |c: char| c.is_alphabetic() || matches!(c, '/' | '%' | '°');
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(in_unit) {
        let (before, from) = rest.split_at(at);
        let end = from.find(|c: char| !in_unit(c)).unwrap_or(from.len());
        let (unit, after) = from.split_at(end);
        let lower = unit.to_lowercase();
        let mut meant = wanted.unit_names().filter(|n| n.to_lowercase() == lower);
        let one = meant.next().filter(|_| meant.next().is_none());
        out += before;
        out += one.unwrap_or(unit);
        rest = after;
    }
    out + rest
}

/// Voltage of "on 6 V", V.
pub(super) fn supply_v(word: &str) -> Option<f64> {
    let (on, volts) = word.split_once(' ')?;
    let volts = quantity(volts, Dimension::Voltage).ok().filter(|_| on.eq_ignore_ascii_case("on"))?;
    (volts.nominal > 0.0).then_some(volts.nominal)
}

/// Day and month of a season's clock, as [`dates::day_of_year`] reads them.
pub(super) fn clock_days(text: &str) -> Option<(u16, u16)> {
    let (from, to) = text.split_once(" to ")?;
    Some((dates::day_of_year(from)?, dates::day_of_year(to)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_people_write_them() {
        for (text, expected) in [
            ("21:10", Some(1270.0)),
            ("21.10", Some(1270.0)),
            ("21h10", Some(1270.0)),
            ("21:10 h", Some(1270.0)),
            ("9:10 pm", Some(1270.0)),
            ("9.10 p.m.", Some(1270.0)),
            ("9 PM", Some(1260.0)),
            ("21 h", Some(1260.0)),
            ("12 am", Some(0.0)),
            ("noon", Some(720.0)),
            ("24:00", Some(1440.0)),
            ("21.1", None),
            ("21", None),
            ("2110", None),
            ("25.10", None),
            ("21.75", None),
            ("13 pm", None),
            ("", None),
            ("h", None),
            ("pm", None),
        ] {
            assert_eq!(minute(text), expected, "{text}");
        }
    }

    #[test]
    fn dates_are_read_where_they_have_one_meaning() {
        let day = |text: &str, order| date(text, order).map(|d| d.to_string());
        let june = Some("2026-06-03".to_owned());
        for text in [
            "2026-06-03",
            "2026-6-3",
            "2026/06/03",
            "03.06.2026",
            "3.6.2026",
            "3 June 2026",
            "June 3, 2026",
            "3rd Jun 2026",
        ] {
            assert_eq!(day(text, None), june, "{text}");
        }
        assert_eq!(day("3/6/2026", Some(SlashOrder::DayFirst)), june);
        assert_eq!(day("6/3/2026", Some(SlashOrder::MonthFirst)), june);
        for text in ["6/3/2026", "3.6.26", "3-6-2026", "31.6.2026", "3 Juggling 20x6", "", "1/2", "é é 2026"]
        {
            assert_eq!(day(text, None), None, "{text}");
        }
        let order = |all: &[&str]| slash_order(all.iter().map(|d| Cow::Borrowed(*d)));
        assert_eq!(order(&["3/6/2026", "25/6/2026"]), Some(SlashOrder::DayFirst));
        assert_eq!(order(&["6/3/2026", "6/25/2026 21:10"]), Some(SlashOrder::MonthFirst));
        assert_eq!(order(&["25/6/2026", "6/25/2026"]), None);
        assert_eq!(split_time("2026-06-03 21:10"), (Cow::Borrowed("2026-06-03"), Some(1270.0)));
        assert_eq!(split_time("2026-06-03T21:10:00Z"), (Cow::Borrowed("2026-06-03"), Some(1270.0)));
        assert_eq!(split_time("2026-06-03 00:00:00"), (Cow::Borrowed("2026-06-03"), None));
        assert_eq!(split_time("3 June 2026"), (Cow::Borrowed("3 June 2026"), None));
    }

    #[test]
    fn values_are_read_with_comma_range_and_capitals() {
        for (text, kind, nominal, sd) in [
            ("0,85 A", Dimension::Current, 0.85, None),
            ("0,850A", Dimension::Current, 0.85, None),
            ("6,4v ± 0,2 V", Dimension::Voltage, 6.4, Some(0.1)),
            ("5-6 h", Dimension::Hours, 5.5, Some(1.0 / 12f64.sqrt())),
            ("5,5 – 6,5 h", Dimension::Hours, 6.0, Some(1.0 / 12f64.sqrt())),
            ("about 30 CM", Dimension::Length, 0.30, None),
            ("~30cm", Dimension::Length, 0.30, None),
            ("280 MA", Dimension::Current, 0.28, None),
            ("-0,5 A", Dimension::Current, -0.5, None),
        ] {
            let value = quantity(text, kind).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((value.nominal - nominal).abs() < 1e-12, "{text}: {value:?}");
            let found = super::super::entry::Entry::sd_of(&value);
            assert!(found.is_some() == sd.is_some(), "{text}");
            assert!(found.zip(sd).is_none_or(|(a, b)| (a - b).abs() < 1e-12), "{text}: {found:?}");
        }
        // Thousands or decimals? Nobody knows.
        for text in ["1,500 mA", "1,2,3 A", "1.200,5 A", "1,5", "A", "about A", ",5 A", "1, A", "é,5 A"] {
            assert!(quantity(text, Dimension::Current).is_err(), "{text}");
        }
        let wrong = quantity("0,85 V", Dimension::Current).expect_err("volts");
        assert!(wrong.title.contains("`V` is a unit of voltage") && wrong.span == (5..6), "{wrong:?}");
    }
}
