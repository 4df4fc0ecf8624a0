//! Light on a plane: beam, sky and ground.
//!
//! Perez, Ineichen, Seals, Michalsky & Stewart 1990, Solar Energy 44:271, all sites composite.

use super::SunMinute;
use super::incidence;
use super::skyline::OpenSky;
use crate::lanes::Lane;

/// Lower edge of the clearness bins after the first.
const EDGES: [f64; 7] = [1.065, 1.230, 1.500, 1.950, 2.800, 4.500, 6.200];
/// Coefficients F11, F12, F13, F21, F22, F23 of each bin.
pub(crate) const COEFFICIENTS: [[f64; 6]; 8] = [
    [-0.008, 0.588, -0.062, -0.060, 0.072, -0.022],
    [0.130, 0.683, -0.151, -0.019, 0.066, -0.029],
    [0.330, 0.487, -0.221, 0.055, -0.064, -0.026],
    [0.568, 0.187, -0.295, 0.109, -0.152, -0.014],
    [0.873, -0.392, -0.362, 0.226, -0.462, 0.001],
    [1.132, -1.237, -0.412, 0.288, -0.823, 0.056],
    [1.060, -1.600, -0.359, 0.264, -1.127, 0.131],
    [0.678, -0.327, -0.250, 0.156, -1.377, 0.251],
];
/// Cosine of 85°: lowest value by which the circumsolar part is divided.
const COS_85_DEG: f64 = 0.087_155_742_747_658_18;

/// What a minute's sun contributes to the split, the same for all trials.
#[derive(Clone, Copy, Debug)]
pub struct SunTerms {
    /// Unit vector to the sun (east, north, up).
    pub sun: [f64; 3],
    /// Unit vector (east, north) of the sun's azimuth; 0 for a sun at the zenith.
    pub azimuth: [f64; 2],
    /// 1 / max(cos 85°, cos Z).
    inverse_b: f64,
    /// 1 + 1.041 Z³: DNI over DHI in units of this, plus 1, is the clearness.
    kappa_1: f64,
    /// F11 + F13 Z by bin.
    f1: [f64; 8],
    /// F21 + F23 Z by bin.
    f2: [f64; 8],
    /// F12 and F22 by bin times air mass over extraterrestrial irradiance, m²/W: slope in DHI.
    f1_by_dhi: [f64; 8],
    f2_by_dhi: [f64; 8],
}

/// A sky as its parts, W/m².
#[derive(Clone, Copy, Debug)]
pub struct Sky<V> {
    /// Beam and circumsolar, at right angles to the sun.
    pub beam_w_m2: V,
    /// The circumsolar part of it.
    pub circumsolar_w_m2: V,
    /// The even dome, on the horizontal.
    pub dome_w_m2: V,
    /// The horizon band: on a plane, times the sine of its tilt. Negative under a dark horizon.
    pub horizon_w_m2: V,
    /// The brightening of the horizon on the sun's side as far as it draws a seeking mount that way:
    /// the horizon band where it is bright and the sun is not hidden.
    pub sunward_w_m2: V,
    /// Global horizontal irradiance, as it falls on the ground around the panel.
    pub global_w_m2: V,
}

/// Light on a plane, through its cover, W/m².
#[derive(Clone, Copy, Debug)]
pub struct PlaneLight<V> {
    /// Beam and circumsolar.
    pub beam_w_m2: V,
    /// Dome and horizon band.
    pub sky_w_m2: V,
    /// Reflected by the ground.
    pub ground_w_m2: V,
}

impl SunTerms {
    /// Of a sun at a zenith angle, with the relative air mass over the extraterrestrial irradiance.
    ///
    /// At or below the horizon the split is undefined: all sky light is then an even dome.
    #[inline(always)]
    pub fn new(sun: [f64; 3], zenith_rad: f64, air_mass_per_i0: f64) -> SunTerms {
        let z = zenith_rad;
        let kappa = 1.041 * z * z * z;
        // The weight of the split.
        let w = if sun[2] > 0.0 { 1.0 } else { 0.0 };
        let flat = (sun[0] * sun[0] + sun[1] * sun[1]).sqrt();
        let mut terms = SunTerms {
            sun,
            azimuth: if flat > 0.0 { [sun[0] / flat, sun[1] / flat] } else { [0.0; 2] },
            inverse_b: 1.0 / sun[2].max(COS_85_DEG),
            kappa_1: 1.0 + kappa,
            f1: [0.0; 8],
            f2: [0.0; 8],
            f1_by_dhi: [0.0; 8],
            f2_by_dhi: [0.0; 8],
        };
        // Loops, for this is done every minute: `map` on arrays stays a call.
        for (k, c) in COEFFICIENTS.iter().enumerate() {
            terms.f1[k] = w * (c[0] + c[2] * z);
            terms.f2[k] = w * (c[3] + c[5] * z);
            terms.f1_by_dhi[k] = w * c[1] * air_mass_per_i0;
            terms.f2_by_dhi[k] = w * c[4] * air_mass_per_i0;
        }
        terms
    }

