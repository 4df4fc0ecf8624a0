//! Values with a form of their own: season, hours, skyline, bench rows, and the like.

use std::path::PathBuf;

use toml::de::DeValue;

use super::reader::DesignReader;
use super::values::{Value, number};
use super::{BenchPoint, DayTime, TopUp, YearSpread};
use crate::units::{Dimension, Uncertain, dates, duration_min};

/// Weather files a design may name.
const WEATHER_MAX: usize = 200;
/// Corners a skyline may have.
const CORNERS_MAX: usize = 720;

/// `site.weather`: one path or a list of them.
pub(super) fn weather(s: &mut DesignReader<'_>) -> Option<Vec<PathBuf>> {
    let path = "site.weather";
    let value = s.form(path)?;
    let list: Vec<Value<'_>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().collect(),
        _ => vec![value],
    };
    if list.is_empty() {
        s.error(value.span(), "no weather file is named", "an empty list", "name at least one");
        return None;
    }
    if list.len() > WEATHER_MAX {
        s.error(value.span(), format!("more than {WEATHER_MAX} weather files"), "", "");
        return None;
    }
    let mut files = Vec::new();
    for item in list {
        match item.get_ref() {
            DeValue::String(file) if file.trim().is_empty() => {
                s.error(item.span(), "no weather file is named", "empty", "");
                return None;
            }
            DeValue::String(file) => files.push(PathBuf::from(file.as_ref())),
            _ => {
                s.wrong_form(path, item);
                return None;
            }
        }
    }
    for (k, file) in files.iter().enumerate() {
        if files[..k].contains(file) {
            let title = format!("weather file {} is named twice", file.display());
            s.error(value.span(), title, "", "name each year once");
            return None;
        }
    }
    Some(files)
}

/// The items of a list of a fixed length.
fn items<'a>(
    s: &mut DesignReader<'a>,
    path: &str,
    value: Value<'a>,
    n: usize,
    how: &str,
) -> Option<Vec<Value<'a>>> {
    match value.get_ref().as_array() {
        Some(list) if list.len() == n => Some(list.iter().collect()),
        _ => {
            let title = format!("{n} values are wanted in each place of `{path}`");
            s.error(value.span(), title, "", &format!("write it like {how}"));
            None
        }
    }
}

fn rows<'a>(s: &mut DesignReader<'a>, path: &str, value: Value<'a>) -> Option<Vec<Value<'a>>> {
    match value.get_ref().as_array() {
        Some(list) => Some(list.iter().collect()),
        None => {
            s.wrong_form(path, value);
            None
        }
    }
}

fn exact_in<'a>(
    s: &mut DesignReader<'a>,
    name: &str,
    value: Value<'a>,
    (dimension, lo, hi): (Dimension, f64, f64),
) -> Option<f64> {
    let q = s.quantity_at(name, value, dimension)?;
    if !q.is_exact() {
        s.error(value.span(), format!("`{name}` must be one exact value"), "a spread has no use here", "");
        return None;
    }
    s.in_range(name, value, q, dimension, lo, hi).map(|q| q.nominal)
}

/// `site.skyline`: corners (azimuth °, height °) by rising azimuth.
pub(super) fn skyline(s: &mut DesignReader<'_>) -> Option<Vec<(f64, f64)>> {
    let path = "site.skyline";
    let Some(value) = s.form(path) else { return Some(Vec::new()) };
    let list = rows(s, path, value)?;
    if list.len() > CORNERS_MAX {
        s.error(value.span(), format!("more than {CORNERS_MAX} skyline corners"), "", "");
        return None;
    }
    let mut corners: Vec<(f64, f64)> = Vec::new();
    let mut sound = true;
    for row in list {
        let Some(pair) = items(s, path, row, 2, "[[\"90 deg\", \"8 deg\"], [\"180 deg\", \"22 deg\"]]")
        else {
            sound = false;
            continue;
        };
        let azimuth = exact_in(s, "azimuth", pair[0], (Dimension::Angle, 0.0, 360.0));
        let height = exact_in(s, "height", pair[1], (Dimension::Angle, 0.0, 89.0));
        let (Some(azimuth), Some(height)) = (azimuth, height) else {
            sound = false;
            continue;
        };
        if let Some((before, _)) = corners.last().filter(|(before, _)| *before >= azimuth) {
            let title = format!("skyline corners must go round: {azimuth} deg comes after {before} deg");
            s.error(pair[0].span(), title, "must be greater", "sort them by rising azimuth, each once");
            sound = false;
        }
        corners.push((azimuth, height));
    }
    if corners.len() > 1 && corners.first().is_some_and(|c| c.0 == 0.0) {
        // 360 deg is 0 deg again: the corner at north must not be given twice.
        if let Some(last) = corners.last().copied().filter(|c| c.0 == 360.0) {
            if corners[0].1 == last.1 {
                corners.pop();
            } else {
                let title = "the skyline has two heights at north (0 deg and 360 deg)";
                s.error(value.span(), title, "", "give north once");
                sound = false;
            }
        }
    } else if let Some(last) = corners.pop_if(|c| c.0 == 360.0) {
        corners.insert(0, (0.0, last.1));
    }
    sound.then_some(corners)
}

