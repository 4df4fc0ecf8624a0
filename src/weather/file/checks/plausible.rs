//! Units, signs and columns that a whole year tells, where each value by itself could be right.
//!
//! Light is held against a clear sky, light against light, temperature against zero and the latitude, wind against the windiest
//! places, the height above the sea against the air's pressure. What no place on earth has is refused, what few have is warned of; both
//! name the likely mistake. Limits without a source are common practice.

use super::draft::DraftYear;
use crate::sky::Place;
use crate::source::Problem;
use crate::weather::file::closure::{self, ClosureHour};
use crate::weather::file::formats::rows::{Quantity, Reading};
use crate::weather::file::year::Closure;
use crate::weather::file::year_sun::YearSun;

/// Fewest hours from which a year is judged.
const HOURS_MIN: usize = 500;
/// Sine of the sun's height from which an hour is held against a clear sky.
const SIN_HIGH: f64 = 0.3;
/// Hours this far up, of all with the sun high, have had a clear sky anywhere.
const CLEAR_QUANTILE: f64 = 0.98;
/// Light of those hours over a clear sky's: below the first refused, below the second and above the third warned of.
const CLEAR_REFUSED: f64 = 0.5;
const CLEAR_WARNED: (f64, f64) = (0.8, 1.3);
/// Other units of light: their value for 1 W/m².
const LIGHT_UNITS: [(&str, f64); 4] = [
    ("kW/m²", 1e-3),
    ("MJ/m² in the hour", 3.6e-3),
    ("cal/cm² in the hour", 0.086),
    ("BTU/ft² in the hour", 0.317),
];

