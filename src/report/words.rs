//! The sentences that a terminal and a page share.

use super::number::{self, NOT_COMPUTABLE};
use crate::plant::Cause;
use crate::source::is_terminal_control;
use crate::study::remedies::{Remedies, Weighed};
use crate::tally::Summary;
use crate::tally::summary::{DayCount, Estimate, Minutes, Month};
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

/// Words for a cause given by its key; an unknown key is shown as it is.
pub fn cause(key: &str) -> String {
    match Cause::ALL.into_iter().find(|c| c.key() == key) {
        Some(c) => c.words().to_owned(),
        None => escaped(key).replace('_', " "),
    }
}

/// What a key of a design is called in a sentence: `pump.bench[1].jet` is the "jet of the pump (bench row 2)". A
/// word without a dot is shown as it is.
pub fn of_key(key: &str) -> String {
    let plain = |text: &str| escaped(text).replace('_', " ");
    let Some((table, name)) = key.split_once('.') else { return escaped(key).into_owned() };
    let row = name.strip_prefix("bench[").and_then(|rest| rest.split_once("]."));
    match row.and_then(|(row, name)| Some((row.parse::<u32>().ok()?, name))) {
        Some((row, name)) => format!("{} of the {} (bench row {})", plain(name), plain(table), row + 1),
        None => format!("{} of the {}", plain(name), plain(table)),
    }
}

/// A remedy by its name; where the design's own and a built-in one are called alike, with whose it is.
pub fn remedy(r: &Remedies, w: &Weighed) -> String {
    let alike = r.ranked.iter().filter(|other| other.name == w.name).count() > 1;
    let whose = match (alike, w.own) {
        (false, _) => "",
        (true, true) => " (yours)",
        (true, false) => " (built in)",
    };
    format!("{}{whose}", escaped(&w.name))
}

/// Where within the hour a weather file's light fits the sun best; minutes after the hour's end.
pub fn fits_at(offset_min: Option<f64>) -> String {
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

/// Why most of a month's still days were still; if none were, why minutes went missing.
pub fn chief_cause(month: &Month) -> Option<String> {
    let of_days = ranked(&month.still_days_by_cause);
    let list = if of_days.is_empty() { ranked(&month.causes_min) } else { of_days };
    list.first().map(|(key, _)| cause(key))
}

/// Text from outside with its control and direction characters made visible, so that it can
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

/// The mean of a count with its error.
pub fn mean_of(c: &DayCount) -> Estimate {
    Estimate { mean: c.mean, se: c.se }
}

/// The mean of minutes with its error.
pub fn mean_minutes(m: &Minutes) -> Estimate {
    Estimate { mean: m.mean, se: m.se }
}

/// `From April to October`, `From 15 April to 3 October`, `Over the year`.
pub fn season(s: &Summary) -> String {
    let (Some(first), Some(last)) = (dates::day_of_year(&s.season.from), dates::day_of_year(&s.season.to))
    else {
        return "Over the season".to_owned();
    };
    if s.season.days >= 365 {
        return "Over the year".to_owned();
    }
    let ((m1, d1), (m2, d2)) = (dates::month_and_day(first), dates::month_and_day(last));
    let (n1, n2) = (MONTHS[m1 - 1], MONTHS[m2 - 1]);
    let whole = d1 == 1 && last + 1 == dates::MONTH_STARTS[m2];
    match (whole, m1 == m2) {
        (true, true) => format!("In {n1}"),
        (true, false) => format!("From {n1} to {n2}"),
        (false, _) => format!("From {d1} {n1} to {d2} {n2}"),
    }
}

/// `2,000 trials`, `1 trial`.
pub fn trials(n: u64) -> String {
    format!("{} trial{}", number::grouped(n), if n == 1 { "" } else { "s" })
}

/// Q1 in one sentence: how many days a month will it not run.
pub fn still_verdict(s: &Summary, pm: &str) -> String {
    let season = season(s);
    let worst = &s.season.worst_month;
    if s.season.still_days.histogram.iter().skip(1).all(|n| *n == 0) && s.season.still_days.mean == 0.0 {
        return format!(
            "{season} expect no still days: none came in {} trials.",
            number::grouped(s.run.trials)
        );
    }
    let mean = number::estimate(s.season.still_days_per_month, 2, pm);
    let tail = if worst.p90 < 0.5 {
        "nine years in ten have none at all".to_owned()
    } else {
        format!("in one year of ten, {} or more in the worst month", number::fixed(worst.p90, 0))
    };
    let noun = if mean == "1" || mean == "1.0" { "day" } else { "days" };
    format!("{season} expect {mean} still {noun} a month; {tail}.")
}

/// Q2 in one or two sentences: how long past sunset will it run.
pub fn dusk_verdict(s: &Summary, pm: &str) -> String {
    let Some(d) = &s.season.dusk_run_min else {
        return "No sunset falls into the season, so there is no dusk run.".to_owned();
    };
    let run = if d.p50 < 0.5 {
        "On half the evenings the jet has stopped by sunset".to_owned()
    } else {
        format!(
            "The jet goes on at least {} minutes past sunset on half the evenings",
            number::fixed(d.p50, 0)
        )
    };
    if s.season.wish_dusk_run_min > 0.0 {
        let meets = Estimate { mean: d.meets_wish, se: d.meets_wish_se };
        let wish = number::fixed(s.season.wish_dusk_run_min, 0);
        match meets.mean {
            0.0 => format!("{run}; none reached the wished {wish} minutes."),
            _ => format!("{run}; {} reach the wished {wish} minutes.", number::percent_estimate(meets, pm)),
        }
    } else {
        format!("{run}.")
    }
}

/// Q6 in one sentence: how long will the battery last.
pub fn battery_verdict(s: &Summary) -> String {
    let Some(b) = &s.battery else {
        return "There is no battery: the jet needs the sun at that minute.".to_owned();
    };
    let Some(years) = b.life_years.filter(|y| y.is_finite()) else {
        return format!("How long the battery lasts is {NOT_COMPUTABLE}.");
    };
    let by = match b.life_ends_by.as_deref() {
        Some("cycles") => ": cycling wears it out",
        Some("calendar") => ": age ends it before cycling does",
        _ => "",
    };
    format!("The battery should last {}{by}.", years_text(years))
}

/// `about 7 years`, `about 0.8 years`.
pub fn years_text(years: f64) -> String {
    let text = number::fixed(years, usize::from(years < 3.0));
    format!("about {text} year{}", if text == "1" { "" } else { "s" })
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
    fn causes_have_words() {
        assert_eq!(cause("battery_flat"), "battery flat");
        assert_eq!(cause("some_new\u{7}"), "some new[U+0007]");
    }
}