/// `site.year_spread`.
pub(super) fn year_spread(s: &mut DesignReader<'_>) -> Option<YearSpread> {
    let path = "site.year_spread";
    let Some(value) = s.form(path) else { return Some(YearSpread::Default) };
    let DeValue::Table(table) = value.get_ref() else {
        return match value.get_ref().as_str() {
            Some("published") => Some(YearSpread::Default),
            Some("none") => Some(YearSpread::None),
            _ => {
                s.wrong_form(path, value);
                None
            }
        };
    };
    for (name, span, _) in super::values::in_file_order(table) {
        if !["monthly", "annual"].contains(&name) {
            let title = format!("`{name}` has no meaning in `{path}`");
            s.error(span, title, "not known", "it holds `monthly` and `annual`");
        }
    }
    let mut share = |name: &str| {
        let Some(value) = table.get(name) else {
            let help = "write it like { monthly = \"12 %\", annual = \"4 %\" }";
            s.error(value.span(), format!("`{name}` is missing in `{path}`"), "", help);
            return None;
        };
        exact_in(s, name, value, (Dimension::Share, 0.0, 0.6))
    };
    let (monthly, annual) = (share("monthly"), share("annual"));
    Some(YearSpread::Given { monthly: monthly?, annual: annual? })
}

/// `wish.season`: first and last day, 0-based days of a 365-day year.
pub(super) fn season(s: &mut DesignReader<'_>) -> Option<(u16, u16)> {
    let path = "wish.season";
    let Some(value) = s.form(path) else { return Some((0, 364)) };
    let DeValue::String(text) = value.get_ref() else {
        s.wrong_form(path, value);
        return None;
    };
    let days = text
        .split_once(" to ")
        .and_then(|(from, to)| Some((dates::day_of_year(from)?, dates::day_of_year(to)?)));
    if days.is_none() {
        let help = "write first and last day as month-day, like \"04-01 to 10-31\"; every year has 365 days";
        s.error(value.span(), format!("\"{text}\" is not a season"), "not understood", help);
    }
    days
}

