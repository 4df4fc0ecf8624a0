//! Where a head with walls balances: coplanar cells with a cross of walls between them.
//!
//! Each cell sees its own side of the axis. A wall shades the far cell by the share `tan d/tan shadow` (at most 1) from light that comes
//! at an angle d from the axis. With the axis tilted by t from the dome's direction toward the sun (at Z from it), d = Z - t, the
//! difference of the two cells is
//!
//! `S(t) = B cos d clip(tan d/tan shadow) + C m(d) - H (1 - cos t) + F sin t`,
//!
//! B the beam, C the glow around the sun, H half of dome less ground, F the horizon band; m is the mean of
//! cos·clip over the glow's disc. The head turns from the dome's direction toward the sun up to the first root. (Derived from the
//! integral of `L cos theta clip` over the sphere; the tests hold it against that integral on 40 skies.)
//!
//! *Beyond the shadow* (no part of the disc on the ramp) clip and m/cos are 1, and S = 0 is `n · V = H` with
//! `V = (B + C) sun + H dome + F horizon`: closed form. *Near the sun* the unknown is q = tan d. S/cos d is then
//!
//! `G(q) = B clip(q/T) + C M(q) - H (r - cos Z - q sin Z) + F (sin Z - q cos Z)`, r² = 1 + q², T = tan shadow.
//!
//! G bends away from the sun's direction on both sides of it: Newton's method from q = 0 on comes to the root from one side.

use super::plane::{Sky, SunTerms};
use super::skyline::OpenSky;
use crate::lanes::{Lane, Mask};

/// Tangent of the half-angle of the glow's disc, 15° (10 to 25° in the sources; it moves the balance by less than 2° with a beam,
/// by 4° under a closed cover).
const GLOW_TAN: f64 = 0.267_949_192_431_122_7;
/// Half-width of the even strip whose variance is that of an even disc, over its radius: root 3/4.
const STRIP_OVER_DISC: f64 = 0.866_025_403_784_438_6;
/// Half-width of the glow's strip in q.
const STRIP: f64 = GLOW_TAN * STRIP_OVER_DISC;
/// Most Newton steps. Usually one is enough.
const STEPS: usize = 6;
/// A step below this, and below this share of the ramp, is the last: the error left is some tenths of a degree at most.
const LAST_STEP: f64 = 0.01;
const LAST_OF_RAMP: f64 = 0.03;
/// Share of such a step that may be left where the step's error is known.
const LEFT_OVER: f64 = 0.25;

/// What acts on a head with walls, in the plane of the dome's direction and the sun.
pub(super) struct WallsLight<V> {
    /// Beam, and what the head sees of the glow, W/m² at right angles to the sun.
    beam_w_m2: V,
    glow_w_m2: V,
    /// Half of dome less ground, W/m²; negative where the ground is brighter.
    dome_w_m2: V,
    /// The horizon band, W/m².
    horizon_w_m2: V,
    /// Unit vectors: the dome's direction, and the one at right angles to it toward the sun.
    up: [V; 3],
    sunward: [V; 3],
    /// The sun's angle from the dome's direction.
    cos_sun: V,
    sin_sun: V,
}

