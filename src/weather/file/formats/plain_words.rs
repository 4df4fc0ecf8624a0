//! The words of our plain CSV, which `weather/README.md` describes to people.

use super::rows::Quantity;

/// First line of a file.
pub(crate) const FIRST_LINE: &str = "# stilldays weather 1";
/// Keys of the head, in the order in which they are written.
pub(crate) const KEYS: [&str; 6] =
    ["latitude_deg", "longitude_deg", "elevation_m", "utc_offset_h", "origin", "invented"];
/// Columns that say when an hour ends.
pub(crate) const WHEN: [&str; 3] = ["month", "day", "hour"];
/// The other columns.
pub(crate) const COLUMNS: [(&str, Quantity); 8] = [
    ("ghi_w_m2", Quantity::Ghi),
    ("dni_w_m2", Quantity::Dni),
    ("dhi_w_m2", Quantity::Dhi),
    ("air_c", Quantity::Air),
    ("humidity_share", Quantity::Humidity),
    ("wind_m_s", Quantity::Wind),
    ("sky_cover_share", Quantity::SkyCover),
    ("rain_mm", Quantity::Rain),
];
