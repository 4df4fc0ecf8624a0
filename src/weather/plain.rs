//! Our plain CSV: its words, and how it is written. `weather/README.md` describes it to people,
//! `read::plain` reads it.

use super::read::rows::Quantity;
use super::year::TypicalYear;
use crate::units::dates;
use std::fmt::Write;

/// First line of a file.
pub const FIRST_LINE: &str = "# stilldays weather 1";
/// Keys of the head, in the order in which they are written.
pub const KEYS: [&str; 6] =
    ["latitude_deg", "longitude_deg", "elevation_m", "utc_offset_h", "origin", "invented"];
/// Columns that say when an hour ends.
pub const WHEN: [&str; 3] = ["month", "day", "hour"];
/// The other columns.
pub const COLUMNS: [(&str, Quantity); 8] = [
    ("ghi_w_m2", Quantity::Ghi),
    ("dni_w_m2", Quantity::Dni),
    ("dhi_w_m2", Quantity::Dhi),
    ("air_c", Quantity::Air),
    ("humidity_share", Quantity::Humidity),
    ("wind_m_s", Quantity::Wind),
    ("sky_cover_share", Quantity::SkyCover),
    ("rain_mm", Quantity::Rain),
];

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
    let has = |f: fn(&super::Hour) -> Option<f64>| year.hours.iter().flatten().any(|h| f(h).is_some());
    let (has_cover, has_rain) = (has(|h| h.sky_cover), has(|h| h.rain_mm));
    let kept = |q: Quantity| match q {
        Quantity::SkyCover => has_cover,
        Quantity::Rain => has_rain,
        _ => true,
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