impl<V: Lane> WallsLight<V> {
    /// Of a sky whose dome and ground pull with `dome` (half weight each; east, north, up). The head sees the share `glow_seen` of
    /// the glow where there is no beam, and all of it once the beam is as strong as the glow.
    #[inline(always)]
    pub(super) fn new(sky: &Sky<V>, terms: &SunTerms, dome: [V; 3], open: &OpenSky, glow_seen: V) -> Self {
        let c = V::splat;
        let zero = c(0.0);
        let glow = sky.circumsolar_w_m2;
        let beam_w_m2 = (sky.beam_w_m2 - glow).max(zero);
        // glow x min(1, beam/glow) is the smaller of the two.
        let glow_w_m2 = glow_seen * glow + (c(1.0) - glow_seen) * glow.min(beam_w_m2);
        // A bright horizon draws to the sun's side, if the sun is not hidden; a dark one lifts the head in any case.
        let horizon_w_m2 = sky.horizon_w_m2.min(zero) + sky.sunward_w_m2;
        let SunTerms { sun, azimuth, .. } = *terms;
        if open.hidden_sectors.is_empty() {
            return WallsLight {
                beam_w_m2,
                glow_w_m2,
                dome_w_m2: dome[2],
                horizon_w_m2,
                up: [zero, zero, c(1.0)],
                sunward: [c(azimuth[0]), c(azimuth[1]), zero],
                cos_sun: c(sun[2]),
                sin_sun: c((1.0 - sun[2] * sun[2]).max(0.0).sqrt()),
            };
        }
        let length = (dome[0] * dome[0] + dome[1] * dome[1] + dome[2] * dome[2]).sqrt();
        let dome_w_m2 = V::select(dome[2].lt(zero), -length, length);
        // Without a dome any direction will do.
        let dark = length.lt(c(1e-6));
        let per = c(1.0) / V::select(dark, c(1.0), dome_w_m2);
        let up = [
            V::only(!dark, dome[0] * per),
            V::only(!dark, dome[1] * per),
            V::select(dark, c(1.0), dome[2] * per),
        ];
        let cos_sun = up[0] * c(sun[0]) + up[1] * c(sun[1]) + up[2] * c(sun[2]);
        let sin_sun = (c(1.0) - cos_sun * cos_sun).max(zero).sqrt();
        let per = c(1.0) / sin_sun.max(c(1e-6));
        let sunward = [
            (c(sun[0]) - cos_sun * up[0]) * per,
            (c(sun[1]) - cos_sun * up[1]) * per,
            (c(sun[2]) - cos_sun * up[2]) * per,
        ];
        WallsLight { beam_w_m2, glow_w_m2, dome_w_m2, horizon_w_m2, up, sunward, cos_sun, sin_sun }
    }

    /// Beam and glow, W/m² at right angles to the sun.
    #[inline(always)]
    pub(super) fn lit_w_m2(&self) -> V {
        self.beam_w_m2 + self.glow_w_m2
    }

    /// Where the head balances (unit vector; east, north, up), and the length of V, W/m². `shadow_tan`: tangent of the angle at which the
    /// walls' shadow covers a whole cell.
    #[inline(always)]
    pub(super) fn balance(&self, shadow_tan: V) -> ([V; 3], V) {
        let c = V::splat;
        let zero = c(0.0);
        let WallsLight { dome_w_m2, cos_sun, sin_sun, .. } = *self;
        let lit_w_m2 = self.lit_w_m2();
        // In the plane: across is toward the sun, along is the dome's direction.
        let across = lit_w_m2 * sin_sun + self.horizon_w_m2;
        let along = lit_w_m2 * cos_sun + dome_w_m2;
        let strength = (across * across + along * along).sqrt();
        let per = c(1.0) / strength.max(c(V::SMALLEST));
        // From the direction of V on toward the sun by arc cos(H/|V|).
        let cos_turn = (dome_w_m2 * per).clamp(c(-1.0), c(1.0));
        let sin_turn = (c(1.0) - cos_turn * cos_turn).max(zero).sqrt();
        let mut x = (across * cos_turn + along * sin_turn) * per;
        let mut y = (along * cos_turn - across * sin_turn) * per;
        let edge = shadow_tan + c(STRIP);
        let sin_off = sin_sun * y - cos_sun * x;
        let cos_off = cos_sun * y + sin_sun * x;
        // Over bright ground there may be no root beyond the shadow.
        let none = (dome_w_m2 + strength).lt(zero);
        let near = lit_w_m2.gt(zero) & (none | sin_off.le(edge * cos_off.max(zero)));
        if near.any() {
            let q = self.tan_off(shadow_tan, edge, near);
            let per_r = c(1.0) / (c(1.0) + q * q).sqrt();
            let (near_x, near_y) = ((sin_sun - q * cos_sun) * per_r, (cos_sun + q * sin_sun) * per_r);
            // Ground brighter than the sky may draw it past the sun and down: to where all light together pulls.
            let down = q.le(-edge) & dome_w_m2.lt(zero);
            x = V::select(near, V::select(down, across * per, near_x), x);
            y = V::select(near, V::select(down, along * per, near_y), y);
        }
        let WallsLight { up, sunward, .. } = self;
        let direction = [x * sunward[0] + y * up[0], x * sunward[1] + y * up[1], x * sunward[2] + y * up[2]];
        (direction, strength)
    }

