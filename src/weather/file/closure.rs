//! Which instant the values of an hour stand for: the one at which GHI = DHI + DNI cos Z holds best.
//!
//! Most files hold hourly means, which fit the middle of the hour. Some are derived from satellite images and fit an
//! instant that may even lie outside the hour (12 min after its end, for example).

use super::year::Closure;
use super::year_sun::YearSun;

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
    let best = OFFSETS_MIN
        .map(|minutes| (rms(f64::from(minutes)), f64::from(minutes)))
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(Closure { offset_min: best.1, rms_w_m2: best.0, rms_at_middle_w_m2: rms(MIDDLE_MIN) })
}