/// Holds the brightest hours against a clear sky (Haurwitz 1945, J. Meteorology 2:154: 1098 cos Z e^(-0.057/cos Z)); `None` if the file is
/// refused.
pub(super) fn check_light_unit(
    reading: &mut Reading,
    year: &DraftYear,
    notes: &mut Vec<String>,
) -> Option<()> {
    let mut shares: Vec<f64> = year
        .iter()
        .flatten()
        .filter(|hour| hour.sun.mid_up > SIN_HIGH)
        .filter_map(|hour| {
            let up = hour.sun.mid_up;
            Some(hour.get(Quantity::Ghi)? / (1098.0 * up * libm::exp(-0.057 / up)))
        })
        .collect();
    if shares.len() < HOURS_MIN {
        return Some(());
    }
    shares.sort_by(f64::total_cmp);
    let clear = shares[(CLEAR_QUANTILE * shares.len() as f64) as usize];
    let (dull, bright) = CLEAR_WARNED;
    let percent = 100.0 * clear;
    let title = format!("the brightest hours have {percent:.2} % of the light of a clear sky");
    if clear < CLEAR_REFUSED {
        let off = |unit: &f64| libm::log(clear / unit).abs();
        let unit = LIGHT_UNITS.iter().min_by(|a, b| off(&a.1).total_cmp(&off(&b.1)));
        let help = match unit.filter(|(_, unit)| off(unit) < 0.3) {
            Some((name, unit)) => format!(
                "GHI looks as if it were in {name}: multiply the irradiances by {:.4}",
                significant(1.0 / unit)
            ),
            None => "check the unit of GHI (W/m², mean of the hour) and the sensor".to_owned(),
        };
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    if clear < dull {
        notes.push(format!(
            "the brightest hours have only {percent:.0} % of the light of a clear sky: a shaded, dirty or wrongly scaled sensor, or another \
             unit? Real sites have 90 to 110 %"
        ));
    } else if clear > bright {
        notes.push(format!(
            "the brightest hours have {percent:.0} % of the light of a clear sky: a wrongly scaled sensor, or another unit? Real sites \
             have 90 to 110 %"
        ));
    }
    Some(())
}

/// A factor to four digits.
fn significant(factor: f64) -> f64 {
    let scale = libm::pow(10.0, 3.0 - libm::floor(libm::log10(factor)));
    libm::round(factor * scale) / scale
}

/// Closure error of a file whose three irradiances contradict one another, W/m²; what exchanged columns must come down to; and by what
/// part.
const CONTRADICTION_W_M2: f64 = 150.0;

/// Looks for two exchanged columns, or one of another scale, behind irradiances that do not add up; `None` if the file is refused.
pub(super) fn check_columns(
    reading: &mut Reading,
    sun: &YearSun,
    year: &DraftYear,
    closure: Option<Closure>,
) -> Option<()> {
    let parts: Vec<ClosureHour> = year
        .iter()
        .enumerate()
        .filter_map(|(slot, hour)| {
            let hour = hour.as_ref()?;
            Some((slot, [hour.get(Quantity::Ghi)?, hour.get(Quantity::Dni)?, hour.get(Quantity::Dhi)?]))
        })
        .collect();
    let as_it_is = closure.map(|c| c.rms_w_m2);
    let mut refuse = |title: String, help: &str| {
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        None
    };
    match as_it_is {
        Some(rms) if rms > CONTRADICTION_W_M2 => {
            let offset_min = closure.map_or(closure::MIDDLE_MIN, |c| c.offset_min);
            let (mut of_parts, mut global) = (0.0, 0.0);
            for &(slot, [ghi, dni, dhi]) in &parts {
                of_parts += dhi + dni * sun.up(slot, offset_min).max(0.0);
                global += ghi;
            }
            let title = format!(
                "GHI, DNI and DHI contradict one another: GHI differs from DHI + DNI cos Z by {rms:.0} W/m² (root mean square)"
            );
            let share = 100.0 * global / of_parts.max(1e-9);
            let help = format!(
                "over the year GHI has {share:.0} % of what the other two add up to: check columns, units and sensors, or leave DNI and DHI out"
            );
            refuse(title, &help)
        }
        _ => Some(()),
    }
}

/// Hours just above freezing without a single one just below that betray lost signs.
const UNSIGNED_HOURS: usize = 100;
/// A temperature this far from both its neighbours, which agree, is a slip, K.
const SPIKE_K: f64 = 20.0;
/// How much warmer each metre down is, K (standard atmosphere).
const LAPSE_K_M: f64 = 0.0065;

/// Holds the temperatures against zero, their neighbours and the latitude; `None` if the file is refused.
pub(super) fn check_air(
    reading: &mut Reading,
    place: &Place,
    year: &mut DraftYear,
    notes: &mut Vec<String>,
) -> Option<()> {
    drop_spikes(year, notes);
    let air: Vec<f64> = year.iter().flatten().filter_map(|hour| hour.get(Quantity::Air)).collect();
    let just_above = air.iter().filter(|t| (0.0..2.0).contains(*t)).count();
    if just_above > UNSIGNED_HOURS && air.iter().all(|t| *t >= 0.0) {
        let title = format!("{just_above} hours have 0 to 2 °C and none is below 0: the signs are lost");
        let help =
            "temperatures below zero need their minus sign; a file cut off at zero is of no use either";
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    if air.len() < 300 * 24 {
        return Some(());
    }
    let mean_c = air.iter().sum::<f64>() / air.len() as f64;
    let at_sea_c = mean_c + LAPSE_K_M * place.elevation_m;
    let (least, most) = yearly_means_c(place.latitude_deg.abs());
    if at_sea_c < least || at_sea_c > most {
        let which = if at_sea_c < least { "colder" } else { "warmer" };
        notes.push(format!(
            "the year's mean of {mean_c:.1} °C is {which} than any place at latitude {}° and {:.0} m: check unit and sign of the \
             temperature, latitude and height",
            place.latitude_deg, place.elevation_m
        ));
    }
    Some(())
}

/// Lowest and highest means of a year, brought to the sea's level, °C, by latitude without sign: deserts and coasts in warm currents above,
/// the inner continents below, with 3 K to spare (from memory of climate tables).
fn yearly_means_c(latitude_deg: f64) -> (f64, f64) {
    let line = |points: &[(f64, f64)]| -> f64 {
        let after = points.iter().position(|(at, _)| *at > latitude_deg).unwrap_or(points.len() - 1).max(1);
        let ((a, low), (b, high)) = (points[after - 1], points[after]);
        low + (high - low) * ((latitude_deg - a) / (b - a)).clamp(0.0, 1.0)
    };
    let coldest = [(0.0, 16.0), (20.0, 12.0), (45.0, -6.0), (65.0, -21.0), (80.0, -45.0), (90.0, -60.0)];
    let warmest = [(0.0, 36.0), (30.0, 34.0), (40.0, 25.0), (60.0, 13.0), (70.0, 8.0), (90.0, -5.0)];
    (line(&coldest), line(&warmest))
}

/// Takes out single hours far from both their neighbours.
fn drop_spikes(year: &mut DraftYear, notes: &mut Vec<String>) {
    let air: Vec<Option<f64>> = year.iter().map(|h| h.as_ref().and_then(|h| h.get(Quantity::Air))).collect();
    let mut spikes = super::counted::Counted::default();
    for slot in 1..air.len().saturating_sub(1) {
        let (Some(before), Some(here), Some(after)) = (air[slot - 1], air[slot], air[slot + 1]) else {
            continue;
        };
        let apart = (here - before).abs().min((here - after).abs());
        if apart > SPIKE_K
            && (before - after).abs() < 0.5 * SPIKE_K
            && let Some(hour) = year[slot].as_mut()
        {
            spikes.add_value(hour.line, here);
            hour.set(Quantity::Air, None);
        }
    }
    let what = format!("air temperature more than {SPIKE_K} K from the hours before and after; left out");
    notes.extend(spikes.sentence(&what, "°C"));
}

/// Mean winds of a year at 10 m, m/s: above the first few places, above the second none that people live at.
const WIND_WARNED_M_S: f64 = 9.0;
const WIND_REFUSED_M_S: f64 = 20.0;
const WIND_STILL_M_S: f64 = 0.4;
/// Other units of wind: their value for 1 m/s.
const WIND_UNITS: [(&str, f64); 3] = [("km/h", 3.6), ("mph", 2.236_94), ("knots", 1.943_84)];

/// Holds the mean wind against the windiest places; `None` if the file is refused.
pub(super) fn check_wind(reading: &mut Reading, year: &DraftYear, notes: &mut Vec<String>) -> Option<()> {
    let winds: Vec<f64> = year.iter().flatten().filter_map(|hour| hour.get(Quantity::Wind)).collect();
    if winds.len() < HOURS_MIN {
        return Some(());
    }
    let mean = winds.iter().sum::<f64>() / winds.len() as f64;
    let units: Vec<String> =
        WIND_UNITS.iter().map(|(name, unit)| format!("{:.1} m/s if in {name}", mean / unit)).collect();
    let would = units.join(", ");
    if mean > WIND_REFUSED_M_S {
        let title = format!("a mean wind of {mean:.1} m/s is more than any inhabited place has");
        let help = format!("wind speed is in m/s; it would be {would}");
        reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
        return None;
    }
    if mean > WIND_WARNED_M_S {
        notes.push(format!(
            "a mean wind of {mean:.1} m/s is that of bare capes and summits; elsewhere the unit is wrong: it would be {would}"
        ));
    } else if mean < WIND_STILL_M_S {
        notes.push(format!("a mean wind of {mean:.2} m/s is less than any open place has: a stuck sensor?"));
    }
    Some(())
}

/// Mean relative humidity below which a column in per cent holds shares: no desert's mean is below 15 %.
const HUMIDITY_SHARE: f64 = 0.03;

/// Refuses humidity that is a share of 1 where per cent are expected; `None` if the file is refused.
pub(super) fn check_humidity(reading: &mut Reading, year: &DraftYear) -> Option<()> {
    let all: Vec<f64> = year.iter().flatten().filter_map(|hour| hour.get(Quantity::Humidity)).collect();
    let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
    if all.len() < HOURS_MIN || mean > HUMIDITY_SHARE {
        return Some(());
    }
    let title = format!("a mean relative humidity of {:.2} % is drier than any desert", 100.0 * mean);
    let help = "the column is in per cent: values of 0 to 1 are shares, multiply them by 100";
    reading.problems.push(Problem::error(title).in_file(reading.path).help(help));
    None
}

/// The highest town, m; only summits are higher.
const HIGHEST_M: f64 = 5200.0;
/// Heights that the air's pressure tells apart, m: its mean of a year moves by 1 kPa from place to place.
const PRESSURE_TELLS_M: f64 = 300.0;
/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

/// Warns of a height above the sea that looks as if it were in feet.
pub(super) fn check_height(place: &Place, pressure_kpa: Option<f64>, notes: &mut Vec<String>) {
    let metres = place.elevation_m;
    let in_feet = metres * FOOT_M;
    // Barometric formula of the standard atmosphere (ICAO).
    let by_pressure = pressure_kpa.map(|kpa| 44_330.8 * (1.0 - libm::pow(kpa / 101.325, 0.190_263)));
    if let Some(m) = by_pressure
        && (m - metres).abs() > PRESSURE_TELLS_M
    {
        let feet = if (m - in_feet).abs() < PRESSURE_TELLS_M {
            format!("; {metres:.0} ft would be {in_feet:.0} m: is the height in feet?")
        } else {
            String::new()
        };
        notes.push(format!(
            "the height of {metres:.0} m does not fit the file's air pressure, which is that of {m:.0} m{feet}"
        ));
    } else if metres > HIGHEST_M {
        notes.push(format!(
            "no town lies as high as {metres:.0} m: is the height in feet? {metres:.0} ft are {in_feet:.0} m"
        ));
    }
}
