//! The sun and the clear sky of every minute of a 365-day year at one place.
//!
//! Made once per site and shared by all trials and designs.

use super::clear::{self, AirMass};
use super::horizon::{self, CIVIL_DUSK_DEG, RISE_DEG, Way};
use super::sun::{self, Ephemeris, SinCos};
use crate::units::dates::{self, MONTH_STARTS};
use rayon::prelude::*;

/// Days of the year; 29 February is left out.
pub(crate) const DAYS: usize = 365;
/// Hours of the year.
pub(crate) const HOURS: usize = 24 * DAYS;
/// Minutes of a day.
pub(crate) const MINUTES: usize = 1440;

/// The year whose sun is used for every year: halfway between two leap years, so that no year's sun differs by more than half a
/// day (0.2° of declination at most).
pub(crate) const REFERENCE_YEAR: i32 = 2025;

/// A place on Earth and its clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Latitude, ° north, -90..=90.
    pub latitude_deg: f64,
    /// Longitude, ° east, -180..=180.
    pub longitude_deg: f64,
    /// Height above the sea, m, -500..=9000.
    pub elevation_m: f64,
    /// Local standard time minus UTC, h, -12..=14.
    pub utc_offset_h: f64,
}

/// The sun and the clear sky of a year at one place.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// The place.
    pub place: Place,
    /// Monthly Linke turbidity (air mass 2) of the clear sky, fitted from the weather file. Between
    /// the middles of two months it is interpolated.
    pub turbidity: [f64; 12],
    /// Local standard hour at which days begin: the whole hour nearest to 02:00 mean solar time,
    /// so that wanted hours may run past midnight in high summer. From -10 to 13: a clock far from the sun's, as west of the
    /// date line, must not give a day the date of its neighbour.
    /// Hour slot h (0..24) of day d is hour `24 d + h + day_start_h` of the year (0-based, mod 8760).
    pub day_start_h: i32,
    /// 365 days, 0 = 1 January; 29 February is left out.
    pub days: Vec<CalendarDay>,
}

/// One day; minutes are counted from the start of the day (see [`Calendar::day_start_h`]).
#[derive(Clone, Debug)]
pub struct CalendarDay {
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Month, 0..12.
    pub month: u8,
    /// Centre of the sun at -0.8333° on the way up to this day's noon, min (flat horizon); `None` in
    /// polar day or night. Negative near the polar circle in midsummer, when the sun rises before
    /// the day starts.
    pub sunrise_min: Option<f64>,
    /// The same on the way down, min.
    pub sunset_min: Option<f64>,
    /// Centre of the sun at -6° on the way down, min.
    pub civil_dusk_min: Option<f64>,
    /// First minute whose middle has the sun's centre above the horizon (0..=1440; 1440 if none).
    pub first: usize,
    /// Its minutes with the sun up, in order: `minutes[k]` is minute `first + k`. Contiguous: where
    /// a short midsummer night falls inside the day (63° to 67° of latitude), its few minutes are
    /// among them, with a sun on the horizon and no clear-sky light.
    pub minutes: Vec<SunMinute>,
}

/// The middle of one minute with the sun up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunMinute {
    /// Sun direction, east component.
    pub east: f64,
    /// Sun direction, north component.
    pub north: f64,
    /// Sun direction, upward component: cosine of the zenith angle, > 0.
    pub up: f64,
    /// Zenith angle, rad.
    pub zenith_rad: f64,
    /// Clear-sky beam normal irradiance, W/m².
    pub dni_clear_w_m2: f64,
    /// Clear-sky diffuse horizontal irradiance, W/m².
    pub dhi_clear_w_m2: f64,
    /// Relative air mass over extraterrestrial normal irradiance, m²/W (Perez' Δ = DHI times this).
    pub air_mass_per_i0: f64,
}

impl Calendar {
    /// Computes the year at a place, for a clear sky of the given monthly Linke turbidity.
    pub fn new(place: Place, turbidity: [f64; 12]) -> Calendar {
        let day_start_h = day_start_h(&place);
        // Days are independent of each other and kept in order: the same bytes on any number of threads.
        let days =
            (0..DAYS).into_par_iter().map(|day| compute_day(&place, &turbidity, day_start_h, day)).collect();
        Calendar { place, turbidity, day_start_h, days }
    }

