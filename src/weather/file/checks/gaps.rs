//! Air, humidity, wind and rain: short gaps are bridged, missing columns assumed, always with a warning.

use super::counted::Counted;
use super::draft::{DraftHour, DraftYear};
use crate::sky::air::saturation_kpa;
use crate::source::Problem;
use crate::weather::file::formats::rows::{Quantity, Reading, Table};
use crate::weather::file::year::Hour;

/// Hours over which the last value is held.
const HELD_MAX: usize = 3;
/// Wind where there is none, m/s: mean over 2000 stations (Allen et al. 1998, FAO 56, page 63).
const WIND_M_S: f64 = 2.0;
/// Most rain ever measured in an hour, mm (WMO archive of extremes: 305 in 42 min, Holt, 1947; from memory).
const RAIN_MAX_MM: f64 = 305.0;
/// Largest plausible rain of a year, mm: the wettest places have about 12 m.
const RAIN_YEAR_MAX_MM: f64 = 13_000.0;
/// Fewest hours left, as for rows.
const HOURS_MIN: usize = 24;

/// The finished hours; `None` if too few are left.
pub(super) fn hours(
    reading: &mut Reading,
    draft: &mut DraftYear,
    table: &Table,
    notes: &mut Vec<String>,
) -> Option<Vec<Option<Hour>>> {
    for quantity in [Quantity::Air, Quantity::Humidity, Quantity::Wind] {
        hold(draft, quantity, notes);
    }
    let mut without_air = Counted::default();
    for entry in draft.iter_mut() {
        if let Some(row) = entry.take_if(|row| row.get(Quantity::Air).is_none()) {
            without_air.add(row.line);
        }
    }
    notes.extend(without_air.sentence("no air temperature; the hours count as missing", ""));
    assume_humidity(draft, table, notes);
    assume_wind(draft, table, notes);
    drop_implausible_rain(draft, notes);
    let hours: Vec<Option<Hour>> = draft.iter().map(|row| row.as_ref().and_then(hour)).collect();
    let left = hours.iter().flatten().count();
    if left < HOURS_MIN {
        let problem = Problem::error(format!("only {left} usable hours are left")).in_file(reading.path);
        reading.problems.push(notes.iter().fold(problem, |p, note| p.help(note.clone())));
        return None;
    }
    Some(hours)
}

fn hour(row: &DraftHour) -> Option<Hour> {
    Some(Hour {
        ghi_w_m2: row.get(Quantity::Ghi)?,
        dni_w_m2: row.get(Quantity::Dni)?,
        dhi_w_m2: row.get(Quantity::Dhi)?,
        air_c: row.get(Quantity::Air)?,
        humidity: row.get(Quantity::Humidity)?.min(1.0),
        wind_m_s: row.get(Quantity::Wind)?,
        sky_cover: row.get(Quantity::SkyCover),
        rain_mm: row.get(Quantity::Rain),
    })
}

/// Holds the last value over a gap of a few hours.
fn hold(draft: &mut DraftYear, quantity: Quantity, notes: &mut Vec<String>) {
    let mut held = Counted::default();
    let mut last: Option<(usize, f64)> = None;
    for (slot, row) in draft.iter_mut().enumerate() {
        let Some(row) = row else { continue };
        match (row.get(quantity), last) {
            (Some(v), _) => last = Some((slot, v)),
            (None, Some((before, v))) if slot - before <= HELD_MAX => {
                held.add(row.line);
                row.set(quantity, Some(v));
            }
            _ => {}
        }
    }
    let what = format!("no {}; the last value was held (up to {HELD_MAX} h)", quantity.name());
    notes.extend(held.sentence(&what, ""));
}

/// The dew point is taken as the lowest temperature of the day (FAO 56, equation 48).
fn assume_humidity(draft: &mut DraftYear, table: &Table, notes: &mut Vec<String>) {
    let mut assumed = Counted::default();
    for day in draft.chunks_mut(24) {
        let coldest = day.iter().flatten().filter_map(|w| w.get(Quantity::Air)).fold(f64::INFINITY, f64::min);
        for row in day.iter_mut().flatten().filter(|w| w.get(Quantity::Humidity).is_none()) {
            assumed.add(row.line);
            let air = row.get(Quantity::Air).unwrap_or(coldest);
            let humidity = saturation_kpa(coldest) / saturation_kpa(air);
            row.set(Quantity::Humidity, Some(humidity.clamp(0.01, 1.0)));
        }
    }
    let how = "the dew point was taken as the day's lowest temperature";
    if table.columns[Quantity::Humidity as usize] {
        notes.extend(assumed.sentence(&format!("no relative humidity; {how}"), ""));
    } else {
        notes.push(format!("the file has no relative humidity: {how}"));
    }
}

fn assume_wind(draft: &mut DraftYear, table: &Table, notes: &mut Vec<String>) {
    let mut assumed = Counted::default();
    for row in draft.iter_mut().flatten().filter(|w| w.get(Quantity::Wind).is_none()) {
        assumed.add(row.line);
        row.set(Quantity::Wind, Some(WIND_M_S));
    }
    if table.columns[Quantity::Wind as usize] {
        notes.extend(assumed.sentence(&format!("no wind speed; {WIND_M_S} m/s was assumed"), ""));
    } else {
        notes.push(format!("the file has no wind speed: {WIND_M_S} m/s was assumed"));
    }
}

/// Rain is the least checked column of published files: some hold tenths of a millimetre or sums of
/// many hours. The column is used as it is or ignored.
fn drop_implausible_rain(draft: &mut DraftYear, notes: &mut Vec<String>) {
    let rain = draft.iter().flatten().filter_map(|w| Some((w.get(Quantity::Rain)?, w.line)));
    let (mut year, mut worst, mut given) = (0.0, (0.0, 0), 0);
    for (mm, line) in rain {
        year += mm;
        given += 1;
        worst = if mm > worst.0 { (mm, line) } else { worst };
    }
    if worst.0 <= RAIN_MAX_MM && year <= RAIN_YEAR_MAX_MM {
        let all = draft.iter().flatten().count();
        if given > 0 && 10 * given < 9 * all {
            notes.push(format!("rain is given for {given} of {all} hours; the others count as dry"));
        }
        return;
    }
    for row in draft.iter_mut().flatten() {
        row.set(Quantity::Rain, None);
    }
    notes.push(format!(
        "line {}: {} mm of rain in an hour ({year:.0} mm in the year) is not plausible; the rain of this file is ignored",
        worst.1, worst.0
    ));
}