    /// The sky's parts at a beam normal and a diffuse horizontal irradiance (each >= 0, W/m²), seen
    /// from a place with an open horizon.
    #[inline(always)]
    pub fn sky<V: Lane>(&self, dni: V, dhi: V) -> Sky<V> {
        let c = V::splat;
        let zero = c(0.0);
        // eps - 1 = DNI/(DHI (1 + kappa)).
        let clearness = dni / (dhi * c(self.kappa_1)).max(c(V::SMALLEST));
        let mut bin = zero;
        for edge in EDGES {
            bin = bin + V::one_if(clearness.ge(c(edge - 1.0)));
        }
        let [f1, f2, f1_by, f2_by] = V::look_up([&self.f1, &self.f2, &self.f1_by_dhi, &self.f2_by_dhi], bin);
        // Circumsolar share (>= 0; the composite passes 1 only outside the skies it was fitted to).
        let circumsolar = dhi * (f1 + f1_by * dhi).clamp(zero, c(1.0));
        let horizon = dhi * (f2 + f2_by * dhi);
        let circumsolar_w_m2 = circumsolar * c(self.inverse_b);
        Sky {
            beam_w_m2: dni + circumsolar_w_m2,
            circumsolar_w_m2,
            dome_w_m2: dhi - circumsolar,
            horizon_w_m2: horizon,
            sunward_w_m2: horizon.max(zero),
            global_w_m2: dni * c(self.sun[2].max(0.0)) + dhi,
        }
    }

    /// Like [`sky`](SunTerms::sky), from behind a skyline that leaves some of the sun's disc and of the glow around it. The dome keeps its
    /// brightness; [`on_plane`] leaves out what is hidden of it.
    #[inline(always)]
    pub fn behind_skyline<V: Lane>(&self, dni: V, dhi: V, open: &OpenSky, shares: [f64; 2]) -> Sky<V> {
        let c = V::splat;
        let sky = self.sky(dni, dhi);
        let [sun_share, glow_share] = shares;
        let (share, horizon) = (c(sun_share), sky.horizon_w_m2 * c(open.horizon));
        Sky {
            // What remains of the glow beyond the disc's share: nothing but where trees let it through.
            beam_w_m2: sky.beam_w_m2 * share + sky.circumsolar_w_m2 * c(glow_share - sun_share),
            circumsolar_w_m2: sky.circumsolar_w_m2 * c(glow_share),
            horizon_w_m2: horizon,
            sunward_w_m2: horizon.max(c(0.0)) * share,
            // The ground around the panel lies in the same shade.
            global_w_m2: dni * c(self.sun[2].max(0.0)) * share + dhi * c(open.view),
            ..sky
        }
    }
}

impl From<&SunMinute> for SunTerms {
    #[inline(always)]
    fn from(m: &SunMinute) -> SunTerms {
        SunTerms::new([m.east, m.north, m.up], m.zenith_rad, m.air_mass_per_i0)
    }
}

/// Light on a plane with a unit normal (east, north, up >= 0), through a cover with incidence loss
/// `b0`, above a ground that reflects the share `albedo`.
#[inline(always)]
pub fn on_plane<V: Lane>(
    sky: &Sky<V>,
    sun: [f64; 3],
    normal: [V; 3],
    b0: V,
    albedo: V,
    open: &OpenSky,
) -> PlaneLight<V> {
    let c = V::splat;
    let zero = c(0.0);
    let [east, north, up] = normal;
    let cos_incidence = east * c(sun[0]) + north * c(sun[1]) + up * c(sun[2]);
    let sin_tilt = (c(1.0) - up * up).max(zero).sqrt();
    let mut view = c(0.5) + c(0.5) * up;
    for v in &open.hidden_sectors {
        // What is hidden behind the plane does not count.
        view = view - (east * c(v[0]) + north * c(v[1]) + up * c(v[2])).max(zero);
    }
    let diffuse = (sky.dome_w_m2 * view.max(zero) + sky.horizon_w_m2 * sin_tilt).max(zero);
    PlaneLight {
        beam_w_m2: sky.beam_w_m2 * incidence::beam_share(cos_incidence, b0),
        sky_w_m2: diffuse * incidence::sky_share(up, sin_tilt, b0),
        ground_w_m2: albedo * sky.global_w_m2 * incidence::ground_share(up, sin_tilt, b0),
    }
}

impl<V: Lane> PlaneLight<V> {
    /// All of it.
    #[inline(always)]
    pub fn total_w_m2(&self) -> V {
        self.beam_w_m2 + self.sky_w_m2 + self.ground_w_m2
    }
}
