//! `[wish]`: when the jet is wanted.

use toml::de::DeValue;

use crate::design::parts::{DayTime, Wish};
use crate::design::reader::DesignReader;
use crate::design::rules::DUSK_RUN_BY_CLOCK_MIN;
use crate::units::{Uncertain, dates, duration_min};

/// Most that wanted hours may be shifted from sunrise or sunset, min.
const SHIFT_MAX_MIN: f64 = 720.0;

pub(in crate::design) fn wish(r: &mut DesignReader<'_>) -> Option<Wish<Uncertain>> {
    let season = season(r);
    let hours = hours(r);
    let jet_m = r.quantity("wish.jet");
    let still_below_min = r.exact("wish.still_below");
    let enough = r.exact("wish.enough");
    let after_sunset = match hours {
        Some((_, DayTime::Sunset(shift))) => Some(shift.max(0.0)),
        _ => None,
    };
    let dusk_run_min = r.exact_or("wish.dusk_run", Some(after_sunset.unwrap_or(DUSK_RUN_BY_CLOCK_MIN)));
    if let (Some(value), Some(asked), Some(wanted)) = (r.value("wish.dusk_run"), dusk_run_min, after_sunset)
        && asked > wanted
    {
        let title = format!("the jet cannot reach the wished dusk run of {asked} min");
        let label = format!("the wanted hours end {wanted} min after sunset");
        r.warn(value.span(), title, &label, "let `hours` end later, or wish for a shorter dusk run");
    }
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

fn season_of(text: &str) -> Option<(u16, u16)> {
    let (from, to) = text.split_once(" to ")?;
    Some((dates::day_of_year(from)?, dates::day_of_year(to)?))
}

/// `wish.hours`: start and end of the wanted hours.
fn hours(r: &mut DesignReader<'_>) -> Option<(DayTime, DayTime)> {
    let path = "wish.hours";
    let Some(value) = r.form(path) else {
        let (from, to) = r.default_text(path)?.split_once(" to ")?;
        return Some((day_time(from).ok()?, day_time(to).ok()?));
    };
    let DeValue::String(text) = value.get_ref() else {
        r.wrong_form(path, value);
        return None;
    };
    let help = "write, for example, \"sunrise + 30 min to sunset + 2 h\" or \"08:00 to 22:00\"";
    let Some((from, to)) = text.split_once(" to ") else {
        r.error(value.span(), format!("\"{text}\" is not a range of hours"), "`to` is missing", help);
        return None;
    };
    let at = from.len() + " to ".len();
    let mut read = |part: &str, start: usize| match day_time(part) {
        Ok(time) => Some(time),
        Err(why) => {
            let span = r.span_within(value, text, start..start + part.len());
            r.error(span, format!("`{}` is not a time of day: {why}", part.trim()), "not understood", help);
            None
        }
    };
    let (start, end) = (read(from, 0), read(to, at));
    let (start, end) = (start?, end?);
    let backwards = match (start, end) {
        (DayTime::Sunrise(a), DayTime::Sunrise(b))
        | (DayTime::Sunset(a), DayTime::Sunset(b))
        | (DayTime::Clock(a), DayTime::Clock(b)) => a >= b,
        (DayTime::Sunset(a), DayTime::Sunrise(b)) => a >= b,
        _ => false,
    };
    if backwards {
        let help = "wanted hours must not cross midnight by the clock; to include it, let them end some hours after sunset";
        r.error(value.span(), "the wanted hours end before they start", "", help);
        return None;
    }
    Some((start, end))
}

fn day_time(text: &str) -> Result<DayTime, String> {
    let text = text.trim();
    let time = |make: fn(f64) -> DayTime, rest: &str| {
        let rest = rest.trim();
        if rest.is_empty() {
            return Ok(make(0.0));
        }
        let (sign, shift) = match (rest.strip_prefix('+'), rest.strip_prefix(['-', '−'])) {
            (Some(shift), _) => (1.0, shift),
            (_, Some(shift)) => (-1.0, shift),
            _ => return Err("only `+` or `-` and a duration may follow".to_owned()),
        };
        let shift = duration_min(shift).map_err(|e| e.title)?;
        if !(0.0..=SHIFT_MAX_MIN).contains(&shift) {
            return Err(format!("the shift must be at most {} h", SHIFT_MAX_MIN / 60.0));
        }
        Ok(make(sign * shift))
    };
    if let Some(rest) = text.strip_prefix("sunrise") {
        return time(DayTime::Sunrise, rest);
    }
    if let Some(rest) = text.strip_prefix("sunset") {
        return time(DayTime::Sunset, rest);
    }
    let Some((hour, minute)) = text.split_once(':') else {
        return Err("expected sunrise, sunset or a clock time like 08:00".to_owned());
    };
    match (hour.parse::<u16>(), minute.parse::<u16>()) {
        (Ok(hour), Ok(minute)) if minute < 60 && hour * 60 + minute <= 1440 && hour <= 24 => {
            Ok(DayTime::Clock(f64::from(hour * 60 + minute)))
        }
        _ => Err("clock times range from 00:00 to 24:00".to_owned()),
    }
}
