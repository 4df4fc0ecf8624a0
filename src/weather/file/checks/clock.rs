//! Does the file's clock agree with the sun of its place?
//!
//! Over a year the light at a place is, on average, centred on solar noon. The light-weighted circular mean of the
//! hour angle is therefore near zero. A missing minus sign of the longitude or a wrong clock moves it by the full
//! error; clouds that form mostly in the afternoon move it by some ten minutes.

use crate::sky::Place;
use crate::weather::file::year_sun::YearSun;

/// Minutes that the sun takes for a degree.
const MIN_PER_DEG: f64 = 4.0;
/// Length of the mean vector, share of the light, below which its direction says nothing.
const CONCENTRATION_MIN: f64 = 0.2;
/// Disagreement at which a file is refused, min: more than clouds cause, less than an hour.
pub(super) const REFUSED_MIN: f64 = 45.0;
/// Disagreement at which the user is warned, min.
pub(super) const WARNED_MIN: f64 = 25.0;
/// Latitude above which summer must be brighter than winter, °.
const SEASONS_FROM_DEG: f64 = 25.0;

/// By how many minutes the light comes later than the sun; `None` if there is too little to tell.
pub(super) fn light_late_min(sun: &YearSun, ghi: &[(usize, f64)], offset_min: f64) -> Option<f64> {
    let (mut across, mut along, mut total) = (0.0, 0.0, 0.0);
    for &(slot, ghi_w_m2) in ghi {
        let (sin, cos) = libm::sincos(sun.hour_angle_deg(slot, offset_min).to_radians());
        across += ghi_w_m2 * sin;
        along += ghi_w_m2 * cos;
        total += ghi_w_m2;
    }
    let length = (across * across + along * along).sqrt();
    (total > 0.0 && length > CONCENTRATION_MIN * total)
        .then(|| libm::atan2(across, along).to_degrees() * MIN_PER_DEG)
}

/// Title and help: what is wrong, and which longitude or clock would fit.
pub(super) fn disagreement(place: &Place, late_min: f64) -> (String, String) {
    let late_deg = late_min / MIN_PER_DEG;
    let longitude = wrap_deg(place.longitude_deg - late_deg);
    let clock = place.utc_offset_h + late_min / 60.0;
    let clock = if clock > 14.0 {
        clock - 24.0
    } else if clock < -12.0 {
        clock + 24.0
    } else {
        clock
    };
    let way = if late_min > 0.0 { "after" } else { "before" };
    let title = format!(
        "the clock disagrees with the sun: the light comes {} {way} the sun at longitude {}° and {:+} h from UTC",
        span(late_min.abs()),
        place.longitude_deg,
        place.utc_offset_h,
    );
    let longitude_sign = wrap_deg(longitude + place.longitude_deg).abs() < 11.0;
    let clock_sign = place.utc_offset_h != 0.0 && (clock + place.utc_offset_h).abs() < 0.75;
    let of_longitude = format!("longitude {}° would fit", -place.longitude_deg);
    let of_clock = format!("{:+} h from UTC would fit", -place.utc_offset_h);
    let help = if longitude_sign && clock_sign {
        format!(
            "check the sign of the hours from UTC ({of_clock}) and that of the longitude ({of_longitude}): west is negative in both"
        )
    } else if clock_sign {
        format!("{of_clock}: check the sign of the hours from UTC, west is negative")
    } else if longitude_sign {
        format!("{of_longitude}: check the sign of the longitude")
    } else {
        let label = if (late_min + 60.0).abs() < 16.0 {
            "; hours labelled by their start would explain this"
        } else if (late_min - 60.0).abs() < 16.0 {
            "; daylight saving time would explain this"
        } else {
            ""
        };
        format!("a longitude near {longitude:.0}° or a clock {:+.0} h from UTC would fit{label}", clock)
    };
    (title, help)
}

/// Whether winter at this latitude is brighter than summer; `None` near the equator or without data.
pub(super) fn seasons_swapped(place: &Place, ghi: &[(usize, f64)]) -> Option<bool> {
    if place.latitude_deg.abs() < SEASONS_FROM_DEG {
        return None;
    }
    let mean = |from: usize, to: usize| {
        let (mut sum, mut n) = (0.0, 0);
        for &(slot, v) in ghi.iter().filter(|(slot, _)| (from..to).contains(&(slot / 24))) {
            debug_assert!(slot / 24 < to);
            sum += v;
            n += 1;
        }
        (n >= 20 * 24).then(|| sum / f64::from(n))
    };
    // May to July against November to January: 1 May is day 120, 1 August 212, 1 November 304.
    let northern_summer = mean(120, 212)?;
    let northern_winter = mean(304, 365).or_else(|| mean(0, 31))?;
    Some((northern_summer < northern_winter) == (place.latitude_deg > 0.0))
}

fn wrap_deg(angle_deg: f64) -> f64 {
    let a = libm::fmod(angle_deg + 180.0, 360.0);
    if a < 0.0 { a + 180.0 } else { a - 180.0 }
}

fn span(minutes: f64) -> String {
    if minutes < 90.0 { format!("{minutes:.0} min") } else { format!("{:.1} h", minutes / 60.0) }
}