    /// Tangent of the angle from the axis back to the sun, positive above it, between both edges of the ramp; of the lanes where it is
    /// sought.
    #[inline(always)]
    fn tan_off(&self, shadow_tan: V, edge: V, sought: V::Mask) -> V {
        let c = V::splat;
        let one = c(1.0);
        let WallsLight { beam_w_m2, glow_w_m2, dome_w_m2, horizon_w_m2, cos_sun, sin_sun, .. } = *self;
        let per_shadow = one / shadow_tan;
        let per_glow = c(0.125 / STRIP) * per_shadow;
        let least = c(1e-3) * (beam_w_m2 + glow_w_m2) + c(1e-6);
        let last_step = (c(LAST_OF_RAMP) * shadow_tan).min(c(LAST_STEP));
        // Half of the most by which the slope changes with q, off the ramp's ends: that of the glow's mean, and of r.
        let bend = c(2.0) * glow_w_m2 * per_glow + c(0.5) * dome_w_m2.abs();
        // The first step from q = 0, where ramp and glow are zero.
        let g = horizon_w_m2 * sin_sun - dome_w_m2 * (one - cos_sun);
        let slope = beam_w_m2 * per_shadow
            + glow_w_m2 * (c(8.0) * per_glow * shadow_tan.min(c(STRIP)))
            + dome_w_m2 * sin_sun
            - horizon_w_m2 * cos_sun;
        let slope = slope.max(least);
        let mut q = (-(g / slope)).clamp(-edge, edge);
        let settled = q.abs().lt(shadow_tan) & (bend * q * q).le(last_step * c(LEFT_OVER) * slope);
        let mut open = sought & !settled;
        for _ in 1..STEPS {
            if !open.any() {
                break;
            }
            let r = (one + q * q).sqrt();
            let ramp = (q * per_shadow).clamp(-one, one);
            let on_ramp = q.abs().lt(shadow_tan);
            // The mean of the ramp over a strip: differences of its integral.
            let (far, near) = (q + c(STRIP), q - c(STRIP));
            let [a, b] = [far + shadow_tan, far - shadow_tan];
            let [d, e] = [near + shadow_tan, near - shadow_tan];
            let (a_abs, b_abs, d_abs, e_abs) = (a.abs(), b.abs(), d.abs(), e.abs());
            let glow = (a * a_abs - b * b_abs - d * d_abs + e * e_abs) * per_glow;
            let glow_slope = c(2.0) * (a_abs - b_abs - d_abs + e_abs) * per_glow;
            let g = beam_w_m2 * ramp + glow_w_m2 * glow - dome_w_m2 * (r - cos_sun - q * sin_sun)
                + horizon_w_m2 * (sin_sun - q * cos_sun);
            let slope = V::only(on_ramp, beam_w_m2 * per_shadow) + glow_w_m2 * glow_slope
                - dome_w_m2 * (q / r - sin_sun)
                - horizon_w_m2 * cos_sun;
            let slope = slope.max(least);
            let next = (q - g / slope).clamp(-edge, edge);
            let step = (next - q).abs();
            // On the ramp, what is left is known from the bend; past its end, when a step is small.
            let known = on_ramp & next.abs().lt(shadow_tan);
            let settled = known & (bend * step * step).le(last_step * c(LEFT_OVER) * slope);
            q = V::select(open, next, q);
            open = open & step.ge(last_step) & !settled;
        }
        q
    }
}
