//! Times of a day, and hours from one to another, by the clock or by the sun.

use toml::de::DeValue;

use crate::design::parts::DayTime;
use crate::design::reader::DesignReader;
use crate::units::duration_min;

/// Most that hours may be shifted from sunrise or sunset, min.
const SHIFT_MAX_MIN: f64 = 720.0;

/// Start and end of the hours that a key holds, or of its default; `whose` says in messages which hours they are.
pub(super) fn hours(r: &mut DesignReader<'_>, path: &str, whose: &str) -> Option<(DayTime, DayTime)> {
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
        let help = format!(
            "{whose} must not cross midnight by the clock; to include it, let them end some hours after sunset"
        );
        r.error(value.span(), format!("the {whose} end before they start"), "", &help);
        return None;
    }
    Some((start, end))
}

/// One time of day that a key holds, or its default.
pub(super) fn time(r: &mut DesignReader<'_>, path: &str) -> Option<DayTime> {
    let Some(value) = r.form(path) else { return day_time(r.default_text(path)?).ok() };
    let Some(text) = value.get_ref().as_str() else {
        r.wrong_form(path, value);
        return None;
    };
    match day_time(text) {
        Ok(time) => Some(time),
        Err(why) => {
            let help = "write, for example, \"12:00\", \"sunrise + 4 h\" or \"sunset\"";
            r.error(value.span(), format!("`{text}` is not a time of day: {why}"), "not understood", help);
            None
        }
    }
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
