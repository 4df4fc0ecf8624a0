//! Where the sun stands: the Astronomical Almanac's low-precision formula.
//!
//! Michalsky 1988, Solar Energy 40:227. Against the NREL algorithm (Reda & Andreas 2004) its error
//! is at most 0.012° between 1950 and 2050: what the sun moves in three seconds. Parallax (0.0024°) and
//! refraction are left out: a position is where the centre of the sun stands geometrically.

use libm::{asin, atan2, cos, fmod, sin};

/// Full turn, °.
const TURN_DEG: f64 = 360.0;

/// Quantities of one instant from which the sun's position at any place on Earth follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ephemeris {
    /// Sine of the declination.
    pub sin_declination: f64,
    /// Cosine of the declination.
    pub cos_declination: f64,
    /// Hour angle at Greenwich less 15° for each hour of universal time, °: 180 plus the equation
    /// of time, so it never wraps and may be interpolated.
    pub hour_angle_at_midnight_deg: f64,
    /// Distance from Earth, astronomical units.
    pub distance_au: f64,
}

/// Where the sun's centre stands, seen from one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sun {
    /// Unit vector to it: east.
    pub east: f64,
    /// North.
    pub north: f64,
    /// Up: cosine of the zenith angle.
    pub up: f64,
    /// Zenith angle, rad, 0..=pi.
    pub zenith_rad: f64,
    /// Azimuth from north, clockwise, rad, 0..2 pi.
    pub azimuth_rad: f64,
    /// Distance from Earth, astronomical units.
    pub distance_au: f64,
}

impl Ephemeris {
    /// At an instant, in days of universal time since 2000-01-01 12:00 (J2000).
    pub fn at(days_since_j2000_ut: f64) -> Ephemeris {
        let n = days_since_j2000_ut;
        let mean_longitude = 280.460 + 0.985_647_4 * n;
        let g = reduce_deg(357.528 + 0.985_600_3 * n).to_radians();
        let ecliptic_longitude =
            reduce_deg(mean_longitude + 1.915 * sin(g) + 0.020 * sin(2.0 * g)).to_radians();
        let obliquity = (23.439 - 4e-7 * n).to_radians();
        let sin_longitude = sin(ecliptic_longitude);
        let right_ascension = atan2(cos(obliquity) * sin_longitude, cos(ecliptic_longitude));
        let sin_declination = sin(obliquity) * sin_longitude;
        // Greenwich mean sidereal time is 6.697375 h + 0.0657098242 h n + UT.
        let sidereal_at_midnight_deg = 15.0 * (6.697_375 + 0.065_709_824_2 * n);
        Ephemeris {
            sin_declination,
            cos_declination: (1.0 - sin_declination * sin_declination).sqrt(),
            hour_angle_at_midnight_deg: reduce_deg(sidereal_at_midnight_deg - right_ascension.to_degrees()),
            distance_au: 1.00014 - 0.01671 * cos(g) - 0.00014 * cos(2.0 * g),
        }
    }

    /// Local hour angle, °, 0 at noon, positive after it, within -180..180.
    pub fn hour_angle_deg(&self, longitude_deg: f64, days_since_j2000_ut: f64) -> f64 {
        let ut_deg = TURN_DEG * fraction_of_day(days_since_j2000_ut);
        let h = reduce_deg(self.hour_angle_at_midnight_deg + ut_deg + longitude_deg);
        if h >= 180.0 { h - TURN_DEG } else { h }
    }
}

/// Unit vector (east, north, up) of a body at a declination and a local hour angle.
#[inline]
pub(crate) fn direction(
    latitude: &SinCos,
    sin_declination: f64,
    cos_declination: f64,
    hour_angle_rad: f64,
) -> (f64, f64, f64) {
    let (sin_h, cos_h) = libm::sincos(hour_angle_rad);
    let east = -cos_declination * sin_h;
    let north = sin_declination * latitude.cos - cos_declination * latitude.sin * cos_h;
    let up = sin_declination * latitude.sin + cos_declination * latitude.cos * cos_h;
    (east, north, up)
}

/// The upward component of [`direction`] alone, to the same bit.
#[inline]
pub(crate) fn upward(
    latitude: &SinCos,
    sin_declination: f64,
    cos_declination: f64,
    hour_angle_rad: f64,
) -> f64 {
    let [even, swing] = upward_over_the_day(latitude, sin_declination, cos_declination);
    even + swing * cos(hour_angle_rad)
}

/// The two numbers a, b of [`upward`] = a + b cos(hour angle).
#[inline]
pub(crate) fn upward_over_the_day(latitude: &SinCos, sin_declination: f64, cos_declination: f64) -> [f64; 2] {
    [sin_declination * latitude.sin, cos_declination * latitude.cos]
}

/// Sine and cosine of one angle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SinCos {
    /// Its sine.
    pub sin: f64,
    /// Its cosine.
    pub cos: f64,
}

impl SinCos {
    /// Of an angle in degrees.
    pub(crate) fn of_deg(angle_deg: f64) -> SinCos {
        let (sin, cos) = libm::sincos(angle_deg.to_radians());
        SinCos { sin, cos }
    }
}

/// The sun seen from a place (° north, ° east) at an instant of universal time.
pub fn position(latitude_deg: f64, longitude_deg: f64, days_since_j2000_ut: f64) -> Sun {
    let ephemeris = Ephemeris::at(days_since_j2000_ut);
    let h = ephemeris.hour_angle_deg(longitude_deg, days_since_j2000_ut).to_radians();
    let (east, north, up) =
        direction(&SinCos::of_deg(latitude_deg), ephemeris.sin_declination, ephemeris.cos_declination, h);
    let azimuth = atan2(east, north);
    Sun {
        east,
        north,
        up,
        // The arc sine of the shorter side keeps its digits near the zenith.
        zenith_rad: zenith_rad(east, north, up),
        azimuth_rad: if azimuth < 0.0 { azimuth + std::f64::consts::TAU } else { azimuth },
        distance_au: ephemeris.distance_au,
    }
}

/// Zenith angle of a unit vector, rad: an arc sine where the arc cosine loses its digits.
pub(crate) fn zenith_rad(east: f64, north: f64, up: f64) -> f64 {
    let flat = (east * east + north * north).sqrt().min(1.0);
    if up > 0.8 { asin(flat) } else { libm::acos(up.clamp(-1.0, 1.0)) }
}

/// Days of universal time since J2000 of a Gregorian date and hour, 1901..2099.
pub fn days_since_j2000(year: i32, month: u32, day: u32, hour_ut: f64) -> f64 {
    // Almanac day count (valid 1901-2099): 367 Y - 7(Y + (M+9)/12)/4 + 275 M/9 + D - 730531.5.
    let (m, d) = (month as i32, day as i32);
    let days = 367 * year - 7 * (year + (m + 9) / 12) / 4 + 275 * m / 9 + d;
    f64::from(days) - 730_531.5 + hour_ut / 24.0
}

/// An angle within 0..360.
fn reduce_deg(angle_deg: f64) -> f64 {
    let r = fmod(angle_deg, TURN_DEG);
    if r < 0.0 { r + TURN_DEG } else { r }
}

/// Share of the day of universal time gone, 0..1.
fn fraction_of_day(days_since_j2000_ut: f64) -> f64 {
    let r = fmod(days_since_j2000_ut + 0.5, 1.0);
    if r < 0.0 { r + 1.0 } else { r }
}
