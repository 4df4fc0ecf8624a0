//! A year of hours from daily sums: for records of daily irradiation and temperature.

use super::air::shape_of_day;
use super::hours::{HourSun, scale_below, split, sun_of_year};
use crate::sky::Place;
use crate::weather::file::year::{Hour, TypicalYear, YearKind};
use std::path::PathBuf;

/// Daily range of temperature where none is known, °C (own choice).
const AIR_RANGE_C: f64 = 8.0;

/// One day of a record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DailyValues {
    /// Global horizontal irradiation, Wh/m².
    pub ghi_wh_m2: f64,
    /// Mean air temperature, °C.
    pub air_c: f64,
    /// Mean wind speed at 10 m, m/s.
    pub wind_m_s: f64,
    /// Rain, mm.
    pub rain_mm: f64,
}

/// The 8760 hours of 365 days. The hours of a day follow the mean course of Collares-Pereira & Rabl 1979 and keep its sum, up
/// to that of the cleanest clear sky; beam and diffuse light are split by Erbs, Klein & Duffie 1982.
pub fn year_of_days(
    place: Place,
    days: &[DailyValues; 365],
    kind: YearKind,
    turbidity: [f64; 12],
) -> TypicalYear {
    let sun = sun_of_year(&place);
    let hours = days
        .iter()
        .zip(sun.chunks(24))
        .flat_map(|(day, sun)| {
            let ghi = ghi_of_hours(day.ghi_wh_m2, sun);
            let hour = |h: usize| {
                let (dni, dhi) = split(ghi[h], &sun[h], place.elevation_m);
                Some(Hour {
                    ghi_w_m2: ghi[h],
                    dni_w_m2: dni,
                    dhi_w_m2: dhi,
                    air_c: day.air_c + AIR_RANGE_C * shape_of_day(sun[h].hour_angle_deg),
                    humidity: 0.7,
                    wind_m_s: day.wind_m_s,
                    sky_cover: None,
                    rain_mm: Some(day.rain_mm / 24.0),
                })
            };
            (0..24).map(hour).collect::<Vec<_>>()
        })
        .collect();
    TypicalYear {
        path: PathBuf::new(),
        sha256: String::new(),
        format: "daily",
        origin: String::new(),
        invented: false,
        kind,
        place,
        hours,
        closure: None,
        turbidity,
        warnings: Vec::new(),
    }
}

/// Mean irradiance of the hours of a day, W/m².
fn ghi_of_hours(sum_wh_m2: f64, sun: &[HourSun]) -> [f64; 24] {
    let course: f64 = sun.iter().map(|h| h.course).sum();
    let mut ghi = [0.0; 24];
    if course <= 0.0 {
        return ghi;
    }
    for (g, h) in ghi.iter_mut().zip(sun) {
        *g = sum_wh_m2 * h.course / course;
    }
    let ceiling: Vec<f64> = sun.iter().map(|h| h.ceiling_w_m2).collect();
    scale_below(&mut ghi, &ceiling, sum_wh_m2);
    ghi
}
