//! From a day's clearness to the irradiance of its hours.
//!
//! The mean course of a day is that of Collares-Pereira & Rabl 1979, Solar Energy 22:155:
//! irradiance goes as `(a + b cos ω) cos Z`. Around it the hours vary as in Aguiar & Collares-Pereira
//! 1992 (TAG, Solar Energy 48:167; coefficients from memory): a first-order autoregressive
//! normal number with a large standard deviation at low sun and medium clearness. The day's sum is then restored.

use crate::seed::open_unit;
use crate::sky::calendar::{HOURS, REFERENCE_YEAR};
use crate::sky::sun::{self, SinCos};
use crate::sky::{Place, clear, decompose};
use crate::units::normal_quantile;
use rand::rngs::ChaCha8Rng;

/// Samples of the sun's course in an hour.
const SAMPLES: usize = 12;
/// Linke turbidity of the cleanest air over land; no hour is brighter than its clear sky.
const CLEANEST_TURBIDITY: f64 = 2.0;
/// Least clearness of an hour: of six published typical years, no hour with the sun above 20° is below 0.062.
const CLEARNESS_MIN: f64 = 0.065;
/// The same as a share of the day's.
const DAY_SHARE_MIN: f64 = 0.8;

/// The sun of one hour.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct HourSun {
    /// Extraterrestrial irradiance on the horizontal, mean of the hour, W/m².
    pub extraterrestrial_w_m2: f64,
    /// The same on a plane facing the sun, W/m².
    pub extraterrestrial_normal_w_m2: f64,
    /// Cosine of the zenith angle, mean of the hour (0 while the sun is down).
    pub up: f64,
    /// Share of the hour the sun is up.
    pub up_share: f64,
    /// Global irradiance under the cleanest clear sky, W/m².
    pub ceiling_w_m2: f64,
    /// Weight of the hour in the mean course of a day (Collares-Pereira & Rabl 1979).
    pub course: f64,
    /// Local solar hour angle at the middle of the hour, °, 0 at noon.
    pub hour_angle_deg: f64,
}

/// The sun of all hours of a year, 1 January 00:00 to 01:00 local standard time first.
pub(crate) fn sun_of_year(place: &Place) -> Vec<HourSun> {
    let latitude = SinCos::of_deg(place.latitude_deg);
    let start = sun::days_since_j2000(REFERENCE_YEAR, 1, 1, -place.utc_offset_h);
    (0..HOURS)
        .map(|hour| {
            let day = start + hour as f64 / 24.0;
            let ephemeris = sun::Ephemeris::at(day + 0.5 / 24.0);
            let (sin_d, cos_d) = (ephemeris.sin_declination, ephemeris.cos_declination);
            let extraterrestrial_normal_w_m2 = clear::extraterrestrial_w_m2(hour as u32 / 24 + 1);
            let (a, b) = course_of_day(&latitude, sin_d, cos_d);
            let mut h = HourSun {
                extraterrestrial_normal_w_m2,
                hour_angle_deg: ephemeris.hour_angle_deg(place.longitude_deg, day + 0.5 / 24.0),
                ..HourSun::default()
            };
            for k in 0..SAMPLES {
                let now = day + (k as f64 + 0.5) / (24 * SAMPLES) as f64;
                let angle = ephemeris.hour_angle_deg(place.longitude_deg, now).to_radians();
                let (_, _, up) = sun::direction(&latitude, sin_d, cos_d, angle);
                if up <= 0.0 {
                    continue;
                }
                let share = 1.0 / SAMPLES as f64;
                let air = clear::AirMass::new(up, place.elevation_m);
                let sky = clear::esra(extraterrestrial_normal_w_m2, up, &air, CLEANEST_TURBIDITY);
                h.up += share * up;
                h.up_share += share;
                h.ceiling_w_m2 += share * (sky.dni_w_m2 * up + sky.dhi_w_m2);
                h.course += share * up * (a + b * libm::cos(angle)).max(0.0);
            }
            h.extraterrestrial_w_m2 = extraterrestrial_normal_w_m2 * h.up;
            h
        })
        .collect()
}

