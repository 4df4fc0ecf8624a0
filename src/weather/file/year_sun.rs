//! Where the sun stands in each hour of a file.

use crate::sky::Place;
use crate::sky::calendar::{HOURS, REFERENCE_YEAR};
use crate::sky::clear::extraterrestrial_w_m2;
use crate::sky::sun::{Ephemeris, SinCos, days_since_j2000, upward, upward_over_the_day};
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
pub(super) const DEG_PER_MIN: f64 = 0.25;

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

    /// The numbers a, b for which the cosine of the zenith angle in an hour is a + b cos(hour angle).
    pub(super) fn over_the_day(&self, slot: usize) -> [f64; 2] {
        let (sin_d, cos_d, _) = self.hours[slot];
        upward_over_the_day(&self.latitude, sin_d, cos_d)
    }

    /// The hour around the instant `offset_min` after the end of an hour (-30: the hour itself).
    pub(crate) fn of_hour(&self, slot: usize, offset_min: f64) -> SunOfHour {
        let (start, end) = (offset_min - 30.0, offset_min + 30.0);
        let (up_start, mid, up_end) = (self.up(slot, start), self.up(slot, offset_min), self.up(slot, end));
        let highest = up_start.max(mid).max(up_end);
        if up_start.min(up_end) >= 0.0 || highest <= 0.0 {
            return SunOfHour { mid_up: mid, highest };
        }
        // The sun rises or sets: its first and last minute above the horizon.
        let is_up = |k: u32| self.up(slot, start + f64::from(k)) > 0.0;
        let ends = match (up_start > 0.0, up_end > 0.0) {
            (false, true) => Some((first_minute(is_up), 60)),
            (true, false) => Some((0, first_minute(|k| !is_up(k)) - 1)),
            // Up and down again in the hour, or the other way round: look minute by minute.
            _ => (0..=60).find(|&k| is_up(k)).zip((0..=60).rfind(|&k| is_up(k))),
        };
        let middle = match ends {
            Some((a, b)) => start + 0.5 * f64::from(a + b),
            None => offset_min,
        };
        SunOfHour { mid_up: self.up(slot, middle), highest }
    }
}

/// The first minute (1..=60) of an hour from which on something holds that does not hold at its beginning and does at its end.
fn first_minute(holds: impl Fn(u32) -> bool) -> u32 {
    let (mut not_yet, mut already) = (0, 60);
    while already - not_yet > 1 {
        let middle = (not_yet + already) / 2;
        if holds(middle) { already = middle } else { not_yet = middle }
    }
    already
}

/// Extraterrestrial irradiance in an hour of the year, at right angles to the sun, W/m².
pub(crate) fn i0_w_m2(slot: usize) -> f64 {
    extraterrestrial_w_m2((slot / 24) as u32 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Halving finds the same minutes as looking at each of them.
    #[test]
    fn sunrise_and_sunset_are_found_as_minute_by_minute() {
        for latitude_deg in [-89.0, -67.0, -66.4, -30.0, 0.0, 23.0, 51.0, 66.5, 67.3, 80.0] {
            let place = Place { latitude_deg, longitude_deg: 20.0, elevation_m: 0.0, utc_offset_h: 1.0 };
            let sun = YearSun::new(&place);
            let mut rises_or_sets = 0;
            for slot in 0..HOURS {
                for offset_min in [-30.0, 12.0, -47.0] {
                    let start = offset_min - 30.0;
                    let at = |k: i32| sun.up(slot, start + f64::from(k));
                    let ups: Vec<i32> = (0..=60).filter(|&k| at(k) > 0.0).collect();
                    let found = sun.of_hour(slot, offset_min);
                    let (Some(a), Some(b)) = (ups.first(), ups.last()) else { continue };
                    // Up between its three instants alone: the hour counts as night.
                    if found.highest <= 0.0 {
                        continue;
                    }
                    rises_or_sets += usize::from(ups.len() < 61);
                    assert_eq!(
                        found.mid_up,
                        sun.up(slot, start + 0.5 * f64::from(a + b)),
                        "{slot} {offset_min}"
                    );
                }
            }
            assert!(rises_or_sets > 20, "{latitude_deg}: {rises_or_sets}");
        }
    }
}