    /// Hour of the year (0..8760) of an hour slot (0..24) of a day.
    pub fn hour_index(&self, day: usize, slot: usize) -> usize {
        let hour = 24 * day as i64 + slot as i64 + i64::from(self.day_start_h);
        hour.rem_euclid(HOURS as i64) as usize
    }
}

impl CalendarDay {
    /// The minutes of an hour slot with the sun up, as places in `minutes`; empty at night.
    pub fn minutes_of_slot(&self, slot: usize) -> std::ops::Range<usize> {
        let place = |minute: usize| minute.saturating_sub(self.first).min(self.minutes.len());
        place(60 * slot)..place(60 * (slot + 1))
    }

    /// Extraterrestrial irradiance at right angles to the sun on this day, W/m².
    pub(crate) fn i0_w_m2(&self) -> f64 {
        clear::extraterrestrial_w_m2(u32::from(self.day_of_year) + 1)
    }

    /// Irradiation the day would have on the horizontal without an atmosphere, Wh/m²: the
    /// denominator of the daily clearness index.
    pub fn extraterrestrial_wh_m2(&self) -> f64 {
        self.i0_w_m2() * self.minutes.iter().map(|m| m.up).sum::<f64>() / 60.0
    }

    /// Global horizontal irradiation of the clear sky, Wh/m².
    pub fn clear_wh_m2(&self) -> f64 {
        self.minutes.iter().map(|m| m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2).sum::<f64>() / 60.0
    }
}

/// Month (0..12) of a day of the year (0..365).
pub fn month_of(day: usize) -> usize {
    dates::month_of(day as u16)
}

/// Linke turbidity on a day: interpolated between the middles of months, so that the clear sky does not jump between two months.
pub(crate) fn turbidity_on(monthly: &[f64; 12], day: usize) -> f64 {
    let middle = |month: i32| {
        let m = month.rem_euclid(12) as usize;
        let year = f64::from(month.div_euclid(12)) * DAYS as f64;
        year + 0.5 * (f64::from(MONTH_STARTS[m]) + f64::from(MONTH_STARTS[m + 1]))
    };
    let at = day as f64 + 0.5;
    let this = month_of(day) as i32;
    let before = if at < middle(this) { this - 1 } else { this };
    let share = (at - middle(before)) / (middle(before + 1) - middle(before));
    let value = |month: i32| monthly[month.rem_euclid(12) as usize];
    value(before) + share * (value(before + 1) - value(before))
}

/// See [`Calendar::day_start_h`].
fn day_start_h(place: &Place) -> i32 {
    let hour = (2.0 - place.longitude_deg / 15.0 + place.utc_offset_h).round() as i32;
    (hour + 10).rem_euclid(24) - 10
}

/// One day of the calendar.
fn compute_day(place: &Place, turbidity: &[f64; 12], day_start_h: i32, day: usize) -> CalendarDay {
    let start_ut = sun::days_since_j2000(REFERENCE_YEAR, 1, 1, 0.0)
        + day as f64
        + (f64::from(day_start_h) - place.utc_offset_h) / 24.0;
    // The day starts near 02:00 solar time, so noon is some ten hours on.
    let noon = horizon::noon(place.longitude_deg, start_ut + 10.0 / 24.0);
    let passes = |elevation_deg, way| {
        horizon::crossing(place.latitude_deg, place.longitude_deg, noon, elevation_deg, way)
            .map(|t| (t - start_ut) * MINUTES as f64)
    };
    let (first, minutes) = sun_minutes(place, turbidity_on(turbidity, day), start_ut, day);
    CalendarDay {
        day_of_year: day as u16,
        month: month_of(day) as u8,
        sunrise_min: passes(RISE_DEG, Way::Up),
        sunset_min: passes(RISE_DEG, Way::Down),
        civil_dusk_min: passes(CIVIL_DUSK_DEG, Way::Down),
        first,
        minutes,
    }
}

/// Height of the sun (as `up`) so low that it stays below the horizon for half an hour: it changes by 0.131 in that time at most.
const LOW: f64 = -0.14;