/// Coefficients a and b of the mean course of a day (Collares-Pereira & Rabl 1979).
fn course_of_day(latitude: &SinCos, sin_d: f64, cos_d: f64) -> (f64, f64) {
    // Hour angle of sunset; polar day has 180°, polar night 0°.
    let cos_sunset = (-latitude.sin * sin_d / (latitude.cos * cos_d).max(1e-9)).clamp(-1.0, 1.0);
    let s = libm::sin(libm::acos(cos_sunset) - 60f64.to_radians());
    (0.409 + 0.5016 * s, 0.6609 - 0.4767 * s)
}

/// Noise that is correlated from one hour of sun to the next: a standard normal number.
pub(crate) struct HourlyNoise(f64);

impl HourlyNoise {
    /// A new draw.
    pub(crate) fn new(rng: &mut ChaCha8Rng) -> Self {
        HourlyNoise(normal(rng))
    }

    fn next(&mut self, k_day: f64, rng: &mut ChaCha8Rng) -> f64 {
        // Aguiar & Collares-Pereira 1992 (from memory).
        let lag1 = 0.38 + 0.06 * libm::cos(7.4 * k_day - 2.5);
        self.0 = lag1 * self.0 + (1.0 - lag1 * lag1).sqrt() * normal(rng);
        self.0
    }
}

/// Global irradiance of a day's 24 hours, W/m², summing to `k_day` of the extraterrestrial (or to
/// the clear sky's sum, if that is less).
pub(crate) fn hours_of_day(
    day: &[HourSun],
    k_day: f64,
    noise: &mut HourlyNoise,
    rng: &mut ChaCha8Rng,
) -> [f64; 24] {
    let mut ghi = [0.0; 24];
    let extraterrestrial: f64 = day.iter().map(|h| h.extraterrestrial_w_m2).sum();
    let course: f64 = day.iter().map(|h| h.course).sum();
    if extraterrestrial <= 0.0 || course <= 0.0 {
        return ghi;
    }
    let sum = k_day * extraterrestrial;
    let mut floor = [0.0; 24];
    for ((g, floor), h) in ghi.iter_mut().zip(&mut floor).zip(day).filter(|(_, h)| h.up_share > 0.0) {
        let k_mean = sum * h.course / course / h.extraterrestrial_w_m2;
        let k = k_mean + noise_sd(k_day, h.up / h.up_share) * noise.next(k_day, rng);
        let least = CLEARNESS_MIN.min(DAY_SHARE_MIN * k_day);
        *floor = least * h.extraterrestrial_w_m2;
        // Every hour keeps a little above the floor, or there might be nothing to scale.
        *g = k.max(least + 0.02 * k_mean) * h.extraterrestrial_w_m2;
    }
    let ceiling: Vec<f64> = day.iter().map(|h| h.ceiling_w_m2).collect();
    scale_between(&mut ghi, &floor, &ceiling, sum);
    ghi
}

/// A standard normal number by inverse CDF; takes one draw.
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> f64 {
    normal_quantile(open_unit(rng))
}

/// Standard deviation of an hour's clearness about the day's course (Aguiar & Collares-Pereira
/// 1992, from memory).
fn noise_sd(k_day: f64, sin_elevation: f64) -> f64 {
    let a = 0.14 * libm::exp(-20.0 * ((k_day - 0.35) * (k_day - 0.35)));
    let k2 = k_day * k_day;
    let b = 3.0 * ((k_day - 0.45) * (k_day - 0.45)) + 16.0 * (k_day * (k2 * k2));
    a * libm::exp(b * (1.0 - sin_elevation))
}

