//! From rows to a checked year: hour by hour against the sun and against each other.
//!
//! ```text
//! counted   rows with the same problem, as one sentence
//! draft     the hours on their way
//! order     rows onto the hours of a year: order, duplicates, leap days
//! clock     whether the light agrees with the sun of the place
//! light     impossible irradiance; beam and diffuse where the file lacks them
//! plausible units, signs, exchanged columns: what the whole year tells
//! gaps      air, humidity, wind, rain: bridged or assumed, always with a warning
//! ```
//!
//! A few wrong rows are corrected or left out, with a warning that names them. What is wrong with the whole file (clock,
//! place, many impossible rows) refuses it.

mod clock;
mod counted;
mod draft;
mod gaps;
mod light;
mod order;
mod plausible;

use super::closure::MIDDLE_MIN;
use super::formats::rows::{Reading, Table};
use super::formats::tmy3;
use super::turbidity::{self, FittedTo};
use super::year::{TypicalYear, YearKind};
use super::year_sun::YearSun;
use crate::sky::calendar::REFERENCE_YEAR;
use draft::{DraftHour, DraftYear};
use std::path::Path;

/// The year of a table, or `None` with the reasons in `reading`.
pub(crate) fn checked_year(reading: &mut Reading, path: &Path, mut table: Table) -> Option<TypicalYear> {
    let rows = order::place_rows(reading, &mut table)?;
    let sun =
        YearSun::of_years(&table.place, |slot| rows[slot].and_then(|row| row.year).unwrap_or(REFERENCE_YEAR));
    let mut year: DraftYear = rows
        .iter()
        .enumerate()
        .map(|(slot, row)| {
            row.map(|row| DraftHour {
                line: row.line,
                sun: sun.of_hour(slot, MIDDLE_MIN),
                values: row.values,
            })
        })
        .collect();
    let mut notes = std::mem::take(&mut table.notes);
    light::zero_negative(&mut year, &mut notes);
    light::drop_without_ghi(&mut year, &mut notes);
    plausible::check_height(&table.place, table.pressure_kpa, &mut notes);
    let closure = light::test_closure(reading, &sun, &year, &mut notes)?;
    let offset_min = light::trusted_offset_min(closure);
    light::check_clock(reading, &table.place, &sun, &year, offset_min, &mut notes)?;
    plausible::check_columns(reading, &sun, &year, closure)?;
    if offset_min != MIDDLE_MIN {
        for (slot, hour) in year.iter_mut().enumerate() {
            if let Some(hour) = hour {
                hour.sun = sun.of_hour(slot, offset_min);
            }
        }
    }
    plausible::check_light_unit(reading, &year, &mut notes)?;
    plausible::check_air(reading, &table.place, &mut year, &mut notes)?;
    plausible::check_wind(reading, &year, &mut notes)?;
    plausible::check_humidity(reading, &year)?;
    light::darken_nights(reading, &mut year, &mut notes);
    light::drop_impossible(reading, &mut year, &mut notes);
    light::drop_dead_sensors(&mut year, &mut notes);
    let measured_beam = light::split_global(&mut year, &table, &mut notes);
    let hours = gaps::hours(reading, &mut year, &table, &mut notes)?;
    // The layout of TMY3 files serves measured years, too.
    let head = if table.format == tmy3::FORMAT { "" } else { &table.origin };
    let kind = kind(&rows, head);
    let fitted_to = if measured_beam { FittedTo::Dni } else { FittedTo::Ghi };
    let fitted = turbidity::by_month(&hours, &sun, table.place.elevation_m, offset_min, fitted_to);
    Some(TypicalYear {
        path: path.to_owned(),
        sha256: String::new(),
        format: table.format,
        origin: table.origin,
        invented: table.invented,
        kind,
        place: table.place,
        hours,
        closure,
        turbidity: turbidity::fill(fitted),
        warnings: notes,
    })
}

/// One year as it was if all rows say the same year and the head does not say that it is a typical one; a file that says no year counts as
/// typical.
fn kind(rows: &order::RowOfHour, origin: &str) -> YearKind {
    let mut years = rows.iter().flatten().map(|row| row.year);
    match years.next().flatten() {
        Some(first) if !says_typical(origin) && years.all(|year| year == Some(first)) => YearKind::Real,
        _ => YearKind::Typical,
    }
}

/// Whether a head says that its year is a typical one: the words of the standards (typical meteorological year, test reference year).
fn says_typical(origin: &str) -> bool {
    let mut words = origin.split(|c: char| !c.is_ascii_alphanumeric());
    words.any(|word| word == "TRY" || word.starts_with("TMY") || word.eq_ignore_ascii_case("typical"))
        || origin.to_lowercase().contains("reference year")
}

#[cfg(test)]
mod tests {
    use super::says_typical;

    #[test]
    fn heads_say_typical_in_the_words_of_the_standards() {
        for head in ["Northfield (TMYx)", "a typical year", "TRY 2010, region 4", "test reference year"] {
            assert!(says_typical(head), "{head}");
        }
        for head in ["", "station 12, measured 2017", "try the other sensor first", "untypical spring"] {
            assert!(!says_typical(head), "{head}");
        }
    }
}
