//! Words and figures of a replayed season, shared by terminal and page.

use crate::report::number;
use crate::study::replay::Replay;
use crate::units::dates::month_and_day;

/// What the errors leave out.
pub(crate) const LEFT_OUT: &str = "The ± is between builds of the same design (twice the standard deviation), each with its own drawn parts and minutes. It leaves out what the hours of the file are off for this very place.";

/// A month of the season.
pub(crate) struct Month {
    /// 1..=12.
    pub month: u8,
    /// Days of it in the file and the season.
    pub days: usize,
    /// Still days.
    pub still: f64,
    /// Jet, h a day.
    pub jet_h: f64,
    /// Dusk run, min.
    pub dusk_min: Option<f64>,
}

/// Months in the order of the season.
pub(crate) fn months(r: &Replay) -> Vec<Month> {
    let mut all: Vec<Month> = Vec::new();
    for day in &r.days {
        let month = month_and_day(day.day_of_year).0 as u8;
        if all.last().is_none_or(|m| m.month != month) {
            all.push(Month { month, days: 0, still: 0.0, jet_h: 0.0, dusk_min: None });
        }
        let Some(m) = all.last_mut() else { continue };
        m.days += 1;
        m.still += day.still;
        m.jet_h += day.jet_min / 60.0;
        if let Some(dusk) = day.dusk_run_min {
            *m.dusk_min.get_or_insert(0.0) += dusk;
        }
    }
    for m in &mut all {
        m.jet_h /= m.days as f64;
        m.dusk_min = m.dusk_min.map(|d| d / m.days as f64);
    }
    all
}

/// The answer in a sentence.
pub(crate) fn headline(r: &Replay, pm: &str) -> String {
    let [still, sd] = r.still_days;
    let range = format!("{} {pm} {}", number::fixed(still, 1), number::fixed(2.0 * sd, 1));
    let beside = match r.any_year_still_days {
        Some(expected) => format!("; in any year {} are to be expected", number::fixed(expected, 1)),
        None => String::new(),
    };
    format!("{range} still days in the {} days of the file{beside}.", r.days.len())
}