/// The minutes of a day from the first to the last with the sun up, and the first one's number.
///
/// Declination and equation of time are computed on the hour and interpolated in between: the error is below 1e-5°, and most of
/// the work is saved.
fn sun_minutes(place: &Place, turbidity: f64, start_ut: f64, day: usize) -> (usize, Vec<SunMinute>) {
    let latitude = SinCos::of_deg(place.latitude_deg);
    let pressure = clear::relative_pressure(place.elevation_m);
    let i0 = clear::extraterrestrial_w_m2(day as u32 + 1);
    let mut first = MINUTES;
    // Minutes up to the last one with the sun up.
    let mut kept = 0;
    let on_the_hour = |slot: usize| start_ut + slot as f64 / 24.0;
    let hours: [Ephemeris; 25] = std::array::from_fn(|slot| Ephemeris::at(on_the_hour(slot)));
    let hour_angles: [f64; 25] =
        std::array::from_fn(|slot| hours[slot].hour_angle_deg(place.longitude_deg, on_the_hour(slot)));
    let low: [bool; 25] = std::array::from_fn(|slot| {
        let Ephemeris { sin_declination, cos_declination, .. } = hours[slot];
        sun::upward(&latitude, sin_declination, cos_declination, hour_angles[slot].to_radians()) < LOW
    });
    // Hours of the night before the first and after the last with the sun up need no minutes.
    let mut lit = (0..24).filter(|&slot| !(low[slot] && low[slot + 1]));
    let Some(dawn) = lit.next() else { return (MINUTES, Vec::new()) };
    let dusk = lit.next_back().unwrap_or(dawn);
    let mut minutes = Vec::with_capacity(60 * (dusk + 1 - dawn));
    for slot in dawn..=dusk {
        let (now, next, hour_angle_now) = (hours[slot], hours[slot + 1], hour_angles[slot]);
        let drift = next.hour_angle_at_midnight_deg - now.hour_angle_at_midnight_deg;
        for minute in 0..60 {
            let share = (f64::from(minute) + 0.5) / 60.0;
            let sin_declination = now.sin_declination + share * (next.sin_declination - now.sin_declination);
            let cos_declination = now.cos_declination + share * (next.cos_declination - now.cos_declination);
            let hour_angle = (hour_angle_now + share * (15.0 + drift)).to_radians();
            let (east, north, up) = sun::direction(&latitude, sin_declination, cos_declination, hour_angle);
            if up > 0.0 && first == MINUTES {
                first = 60 * slot + minute as usize;
            }
            if first == MINUTES {
                continue;
            }
            minutes.push(if up > 0.0 {
                lit_minute([east, north, up], i0, pressure, turbidity)
            } else {
                dark_minute(east, north)
            });
            if up > 0.0 {
                kept = minutes.len();
            }
        }
    }
    minutes.truncate(kept);
    (first, minutes)
}

fn lit_minute([east, north, up]: [f64; 3], i0: f64, pressure: f64, turbidity: f64) -> SunMinute {
    let air = AirMass::with_pressure(up, pressure);
    let sky = clear::esra(i0, up, &air, turbidity);
    SunMinute {
        east,
        north,
        up,
        zenith_rad: sun::zenith_rad(east, north, up),
        dni_clear_w_m2: sky.dni_w_m2,
        dhi_clear_w_m2: sky.dhi_w_m2,
        air_mass_per_i0: air.relative / i0,
    }
}

/// A minute of a short midsummer night inside the day: the sun is set on the horizon (so that no
/// formula meets a negative height) and gives nothing.
fn dark_minute(east: f64, north: f64) -> SunMinute {
    const UP: f64 = 1e-6;
    let flat = (east * east + north * north).sqrt();
    SunMinute {
        east: east / flat,
        north: north / flat,
        up: UP,
        zenith_rad: std::f64::consts::FRAC_PI_2 - UP,
        dni_clear_w_m2: 0.0,
        dhi_clear_w_m2: 0.0,
        // No light, so its value has no weight; it must only be finite.
        air_mass_per_i0: 0.0,
    }
}

#[cfg(test)]
mod tests;
