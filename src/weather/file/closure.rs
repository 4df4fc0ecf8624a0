//! Which instant the values of an hour stand for: the one at which GHI = DHI + DNI cos Z holds best.
//!
//! Most files hold hourly means, which fit the middle of the hour. Some are derived from satellite images and fit an
//! instant that may even lie outside the hour (12 min after its end, for example).

use super::year::Closure;
use super::year_sun::{DEG_PER_MIN, YearSun};
use crate::sky::sun::SinCos;

/// Least DNI of an hour that is used, W/m².
const DNI_MIN_W_M2: f64 = 200.0;
/// Least GHI, W/m²: with a low sun, the mean over an hour is not the value at its middle.
const GHI_MIN_W_M2: f64 = 50.0;
/// Fewest hours for a result.
const HOURS_MIN: usize = 50;
/// Offsets tried, min from the hour's end.
const OFFSETS_MIN: std::ops::RangeInclusive<i32> = -60..=60;
/// The middle of the hour.
pub(crate) const MIDDLE_MIN: f64 = -30.0;

/// GHI, DNI and DHI of an hour of the year, W/m², for files that have all three.
pub type ClosureHour = (usize, [f64; 3]);

/// Tries offsets minute by minute; `None` if fewer than 50 hours are bright enough.
pub fn test(sun: &YearSun, parts: &[ClosureHour]) -> Option<Closure> {
    let bright: Vec<&ClosureHour> =
        parts.iter().filter(|(_, [ghi, dni, _])| *dni > DNI_MIN_W_M2 && *ghi > GHI_MIN_W_M2).collect();
    if bright.len() < HOURS_MIN {
        return None;
    }
    let rms = |offset_min: f64| {
        let squares: f64 = bright
            .iter()
            .map(|&&(slot, [ghi, dni, dhi])| {
                let error = ghi - dhi - dni * sun.up(slot, offset_min);
                error * error
            })
            .sum();
        (squares / bright.len() as f64).sqrt()
    };
    let squares = Squares::of(sun, &bright);
    let offset_min = OFFSETS_MIN.map(f64::from).min_by(|a, b| squares.at(*a).total_cmp(&squares.at(*b)))?;
    Some(Closure { offset_min, rms_w_m2: rms(offset_min), rms_at_middle_w_m2: rms(MIDDLE_MIN) })
}

/// The sum of squared errors for any offset, less what no offset changes.
///
/// With the hour angle h at the middle of the hour and the angle d that the sun moves from there, the error of an hour is
/// e - k cos(h + d): e = GHI - DHI - DNI sin(latitude) sin(declination), k = DNI cos(latitude) cos(declination). The square of that, written out, has
/// terms in the sine and cosine of d and 2d alone.
#[derive(Default)]
struct Squares {
    cos: f64,
    sin: f64,
    cos_twice: f64,
    sin_twice: f64,
}

impl Squares {
    fn of(sun: &YearSun, hours: &[&ClosureHour]) -> Squares {
        let mut sum = Squares::default();
        for &&(slot, [ghi, dni, dhi]) in hours {
            let [even, swing] = sun.over_the_day(slot);
            let (e, k) = (ghi - dhi - dni * even, dni * swing);
            let SinCos { sin, cos } = SinCos::of_deg(sun.hour_angle_deg(slot, MIDDLE_MIN));
            sum.cos -= 2.0 * e * k * cos;
            sum.sin += 2.0 * e * k * sin;
            sum.cos_twice += 0.5 * k * k * (cos * cos - sin * sin);
            sum.sin_twice -= k * k * sin * cos;
        }
        sum
    }

    fn at(&self, offset_min: f64) -> f64 {
        let SinCos { sin, cos } = SinCos::of_deg(DEG_PER_MIN * (offset_min - MIDDLE_MIN));
        self.cos * cos
            + self.sin * sin
            + self.cos_twice * (cos * cos - sin * sin)
            + self.sin_twice * 2.0 * sin * cos
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::Place;

    /// The offset is the one at which the error itself is least of all that are tried.
    #[test]
    fn no_other_offset_fits_better() {
        for (latitude_deg, stands_for_min) in [(48.0, -30.0), (-33.5, 12.0), (69.0, -52.0), (1.0, 0.0)] {
            let place = Place { latitude_deg, longitude_deg: 11.0, elevation_m: 300.0, utc_offset_h: 1.0 };
            let sun = YearSun::new(&place);
            let parts: Vec<ClosureHour> = (0..8760)
                .filter(|&slot| sun.up(slot, stands_for_min) > 0.1)
                .map(|slot| {
                    // A sky that differs from hour to hour, with rounding as in files.
                    let (dni, dhi) = (250.0 + (37 * slot % 600) as f64, 40.0 + (53 * slot % 200) as f64);
                    let ghi = libm::round(dhi + dni * sun.up(slot, stands_for_min));
                    (slot, [ghi, dni, dhi])
                })
                .collect();
            let found = test(&sun, &parts).expect("enough bright hours");
            assert_eq!(found.offset_min, stands_for_min);
            let rms = |minutes: f64| {
                let error = |&(slot, [ghi, dni, dhi]): &ClosureHour| ghi - dhi - dni * sun.up(slot, minutes);
                (parts.iter().map(|p| error(p) * error(p)).sum::<f64>() / parts.len() as f64).sqrt()
            };
            assert!(OFFSETS_MIN.map(f64::from).all(|m| m == found.offset_min || rms(m) > found.rms_w_m2));
            assert!((rms(found.offset_min) - found.rms_w_m2).abs() < 1e-9 && found.rms_w_m2 < 0.3);
        }
    }
}
