//! When the sun crosses an elevation: sunrise, sunset, dusk.

use super::sun::{self, Ephemeris, SinCos};
use crate::units::bisection::bisect;

/// Centre of the sun at rise and set, °: 34' of refraction and 16' of its half-width.
pub const RISE_DEG: f64 = -0.8333;
/// Centre of the sun at civil dusk, °.
pub const CIVIL_DUSK_DEG: f64 = -6.0;

/// On which half of the day the sun passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Between solar midnight and noon.
    Up,
    /// Between noon and the next midnight.
    Down,
}

/// Solar noon (hour angle 0) nearest to an instant, days of universal time since J2000.
pub fn noon(longitude_deg: f64, near_days_ut: f64) -> f64 {
    let mut t = near_days_ut;
    // The hour angle makes one turn a day, apart from the equation of time (at most 30 s a day).
    for _ in 0..3 {
        t -= Ephemeris::at(t).hour_angle_deg(longitude_deg, t) / 360.0;
    }
    t
}

/// The instant at which the sun's centre passes `elevation_deg` in the half day before ([`Way::Up`])
/// or after ([`Way::Down`]) a solar noon, days of universal time since J2000; `None` if it stays
/// above or below all that time (polar day, polar night, white night).
///
/// Between solar midnight and noon the height of the sun only rises (its declination moves by 0.2°
/// meanwhile, which matters within a few km of the poles alone), so one bisection finds the crossing. It starts from the noon
/// of the *local* day: the evening of a day of universal time may belong to the local day before.
pub fn crossing(
    latitude_deg: f64,
    longitude_deg: f64,
    noon_days_ut: f64,
    elevation_deg: f64,
    way: Way,
) -> Option<f64> {
    let sin_elevation = libm::sin(elevation_deg.to_radians());
    let latitude = SinCos::of_deg(latitude_deg);
    let over = |t: f64| {
        let e = Ephemeris::at(t);
        let hour_angle = e.hour_angle_deg(longitude_deg, t).to_radians();
        sun::upward(&latitude, e.sin_declination, e.cos_declination, hour_angle) - sin_elevation
    };
    let midnight = match way {
        Way::Up => noon_days_ut - 0.5,
        Way::Down => noon_days_ut + 0.5,
    };
    let (at_midnight, at_noon) = (over(midnight), over(noon_days_ut));
    if at_noon <= 0.0 || at_midnight > 0.0 {
        return None;
    }
    // 2^-28 of half a day: 0.2 ms. Near the poles the height of the sun does not only rise.
    let slack = if latitude_deg.abs() < 89.0 { 1e-8 } else { f64::INFINITY };
    Some(bisect((midnight, noon_days_ut), (at_midnight, at_noon), (28, slack), over))
}
