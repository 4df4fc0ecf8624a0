//! The sky without clouds: extraterrestrial irradiance, air mass, and the ESRA clear sky.
//!
//! Rigollier, Bauer & Wald 2000, Solar Energy 68:33 (ESRA), in the Linke turbidity at air mass 2.
//! It was fitted with a solar constant of 1367 W/m²; with the 1366.1 used here the difference goes
//! into the turbidity, which is itself fitted to the file.

use libm::{asin, exp, log, pow};

/// Air mass, and the loss of the beam in a clean dry atmosphere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirMass {
    /// Relative optical air mass, as at sea level.
    pub relative: f64,
    /// Corrected for the height of the place.
    pub absolute: f64,
    /// Rayleigh optical thickness at the corrected air mass.
    pub rayleigh_thickness: f64,
}

/// Clear-sky irradiance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearSky {
    /// Beam, at right angles to it, W/m².
    pub dni_w_m2: f64,
    /// Diffuse on the horizontal, W/m².
    pub dhi_w_m2: f64,
}

/// Extraterrestrial irradiance at right angles to the sun, W/m², on day 1..=366 of the year.
///
/// Spencer 1971, with a solar constant of 1366.1 W/m².
pub fn extraterrestrial_w_m2(day: u32) -> f64 {
    let b = std::f64::consts::TAU * (f64::from(day) - 1.0) / 365.0;
    let (s1, c1) = libm::sincos(b);
    let (s2, c2) = libm::sincos(2.0 * b);
    1366.1 * (1.00011 + 0.034221 * c1 + 0.00128 * s1 + 0.000719 * c2 + 0.000077 * s2)
}

impl AirMass {
    /// Of a sun at a geometric elevation (`sin_elevation` >= 0) seen from `elevation_m` above the sea.
    pub fn new(sin_elevation: f64, elevation_m: f64) -> AirMass {
        Self::with_pressure(sin_elevation, relative_pressure(elevation_m))
    }

    /// The same from the pressure relative to sea level ([`relative_pressure`]).
    pub(crate) fn with_pressure(sin_elevation: f64, relative_pressure: f64) -> AirMass {
        let g = asin(sin_elevation.clamp(0.0, 1.0));
        // Rigollier 2000 eq. 5: refraction, rad.
        let refraction =
            0.061359 * (0.1594 + 1.1230 * g + 0.065656 * g * g) / (1.0 + 28.9344 * g + 277.3971 * g * g);
        let apparent = g + refraction;
        // Eq. 4: Kasten & Young of the apparent elevation.
        let relative = 1.0 / (libm::sin(apparent) + 0.50572 * pow(apparent.to_degrees() + 6.07995, -1.6364));
        let m = relative * relative_pressure;
        // Eq. 6: Rayleigh optical thickness.
        let inverse_thickness = if m <= 20.0 {
            6.62960 + m * (1.75130 + m * (-0.12020 + m * (0.00650 - 0.00013 * m)))
        } else {
            10.4 + 0.718 * m
        };
        AirMass { relative, absolute: m, rayleigh_thickness: 1.0 / inverse_thickness }
    }
}

/// Air pressure relative to sea level at a height in m (scale height of ESRA, 8434.5 m).
pub(crate) fn relative_pressure(elevation_m: f64) -> f64 {
    exp(-elevation_m / 8434.5)
}

/// The ESRA clear sky for a sun at a geometric elevation above 0, Linke turbidity about 2..=7.
pub fn esra(i0_w_m2: f64, sin_elevation: f64, air: &AirMass, turbidity: f64) -> ClearSky {
    let t = turbidity;
    // Eq. 3: beam.
    let dni = i0_w_m2 * exp(-0.8662 * t * air.absolute * air.rayleigh_thickness);
    // Eq. 10: diffuse transmittance at the zenith.
    let transmittance = -1.5843e-2 + t * (3.0543e-2 + 3.797e-4 * t);
    // Eq. 12, with its lower limit on A0.
    let a0 = 0.26463 + t * (-0.061581 + 0.0031408 * t);
    let a0 = if a0 * transmittance < 2e-3 { 2e-3 / transmittance } else { a0 };
    let a1 = 2.04020 + t * (0.018945 - 0.011161 * t);
    let a2 = -1.3025 + t * (0.039231 + 0.0085079 * t);
    // Eq. 11: growth with the sun's height.
    let growth = a0 + sin_elevation * (a1 + sin_elevation * a2);
    ClearSky { dni_w_m2: dni, dhi_w_m2: (i0_w_m2 * transmittance * growth).max(0.0) }
}

/// The Linke turbidity at which the clear sky gives a beam irradiance, for a sun above the
/// horizon; not limited to any range. `None` without beam.
pub fn turbidity_from_dni(dni_w_m2: f64, i0_w_m2: f64, zenith_rad: f64, elevation_m: f64) -> Option<f64> {
    let sin_elevation = libm::cos(zenith_rad);
    if dni_w_m2 <= 0.0 || sin_elevation <= 0.0 {
        return None;
    }
    let air = AirMass::new(sin_elevation, elevation_m);
    Some(-log(dni_w_m2 / i0_w_m2) / (0.8662 * air.absolute * air.rayleigh_thickness))
}

/// The Linke turbidity in 1.2..=9 at which the clear sky gives a global irradiance, for a sun above
/// the horizon; `None` if no turbidity of that range does.
pub fn turbidity_from_ghi(ghi_w_m2: f64, i0_w_m2: f64, zenith_rad: f64, elevation_m: f64) -> Option<f64> {
    let sin_elevation = libm::cos(zenith_rad);
    if sin_elevation <= 0.0 {
        return None;
    }
    let air = AirMass::new(sin_elevation, elevation_m);
    let ghi = |t: f64| {
        let sky = esra(i0_w_m2, sin_elevation, &air, t);
        sky.dni_w_m2 * sin_elevation + sky.dhi_w_m2
    };
    // Global irradiance falls as turbidity rises.
    let (mut clean, mut turbid) = (1.2, 9.0);
    if ghi_w_m2 > ghi(clean) || ghi_w_m2 < ghi(turbid) {
        return None;
    }
    for _ in 0..40 {
        let mid = 0.5 * (clean + turbid);
        if ghi(mid) > ghi_w_m2 {
            clean = mid;
        } else {
            turbid = mid;
        }
    }
    Some(0.5 * (clean + turbid))
}