/// `wish.hours`: start and end of the wanted hours.
pub(super) fn hours(s: &mut DesignReader<'_>) -> Option<(DayTime, DayTime)> {
    let path = "wish.hours";
    let Some(value) = s.form(path) else { return Some((DayTime::Sunrise(30.0), DayTime::Sunset(0.0))) };
    let DeValue::String(text) = value.get_ref() else {
        s.wrong_form(path, value);
        return None;
    };
    let help = "write it like \"sunrise + 30 min to sunset + 2 h\" or \"08:00 to 22:00\"";
    let Some((from, to)) = text.split_once(" to ") else {
        s.error(value.span(), format!("\"{text}\" names no hours"), "no `to` in it", help);
        return None;
    };
    let at = from.len() + " to ".len();
    let mut read = |part: &str, start: usize| match day_time(part) {
        Ok(time) => Some(time),
        Err(why) => {
            let span = s.span_within(value, text, start..start + part.len());
            s.error(span, format!("`{}` is not a time of day: {why}", part.trim()), "not understood", help);
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
        let help = "hours lie within one day; to let the jet run past midnight, end them after sunset";
        s.error(value.span(), "the wanted hours end before they begin", "", help);
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
        if !(0.0..=720.0).contains(&shift) {
            return Err("it may be moved by up to 12 h".to_owned());
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
        return Err("it begins with sunrise, sunset, or is a clock time like 08:00".to_owned());
    };
    match (hour.parse::<u16>(), minute.parse::<u16>()) {
        (Ok(hour), Ok(minute)) if minute < 60 && hour * 60 + minute <= 1440 && hour <= 24 => {
            Ok(DayTime::Clock(f64::from(hour * 60 + minute)))
        }
        _ => Err("clock times go from 00:00 to 24:00".to_owned()),
    }
}

/// `mount.azimuth_range`: centre and half-width, °.
pub(super) fn azimuth_range(s: &mut DesignReader<'_>) -> Option<(f64, f64)> {
    let path = "mount.azimuth_range";
    let Some(value) = s.form(path) else { return Some((180.0, 180.0)) };
    let pair = items(s, path, value, 2, "[\"60 deg\", \"300 deg\"]")?;
    let from = exact_in(s, "azimuth", pair[0], (Dimension::Angle, 0.0, 360.0));
    let to = exact_in(s, "azimuth", pair[1], (Dimension::Angle, 0.0, 360.0));
    let (from, to) = (from?, to?);
    let width = if from < to { to - from } else { to - from + 360.0 };
    if from == to {
        s.error(
            value.span(),
            "the mount reaches a single azimuth",
            "",
            "leave the key out if it goes all round",
        );
        return None;
    }
    Some(((from + 0.5 * width).rem_euclid(360.0), (0.5 * width).min(180.0)))
}

/// `pump.bench`: rows of voltage, current, height of the jet, by rising voltage.
pub(super) fn bench(s: &mut DesignReader<'_>) -> Option<Vec<BenchPoint<Uncertain>>> {
    let path = "pump.bench";
    let value = s.form(path)?;
    let list = rows(s, path, value)?;
    if list.is_empty() {
        s.error(value.span(), "the pump has no bench row", "an empty list", "one row from its label will do");
        return None;
    }
    if list.len() > BENCH_ROWS_MAX {
        s.error(value.span(), format!("more than {BENCH_ROWS_MAX} bench rows"), "", "");
        return None;
    }
    let how = "[[\"3 V\", \"110 mA\", \"120 mm\"], [\"6 V\", \"290 mA\", \"430 mm\"]]";
    let mut points: Vec<BenchPoint<Uncertain>> = Vec::new();
    let mut sound = true;
    for row in list {
        let Some(cells) = items(s, path, row, 3, how) else {
            sound = false;
            continue;
        };
        let mut cell = |k: usize, name: &str, d: Dimension, lo: f64, hi: f64| {
            let q = s.quantity_at(name, cells[k], d)?;
            s.in_range(name, cells[k], q, d, lo, hi)
        };
        let voltage_v = cell(0, "voltage", Dimension::Voltage, 0.3, 100.0);
        let current_a = cell(1, "current", Dimension::Current, 0.0005, 50.0);
        let jet_m = cell(2, "jet", Dimension::Length, 0.0, 20.0);
        let (Some(voltage_v), Some(current_a), Some(jet_m)) = (voltage_v, current_a, jet_m) else {
            sound = false;
            continue;
        };
        if let Some(before) = points.last() {
            if before.voltage_v.highest() >= voltage_v.lowest() {
                let help = "sort the rows by voltage, and keep their spreads apart";
                s.error(row.span(), "bench rows must go by rising voltage", "not above the row before", help);
                sound = false;
            } else if before.jet_m.nominal > jet_m.nominal {
                let title = "the jet falls while the voltage rises";
                s.warn(row.span(), title, "lower than in the row before", "is this row right?");
            } else if before.current_a.nominal > current_a.nominal {
                let title = "the pump takes less while the voltage rises";
                s.warn(row.span(), title, "less than in the row before", "is this row right?");
            }
        }
        points.push(BenchPoint { voltage_v, current_a, jet_m });
    }
    if sound && points.iter().all(|p| p.jet_m.nominal <= 0.0) {
        s.error(value.span(), "no bench row has a jet", "all heights are 0", "");
        return None;
    }
    sound.then_some(points)
}

const BENCH_ROWS_MAX: usize = 32;

/// `water.top_up`.
pub(super) fn top_up(s: &mut DesignReader<'_>) -> Option<TopUp> {
    let path = "water.top_up";
    let Some(value) = s.form(path) else { return Some(TopUp::Always) };
    let text = value.get_ref().as_str().unwrap_or_default().trim();
    let every = || {
        let rest = text.strip_prefix("every ")?;
        let (n, unit) = rest.trim().split_once(' ').unwrap_or(("1", rest.trim()));
        let n: u16 = n.parse().ok().filter(|n| (1..=366).contains(n))?;
        match unit.trim() {
            "d" | "day" | "days" => Some(TopUp::Every(n)),
            "week" | "weeks" => n.checked_mul(7).map(TopUp::Every),
            _ => None,
        }
    };
    match text {
        "always" => Some(TopUp::Always),
        "rain" => Some(TopUp::Rain),
        _ => every().or_else(|| {
            s.wrong_form(path, value);
            None
        }),
    }
}

/// `[prices]`: names and plain numbers, in file order.
pub(super) fn prices(s: &mut DesignReader<'_>) -> Vec<(String, f64)> {
    if let Some(value) = s.value("prices").filter(|v| v.get_ref().as_table().is_none()) {
        s.error(
            value.span(),
            "`prices` must be a table",
            "",
            "write [prices] and below it lines like `panel = 12.5`",
        );
    }
    let mut list = Vec::new();
    for (name, _, value) in s.table("prices") {
        if let Some(price) = price(s, name, value) {
            list.push((name.to_owned(), price));
        }
    }
    list
}

/// One price: a finite number that is not negative, in the builder's currency.
pub(super) fn price<'a>(s: &mut DesignReader<'a>, name: &str, value: Value<'a>) -> Option<f64> {
    match number(value.get_ref()).filter(|p| p.is_finite() && (0.0..1e12).contains(p)) {
        Some(price) => Some(price),
        None => {
            let title = format!("the price of `{name}` must be a plain number, 0 or more");
            s.error(value.span(), title, "not a price", "write it without currency, like 12.5");
            None
        }
    }
}
