//! Writes a year as our plain CSV.

use super::plain_words::{COLUMNS, FIRST_LINE, KEYS, WHEN};
use super::rows::Quantity;
use crate::units::dates;
use crate::weather::file::year::{Hour, TypicalYear};
use std::fmt::Write;

/// Writes a year as plain CSV; reading it again gives the same hours to the last bit. Hours without
/// values are left out, as are the columns of sky cover and rain if no hour has any.
pub fn write(year: &TypicalYear) -> Vec<u8> {
    let place = &year.place;
    let origin = year.origin.replace(['\r', '\n'], " ");
    let mut out = String::with_capacity(year.hours.len() * 48);
    let invented = if year.invented { "yes" } else { "no" };
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{FIRST_LINE}");
    let head = [
        place.latitude_deg.to_string(),
        place.longitude_deg.to_string(),
        place.elevation_m.to_string(),
        place.utc_offset_h.to_string(),
        origin,
        invented.to_owned(),
    ];
    for (key, value) in KEYS.iter().zip(head) {
        let _ = writeln!(out, "# {key} = {value}");
    }
    let has = |f: fn(&Hour) -> Option<f64>| year.hours.iter().flatten().any(|h| f(h).is_some());
    let (has_cover, has_rain) = (has(|h| h.sky_cover), has(|h| h.rain_mm));
    let kept = |q: Quantity| match q {
        Quantity::Ghi
        | Quantity::Dni
        | Quantity::Dhi
        | Quantity::Air
        | Quantity::Humidity
        | Quantity::Wind => true,
        Quantity::SkyCover => has_cover,
        Quantity::Rain => has_rain,
    };
    let names: Vec<&str> =
        WHEN.iter().copied().chain(COLUMNS.iter().filter(|(_, q)| kept(*q)).map(|(name, _)| *name)).collect();
    let _ = writeln!(out, "{}", names.join(","));
    for (slot, hour) in year.hours.iter().enumerate() {
        let Some(h) = hour else { continue };
        let (month, day) = dates::month_and_day((slot / 24) as u16);
        let _ = write!(
            out,
            "{},{},{},{},{},{},{},{},{}",
            month,
            day,
            slot % 24 + 1,
            h.ghi_w_m2,
            h.dni_w_m2,
            h.dhi_w_m2,
            h.air_c,
            h.humidity,
            h.wind_m_s
        );
        for (shown, value) in [(has_cover, h.sky_cover), (has_rain, h.rain_mm)] {
            if shown {
                out.push(',');
                if let Some(v) = value {
                    let _ = write!(out, "{v}");
                }
            }
        }
        out.push('\n');
    }
    out.into_bytes()
}
