//! Beam and diffuse from global irradiance, for files without measured values.
//!
//! Erbs, Klein & Duffie 1982, Solar Energy 28:293: hourly values, fitted between 31° and 42° N.
//! Not for minutes: their clearness varies more.

use super::clear::{AirMass, esra};

/// Global irradiance, split.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// Clearness index the split rests on, 0..=1.
    pub clearness: f64,
    /// Beam normal, W/m².
    pub dni_w_m2: f64,
    /// Diffuse horizontal, W/m².
    pub dhi_w_m2: f64,
}

/// The clearness index is computed with at least this cosine of the zenith angle, so that it stays finite.
const MIN_COS_ZENITH: f64 = 0.065;
/// Cosine of 87°: with a lower sun all light counts as diffuse.
const COS_LOW_SUN: f64 = 0.052_335_956_242_943_83;
/// Linke turbidity of the cleanest sky: the beam is limited to its value.
const CLEANEST_TURBIDITY: f64 = 2.0;

/// Diffuse share of global irradiance at a clearness index in 0..=1 (Erbs 1982 eq. 1).
pub fn diffuse_fraction(clearness: f64) -> f64 {
    let k = clearness;
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.80 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + 12.336 * k)))
    } else {
        0.165
    }
}

/// Splits an hour's global irradiance (>= 0) at the zenith angle of its middle.
pub fn erbs(ghi_w_m2: f64, zenith_rad: f64, i0_w_m2: f64) -> Split {
    let cos_zenith = libm::cos(zenith_rad);
    let clearness = (ghi_w_m2 / (i0_w_m2 * cos_zenith.max(MIN_COS_ZENITH))).clamp(0.0, 1.0);
    let dhi = ghi_w_m2 * diffuse_fraction(clearness);
    let dni = (ghi_w_m2 - dhi) / cos_zenith;
    if cos_zenith < COS_LOW_SUN || dni < 0.0 {
        Split { clearness, dni_w_m2: 0.0, dhi_w_m2: ghi_w_m2 }
    } else {
        Split { clearness, dni_w_m2: dni, dhi_w_m2: dhi }
    }
}

/// Like [`erbs`], with the beam limited to that of the cleanest sky; the rest is diffuse.
pub fn erbs_below_clear(ghi_w_m2: f64, zenith_rad: f64, i0_w_m2: f64, elevation_m: f64) -> Split {
    let split = erbs(ghi_w_m2, zenith_rad, i0_w_m2);
    if split.dni_w_m2 <= 0.0 {
        return split;
    }
    let cos_zenith = libm::cos(zenith_rad);
    let cleanest =
        esra(i0_w_m2, cos_zenith, &AirMass::new(cos_zenith, elevation_m), CLEANEST_TURBIDITY).dni_w_m2;
    if split.dni_w_m2 <= cleanest {
        return split;
    }
    Split { dni_w_m2: cleanest, dhi_w_m2: ghi_w_m2 - cleanest * cos_zenith, ..split }
}
