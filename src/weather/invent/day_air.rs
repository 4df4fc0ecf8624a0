//! How the mean temperatures of days differ, by the months' means. Fitted on the 22 daily records that
//! [`crate::weather::days::aims`] names.

use super::climate::Climate;

/// Standard deviation of the daily mean temperature about its course, °C: larger where summers and winters differ, and in the cold
/// months. 0.8 °C off (rms).
pub(crate) fn day_sd_c(climate: &Climate, month: usize) -> f64 {
    (0.923 + 0.143 * climate.seasons_c() - 0.103 * warmer_c(climate, month)).max(0.8)
}

/// Correlation of the daily temperature with the light: bright days are warm in the warm months, and cold, though by far not all of
/// them, in the cold months of places with winters. 0.22 off (rms).
pub(crate) fn share_of_light(climate: &Climate, month: usize) -> f64 {
    (0.245 - 0.013 * climate.seasons_c() + 0.021 * warmer_c(climate, month)).clamp(-0.5, 0.6)
}

/// Mean temperature of a month less that of the year, °C.
fn warmer_c(climate: &Climate, month: usize) -> f64 {
    climate.air_c[month] - climate.air_c.iter().sum::<f64>() / 12.0
}

/// Linear interpolation between the middles of months.
pub(crate) fn between_months(values: &[f64; 12], day: usize) -> f64 {
    let at = (day as f64 + 0.5) / 365.0 * 12.0 - 0.5;
    let low = libm::floor(at);
    let (m, part) = ((low as i64).rem_euclid(12) as usize, at - low);
    values[m] * (1.0 - part) + values[(m + 1) % 12] * part
}
