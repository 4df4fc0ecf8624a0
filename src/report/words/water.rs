//! Sentences on water: what the basin loses, and how long a full one lasts.

use super::names::month;
use crate::report::number;
use crate::report::style::volume;
use crate::tally::Summary;
use crate::tally::summary::{FullBasinMonth, LowWaterDay};
use crate::units::System;

/// A day beyond those that were followed.
pub(crate) const LATER: &str = "later";

/// What the basin loses, by season: `The basin loses 26 ± 1 L a week; in one season of ten more than 40 L.`
pub(crate) fn lost(s: &Summary, units: System, pm: &str) -> String {
    let (mean, unit) = weekly(s, units, pm);
    let p90 = number::two_digits(volume(s.water.litres_per_week_spread.p90, units).0);
    format!("The basin loses {mean} {unit} a week; in one season of ten, more than {p90} {unit}.")
}

/// The mean loss a week, and its unit.
pub(crate) fn weekly(s: &Summary, units: System, pm: &str) -> (String, &'static str) {
    let (litre, unit) = volume(1.0, units);
    let mean = s.water.litres_per_week.times(litre);
    (number::estimate(mean, usize::from(mean.mean < 10.0), pm), unit)
}

/// When a full basin is low, in a few words: `filled once, low by day 11 in June at the soonest`.
pub(crate) fn soonest_low(s: &Summary) -> String {
    let Some(full) = &s.water.full_basin else { return String::new() };
    let soonest = full.months.iter().filter_map(|m| Some((m.p50.day?, m.month))).min();
    match soonest {
        Some((day, m)) => format!("half of the fillings of {} are low by day {day}", month(m)),
        None => format!("a full basin mostly lasts {} days or the season", full.most_days),
    }
}

/// When a full basin is low, in the month in which that is soonest.
pub(crate) fn low_water(s: &Summary) -> String {
    let Some(full) = &s.water.full_basin else { return String::new() };
    let late = |d: LowWaterDay| d.day.unwrap_or(u32::MAX);
    let soonest = full.months.iter().min_by_key(|m| (late(m.p50), late(m.p10), late(m.p90)));
    match soonest {
        None => String::new(),
        Some(m) if m.p10.day.is_none() => {
            let asked = format!("{} days or the season’s end", full.most_days);
            format!("Filled once and left alone, it is not low before {asked}, in nine of ten cases.")
        }
        Some(m) => {
            let when = if full.months.len() > 1 {
                format!(" soonest in {}:", month(m.month))
            } else {
                String::new()
            };
            format!("Filled once and left alone, it is low{when} {}.", days(m))
        }
    }
}

/// `on day 5 in half of the cases (P10 3, P90 8)`.
fn days(m: &FullBasinMonth) -> String {
    let day = |d: LowWaterDay| d.day.map_or(LATER.to_owned(), |d| d.to_string());
    match (m.p50.day, m.p10.day == m.p90.day) {
        (Some(1), true) => "on the day of filling in eight of ten cases or more".to_owned(),
        (Some(n), _) => format!("by day {n} in half of the cases (P10 {}, P90 {})", day(m.p10), day(m.p90)),
        (None, _) => {
            format!("by day {} in one case of ten, in half of them not before the season ends", day(m.p10))
        }
    }
}

/// `5 (4 to 6)`, `5` if the interval is that day alone.
pub(crate) fn day_with_interval(d: LowWaterDay) -> String {
    let day = |d: Option<u32>| d.map_or(LATER.to_owned(), |d| d.to_string());
    if d.earliest_95 == d.latest_95 {
        day(d.day)
    } else {
        format!("{} ({} to {})", day(d.day), day(d.earliest_95), day(d.latest_95))
    }
}
