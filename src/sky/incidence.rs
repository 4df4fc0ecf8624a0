//! Loss of slanting light at a panel's cover.
//!
//! The working form is ASHRAE 93 with one number, b0: it needs no division, as
//! `cos t · (1 - b0 (1/cos t - 1)) = (1 + b0) cos t - b0`. Light from the sky and the ground comes from all sides; it
//! loses as much as a beam at an effective angle (Brandemuehl & Beckman 1980, Solar Energy 24:511).

use crate::lanes::Lane;

/// Beam on a plane after the loss, as a share of the beam at right angles.
#[inline(always)]
pub fn beam_share<V: Lane>(cos_incidence: V, b0: V) -> V {
    (cos_incidence + b0 * (cos_incidence - V::splat(1.0))).max(V::splat(0.0))
}

/// Share of sky light that gets through, for a plane with this cosine and sine of its tilt.
///
/// `1/cos` of the effective angle less 1, fitted over 0..=90° of tilt: within 0.0008.
#[inline(always)]
pub fn sky_share<V: Lane>(cos_tilt: V, sin_tilt: V, b0: V) -> V {
    let c = V::splat;
    let excess = c(1.705_358_3) - c(0.724_082_1) * cos_tilt - c(0.743_930_1) * sin_tilt
        + c(0.288_101_3) * (cos_tilt * sin_tilt);
    c(1.0) - b0 * excess
}

/// Ground light on a plane after the loss, as a share of the light reflected by the ground.
///
/// The view of the ground, `(1 - cos tilt)/2`, times `1/cos` of the effective angle less 1, fitted: within 0.0008.
#[inline(always)]
pub fn ground_share<V: Lane>(cos_tilt: V, sin_tilt: V, b0: V) -> V {
    let c = V::splat;
    let away = c(1.0) - cos_tilt;
    let excess = c(0.310_470_2) * away + sin_tilt * (c(0.427_173_2) - c(0.246_718_0) * sin_tilt);
    (c(0.5) * away - b0 * excess).max(c(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Share of a beam that gets through (1 at right angles): ASHRAE 93.
    fn ashrae(cos_incidence: f64, b0: f64) -> f64 {
        if cos_incidence <= 0.0 { 0.0 } else { (1.0 - b0 * (1.0 / cos_incidence - 1.0)).max(0.0) }
    }

    /// Effective incidence angle of sky light on a plane tilted 0..=90°, ° (Brandemuehl & Beckman 1980).
    fn sky_angle_deg(tilt_deg: f64) -> f64 {
        59.7 - 0.1388 * tilt_deg + 0.001497 * tilt_deg * tilt_deg
    }

    /// Effective incidence angle of ground light, alike.
    fn ground_angle_deg(tilt_deg: f64) -> f64 {
        90.0 - 0.5788 * tilt_deg + 0.002693 * tilt_deg * tilt_deg
    }

    #[test]
    fn the_fits_follow_the_effective_angles() {
        let mut worst: f64 = 0.0;
        for tilt in 0..=90 {
            let t = f64::from(tilt);
            let (s, u) = libm::sincos(t.to_radians());
            for b0 in [0.0, 0.05, 0.1, 0.2] {
                let at = |angle: f64| ashrae(libm::cos(angle.to_radians()), b0);
                let sky = sky_share(u, s, b0) - at(sky_angle_deg(t));
                let ground = ground_share(u, s, b0) - 0.5 * (1.0 - u) * at(ground_angle_deg(t));
                worst = worst.max(sky.abs()).max(ground.abs());
            }
        }
        println!("diffuse incidence loss: fit off by {worst:.1e}");
        assert!(worst < 2e-4, "{worst}");
    }

    #[test]
    fn the_beam_form_is_ashrae_without_its_division() {
        for k in 0..=100 {
            let cos = f64::from(k) / 100.0;
            assert!((beam_share(cos, 0.1) - cos * ashrae(cos, 0.1)).abs() < 1e-15);
        }
        assert_eq!(beam_share(-0.5, 0.1), 0.0);
    }
}
