//! `[wish]`: when the jet is wanted.

use toml::de::DeValue;

use super::hours::hours;
use crate::design::parts::{DayTime, Wish};
use crate::design::reader::DesignReader;
use crate::design::rules::DUSK_RUN_BY_CLOCK_MIN;
use crate::units::{Uncertain, dates};

pub(in crate::design) fn wish(r: &mut DesignReader<'_>) -> Option<Wish<Uncertain>> {
    let season = season(r);
    let hours = hours(r, "wish.hours", "wanted hours");
    let jet_m = r.quantity("wish.jet");
    let still_below_min = r.exact("wish.still_below");
    let enough = r.exact("wish.enough");
    let after_sunset = match hours {
        Some((_, DayTime::Sunset(shift))) => Some(shift.max(0.0)),
        _ => None,
    };
    let dusk_run_min = r.exact_or("wish.dusk_run", Some(after_sunset.unwrap_or(DUSK_RUN_BY_CLOCK_MIN)));
    let dusk_run_wished = r.value("wish.dusk_run").is_some() && dusk_run_min.is_some_and(|min| min > 0.0);
    let evenings = r.exact("wish.evenings");
    let pulse_counts_from = r.exact("wish.pulse_counts_from");
    let still_days_a_month = r.exact("wish.still_days");
    let confidence = r.exact("wish.confidence");
    let (from, to) = hours?;
    Some(Wish {
        season: season?,
        from,
        to,
        jet_m: jet_m?,
        still_below_min: still_below_min?,
        enough: enough?,
        dusk_run_min: dusk_run_min?,
        dusk_run_wished,
        evenings: evenings?,
        pulse_counts_from: pulse_counts_from?,
        still_days_a_month: still_days_a_month?,
        confidence: confidence?,
    })
}

/// `wish.season`: first and last day, 0-based days of a 365-day year.
fn season(r: &mut DesignReader<'_>) -> Option<(u16, u16)> {
    let path = "wish.season";
    let Some(value) = r.form(path) else { return r.default_text(path).and_then(season_of) };
    let DeValue::String(text) = value.get_ref() else {
        r.wrong_form(path, value);
        return None;
    };
    let days = season_of(text);
    if days.is_none() {
        let help = "write first and last day as month-day, like \"04-01 to 10-31\"; there is no 02-29";
        r.error(value.span(), format!("\"{text}\" is not a season"), "not understood", help);
    }
    days
}

/// First and last day, 0-based days of a 365-day year, of "04-01 to 10-31".
pub(super) fn season_of(text: &str) -> Option<(u16, u16)> {
    let (from, to) = text.split_once(" to ")?;
    Some((dates::day_of_year(from)?, dates::day_of_year(to)?))
}