/// Multiplies `values` by one factor, each limited to its ceiling, so that they sum to `sum` (or to
/// the sum of the ceilings, if that is less). Values without a ceiling above 0 become 0.
pub(crate) fn scale_below(values: &mut [f64], ceiling: &[f64], sum: f64) {
    // Each pass holds at least one more value at its ceiling, or ends.
    let mut held = vec![false; values.len()];
    for _ in 0..=values.len() {
        let fixed: f64 = ceiling.iter().zip(&held).filter(|(_, h)| **h).map(|(c, _)| c).sum();
        let free: f64 = values.iter().zip(&held).filter(|(_, h)| !**h).map(|(v, _)| v).sum();
        let factor = if free > 0.0 { (sum - fixed).max(0.0) / free } else { 0.0 };
        let mut more = false;
        for ((v, c), h) in values.iter().zip(ceiling).zip(&mut held) {
            if !*h && v * factor > *c {
                *h = true;
                more = true;
            }
        }
        if !more {
            for ((v, c), h) in values.iter_mut().zip(ceiling).zip(&held) {
                *v = if *h { *c } else { *v * factor };
            }
            return;
        }
    }
}

/// The same with a floor for each value, at most its ceiling: what exceeds the floors is scaled. The floors must not sum to more
/// than `sum`.
pub(crate) fn scale_between(values: &mut [f64], floor: &[f64], ceiling: &[f64], sum: f64) {
    let floor: Vec<f64> = floor.iter().zip(ceiling).map(|(f, c)| f.min(*c)).collect();
    let room: Vec<f64> = floor.iter().zip(ceiling).map(|(f, c)| c - f).collect();
    values.iter_mut().zip(&floor).for_each(|(v, f)| *v = (*v - f).max(0.0));
    scale_below(values, &room, sum - floor.iter().sum::<f64>());
    values.iter_mut().zip(&floor).for_each(|(v, f)| *v += f);
}

/// Beam normal and diffuse horizontal irradiance of an hour, W/m² (Erbs, Klein & Duffie 1982),
/// such that `ghi = dhi + dni cos Z` with the
/// mean cosine of the part of the hour that has sun.
pub(crate) fn split(ghi_w_m2: f64, h: &HourSun, elevation_m: f64) -> (f64, f64) {
    if h.up_share <= 0.0 {
        return (0.0, 0.0);
    }
    // The split is made for the part of the hour with the sun up.
    let zenith_rad = libm::acos((h.up / h.up_share).min(1.0));
    let part = decompose::erbs_below_clear(
        ghi_w_m2 / h.up_share,
        zenith_rad,
        h.extraterrestrial_normal_w_m2,
        elevation_m,
    );
    let dni = part.dni_w_m2 * h.up_share;
    (dni, (ghi_w_m2 - dni * h.up / h.up_share).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scaling_reaches_the_sum_and_no_ceiling_is_passed() {
        let mut v = [1.0, 2.0, 3.0, 0.0];
        scale_below(&mut v, &[10.0, 4.0, 5.0, 0.0], 12.0);
        assert!((v.iter().sum::<f64>() - 12.0).abs() < 1e-12, "{v:?}");
        assert_eq!(v, [3.0, 4.0, 5.0, 0.0]);
        scale_below(&mut v, &[1.0, 1.0, 1.0, 0.0], 12.0);
        assert_eq!(v, [1.0, 1.0, 1.0, 0.0]);
    }

    #[test]
    fn between_floors_and_ceilings_the_sum_is_kept() {
        let mut v = [0.5, 2.0, 3.0, 0.0];
        scale_between(&mut v, &[1.0, 1.0, 1.0, 0.0], &[10.0, 4.0, 5.0, 0.0], 9.0);
        assert!((v.iter().sum::<f64>() - 9.0).abs() < 1e-12, "{v:?}");
        assert_eq!(v, [1.0, 3.0, 5.0, 0.0]);
    }

    #[test]
    fn the_mean_course_is_bell_shaped_about_solar_noon() {
        let place = Place { latitude_deg: 40.0, longitude_deg: 0.0, elevation_m: 0.0, utc_offset_h: 0.0 };
        let sun = sun_of_year(&place);
        let day = &sun[24 * 171..24 * 172];
        let top = (0..24).max_by(|&a, &b| day[a].course.total_cmp(&day[b].course)).unwrap();
        assert!((11..=12).contains(&top));
        assert!((day[11].course / day[12].course - 1.0).abs() < 0.02);
    }
}
