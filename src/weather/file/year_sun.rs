//! Where the sun stands in each hour of a file.

use crate::sky::Place;
use crate::sky::calendar::{HOURS, REFERENCE_YEAR};
use crate::sky::clear::extraterrestrial_w_m2;
use crate::sky::sun::{Ephemeris, SinCos, days_since_j2000, upward};
use crate::units::dates;

/// The sun of the 8760 hours of a year at a place. The months of a typical year come from different years; the sun of a
/// date differs between years by 0.4° at most.
pub struct YearSun {
    latitude: SinCos,
    /// Of the middle of each hour: sine and cosine of the declination, and the local hour angle, °.
    hours: Vec<(f64, f64, f64)>,
}

/// The sun over the hour around an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SunOfHour {
    /// Cosine of the zenith angle at the middle of the part of the hour with the sun up (of the hour
    /// itself if it never is).
    pub mid_up: f64,
    /// Its largest value in the hour.
    pub highest: f64,
}

/// Degrees that the sun moves in a minute.
const DEG_PER_MIN: f64 = 0.25;

impl YearSun {
    /// Of a place and its clock, in the year of the calendar.
    pub fn new(place: &Place) -> YearSun {
        YearSun::of_years(place, |_| REFERENCE_YEAR)
    }

    /// Of a place and its clock, with the year that each hour was taken from.
    pub fn of_years(place: &Place, year: impl Fn(usize) -> i32) -> YearSun {
        let hours = (0..HOURS)
            .map(|slot| {
                let (month, day) = dates::month_and_day((slot / 24) as u16);
                let hour_ut = (slot % 24) as f64 + 0.5 - place.utc_offset_h;
                let days = days_since_j2000(year(slot), month as u32, day as u32, hour_ut);
                let e = Ephemeris::at(days);
                (e.sin_declination, e.cos_declination, e.hour_angle_deg(place.longitude_deg, days))
            })
            .collect();
        YearSun { latitude: SinCos::of_deg(place.latitude_deg), hours }
    }

    /// Local hour angle, °, `minutes` after the end of an hour.
    pub(crate) fn hour_angle_deg(&self, slot: usize, minutes: f64) -> f64 {
        // Within two hours the declination and the equation of time stand still: 0.03° and 1 s at most.
        self.hours[slot].2 + DEG_PER_MIN * (minutes + 30.0)
    }

    /// Cosine of the zenith angle `minutes` after the end of an hour.
    pub fn up(&self, slot: usize, minutes: f64) -> f64 {
        let (sin_d, cos_d, _) = self.hours[slot];
        upward(&self.latitude, sin_d, cos_d, self.hour_angle_deg(slot, minutes).to_radians())
    }

    /// The hour around the instant `offset_min` after the end of an hour (-30: the hour itself).
    pub(crate) fn of_hour(&self, slot: usize, offset_min: f64) -> SunOfHour {
        let (start, end) = (offset_min - 30.0, offset_min + 30.0);
        let (up_start, mid, up_end) = (self.up(slot, start), self.up(slot, offset_min), self.up(slot, end));
        let highest = up_start.max(mid).max(up_end);
        if up_start.min(up_end) >= 0.0 || highest <= 0.0 {
            return SunOfHour { mid_up: mid, highest };
        }
        // The sun rises or sets: look minute by minute.
        let ups: Vec<f64> =
            (0..=60).map(|k| start + f64::from(k)).filter(|&minute| self.up(slot, minute) > 0.0).collect();
        let middle = match (ups.first(), ups.last()) {
            (Some(a), Some(b)) => 0.5 * (a + b),
            _ => offset_min,
        };
        SunOfHour { mid_up: self.up(slot, middle), highest }
    }
}

/// Extraterrestrial irradiance in an hour of the year, at right angles to the sun, W/m².
pub(crate) fn i0_w_m2(slot: usize) -> f64 {
    extraterrestrial_w_m2((slot / 24) as u32 + 1)
}
