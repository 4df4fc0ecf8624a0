//! Monthly Linke turbidity of the clear sky, from the clearest hours of the file itself.
//!
//! The clear-sky model is inverted hour by hour; the turbidity of a month is the median over its clearest hours. It is
//! good to about 0.7, which changes the clear-sky GHI by 3 to 4 %. Sampled weather is multiplied by the same clear sky
//! again, so the error mostly cancels.

use super::year::Hour;
use super::year_sun::{YearSun, i0_w_m2};
use crate::sky::calendar::turbidity_on;
use crate::sky::clear::{AirMass, esra, turbidity_from_dni, turbidity_from_ghi};
use crate::units::dates;

/// Sine of 12°, the sun's height above which the clear-sky model is inverted.
const SIN_LOWEST: f64 = 0.207_911_690_817_759_3;
/// Share of a month's hours that counts as the clearest.
const CLEAREST_SHARE: f64 = 0.05;
/// Fewest clear hours of a month.
const HOURS_MIN: usize = 5;
/// Range of a month's turbidity.
const TURBIDITY_RANGE: (f64, f64) = (1.8, 7.0);
/// Turbidity of a file without any clear hour.
const TURBIDITY_DEFAULT: f64 = 3.0;

/// Which irradiance the turbidity is fitted to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FittedTo {
    /// Beam: the better choice where the file has it.
    Dni,
    /// Global.
    Ghi,
}

/// Median turbidity of the clearest hours of each month; `None` where there are too few.
pub fn by_month(
    hours: &[Option<Hour>],
    sun: &YearSun,
    elevation_m: f64,
    offset_min: f64,
    fitted_to: FittedTo,
) -> [Option<f64>; 12] {
    let mut found: [Vec<f64>; 12] = Default::default();
    let mut daylight = [0_usize; 12];
    for (slot, hour) in hours.iter().enumerate() {
        let Some(hour) = hour else { continue };
        let up = sun.up(slot, offset_min);
        if up <= SIN_LOWEST {
            continue;
        }
        let month = dates::month_and_day((slot / 24) as u16).0 - 1;
        daylight[month] += 1;
        let zenith = libm::acos(up);
        found[month].extend(match fitted_to {
            FittedTo::Dni => turbidity_from_dni(hour.dni_w_m2, i0_w_m2(slot), zenith, elevation_m),
            FittedTo::Ghi => turbidity_from_ghi(hour.ghi_w_m2, i0_w_m2(slot), zenith, elevation_m),
        });
    }
    std::array::from_fn(|month| {
        let clearest = ((CLEAREST_SHARE * daylight[month] as f64).ceil() as usize).max(HOURS_MIN);
        let values = &mut found[month];
        if values.len() < clearest {
            return None;
        }
        values.sort_by(f64::total_cmp);
        Some(median(&values[..clearest]))
    })
}

/// Twelve values for the clear sky: months without one get the mean of their neighbours.
pub fn fill(months: [Option<f64>; 12]) -> [f64; 12] {
    let mut months = months;
    for _ in 0..12 {
        let before = months;
        for m in 0..12 {
            if before[m].is_none() {
                let near: Vec<f64> =
                    [before[(m + 11) % 12], before[(m + 1) % 12]].into_iter().flatten().collect();
                months[m] = (!near.is_empty()).then(|| near.iter().sum::<f64>() / near.len() as f64);
            }
        }
    }
    months.map(|t| t.unwrap_or(TURBIDITY_DEFAULT).clamp(TURBIDITY_RANGE.0, TURBIDITY_RANGE.1))
}

/// 95th percentile of GHI over clear-sky GHI in hours with the sun above 12°; `None` without such hours.
/// With a fitting turbidity it lies between 0.97 and 1.05 (own choice).
pub(crate) fn clear_ratio_p95(
    hours: &[Option<Hour>],
    sun: &YearSun,
    elevation_m: f64,
    offset_min: f64,
    turbidity: &[f64; 12],
) -> Option<f64> {
    let mut ratios: Vec<f64> = Vec::new();
    for (slot, hour) in hours.iter().enumerate() {
        let (Some(hour), up) = (hour, sun.up(slot, offset_min)) else { continue };
        if up > SIN_LOWEST {
            let clear =
                esra(i0_w_m2(slot), up, &AirMass::new(up, elevation_m), turbidity_on(turbidity, slot / 24));
            ratios.push(hour.ghi_w_m2 / (clear.dni_w_m2 * up + clear.dhi_w_m2));
        }
    }
    ratios.sort_by(f64::total_cmp);
    ratios.get((0.95 * ratios.len() as f64) as usize).copied()
}

/// Median of sorted values, at least one.
fn median(sorted: &[f64]) -> f64 {
    let n = sorted.len();
    0.5 * (sorted[(n - 1) / 2] + sorted[n / 2])
}
