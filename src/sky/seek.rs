//! Where opposed photocells balance: the direction a light-seeking mount turns to.
//!
//! Each cell pair compares the light on its two sides. Light of one direction pulls toward it with
//! its full weight; the even dome pulls upward. Whether with all or half of its weight is a matter
//! of the head: cells back to back see the whole sphere between them, so the balance is the vector sum of all
//! light; cells tilted to the same side see overlapping half spaces, an even dome gives such a
//! plane (1 + cos tilt)/2 and so counts half. In that case the balance is, to first order, the direction of greatest
//! irradiance on a plane. The ground pulls down with the same weight, and sky hidden by a skyline
//! pulls no more: what is left of it draws the head away from trees.

use super::plane::{Sky, SunTerms};
use super::skyline::OpenSky;
use super::walls::WallsLight;
use crate::design::Head;
use crate::lanes::{Lane, math};

/// Where a head balances.
#[derive(Clone, Copy, Debug)]
pub struct HeadBalance<V: Lane> {
    /// Unit vector (east, north, up) to where it balances. May lie below the horizon over bright ground:
    /// the mount's reach ends before.
    pub direction: [V; 3],
    /// How strongly the light draws it there, W/m²: length of the sum of pulls.
    pub pull_w_m2: V,
    /// Light that tells opposite cells apart, and light that they share, W/m²: beam with as much of the sun's glow as the head sees, and
    /// dome. Back to back, where the beam grazes the cells: the pull less all light on both cells, and all of that light.
    pub telling_w_m2: V,
    /// See there.
    pub shared_w_m2: V,
    /// Light on a bare plane turned there, W/m²: what the dim level is compared with.
    pub light_w_m2: V,
    /// Whether the light gives a direction at all. Elsewhere the direction is up.
    pub found: V::Mask,
}

/// Pull below which the light gives no direction, W/m²: photocells of the trade show nothing there.
const NO_PULL_W_M2: f64 = 1e-3;

/// What of a head decides where it balances.
#[derive(Clone, Copy, Debug)]
pub struct HeadOptics<V> {
    /// Walls: tangent of the angle at which their shadow covers a whole cell.
    pub shadow_tan: V,
    /// Walls: share of the glow around the sun that they see where there is no beam, 0..=1.
    pub glow_seen: V,
}

/// Where a head balances under a sky, over a ground that reflects the share `albedo`.
///
/// *Walls* (coplanar cells, a cross of tall walls between): each cell sees its own side of the
/// axis, whatever the angle; see [`walls`](super::walls). An even dome leaves them balanced when the axis looks up, but pulls it
/// back only as (1 - cos tilt)/2, so weak light from one side draws them far. *Tilted* and *back to back*: the vector sum, the
/// dome with half or all of its weight.
#[inline(always)]
pub fn balance<V: Lane>(
    head: Head,
    optics: &HeadOptics<V>,
    sky: &Sky<V>,
    terms: &SunTerms,
    albedo: V,
    open: &OpenSky,
) -> HeadBalance<V> {
    let SunTerms { sun, azimuth, .. } = *terms;
    let c = V::splat;
    let zero = c(0.0);
    let weight = match head {
        Head::BackToBack => c(1.0),
        Head::Tilted | Head::Walls => c(0.5),
    };
    let dome = [
        weight * (sky.dome_w_m2 * c(-open.hidden[0])),
        weight * (sky.dome_w_m2 * c(-open.hidden[1])),
        weight * (sky.dome_w_m2 * c(open.view) - albedo * sky.global_w_m2),
    ];
    let (direction, strength, telling) = match head {
        Head::Walls => {
            let light = WallsLight::new(sky, terms, dome, open, optics.glow_seen);
            let (direction, strength) = light.balance(optics.shadow_tan);
            (direction, strength, light.lit_w_m2())
        }
        Head::Tilted | Head::BackToBack => {
            let beam = sky.beam_w_m2;
            // Back to back the horizon band is even in the direction and drops out of the vector sum. For tilted cells, leaving a
            // dark horizon (overcast) out is nearer the numerical skies.
            let sunward = if head == Head::Tilted { sky.sunward_w_m2 } else { zero };
            let pull = [
                dome[0] + beam * c(sun[0]) + sunward * c(azimuth[0]),
                dome[1] + beam * c(sun[1]) + sunward * c(azimuth[1]),
                dome[2] + beam * c(sun[2]),
            ];
            let strength = length(pull);
            let inverse = c(1.0) / strength.max(c(NO_PULL_W_M2));
            ([pull[0] * inverse, pull[1] * inverse, pull[2] * inverse], strength, beam)
        }
    };
    let found = strength.ge(c(NO_PULL_W_M2));
    let direction = pick(found, direction, [zero, zero, c(1.0)]);
    let cos_sun = direction[0] * c(sun[0]) + direction[1] * c(sun[1]) + direction[2] * c(sun[2]);
    let shared = match head {
        Head::Walls | Head::Tilted => sky.dome_w_m2,
        // One cell of a pair sees what the other does not, of dome, ground and horizon.
        Head::BackToBack => {
            let grazing = (c(1.0) - cos_sun * cos_sun).max(zero).sqrt();
            let around = sky.dome_w_m2 * c(open.view) + albedo * sky.global_w_m2;
            (around + c(2.0) * direction[2] * sky.horizon_w_m2 + sky.beam_w_m2 * grazing).max(zero)
        }
    };
    let telling = if head == Head::BackToBack { strength - shared } else { telling };
    let light_w_m2 = sky.beam_w_m2 * cos_sun.max(zero) + sky.dome_w_m2 * (c(0.5) + c(0.5) * direction[2]);
    HeadBalance {
        direction,
        pull_w_m2: strength,
        telling_w_m2: telling,
        shared_w_m2: shared,
        light_w_m2,
        found,
    }
}

#[inline(always)]
fn length<V: Lane>(v: [V; 3]) -> V {
    (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt()
}

#[inline(always)]
fn pick<V: Lane>(m: V::Mask, a: [V; 3], b: [V; 3]) -> [V; 3] {
    [V::select(m, a[0], b[0]), V::select(m, a[1], b[1]), V::select(m, a[2], b[2])]
}

/// No head is further off balance than this, rad: 45°.
const MOST_RAD: f64 = std::f64::consts::FRAC_PI_4;

/// How far off balance a head does not react: its comparator's contrast threshold as an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeadBand<V> {
    /// With beam alone, rad.
    pub beam_rad: V,
    /// Under the even dome alone, rad.
    pub dome_rad: V,
}

impl DeadBand<f64> {
    /// Of a head whose comparators do nothing below `contrast` (0..1), the difference of two cells over their sum.
    ///
    /// Tilted cells, at `cell_tilt_deg` from the axis, see beam B and dome D off balance by d with a contrast of
    /// `sin a sin d (2 B + D) / (D + (2 B + D) cos a cos d)`. Back to back the tilt is 90° and one cell of a
    /// pair sees the beam.
    ///
    /// Behind walls of height h over cells of width w, the shadow reaches h tan d onto the shaded cell and covers it at
    /// `shadow_deg` = arc tan(w/h): shaded share x = tan d / tan shadow, contrast `x B / (2 B - x B + D)`. The wider the shadow for a given
    /// error, the smaller `shadow_deg` and the dead band. The dome alone gives walls
    /// `(1 - cos d)/(1 + cos d)` = tan² d/2: a blunt sense of up.
    pub fn new(head: Head, contrast: f64, cell_tilt_deg: f64, shadow_deg: f64) -> DeadBand<f64> {
        let e = contrast;
        match head {
            Head::Tilted => {
                let (sin_a, cos_a) = libm::sincos(cell_tilt_deg.to_radians());
                // sin a sin d - e cos a cos d = e q, q = D/(2 B + D).
                let r = (sin_a * sin_a + e * e * cos_a * cos_a).sqrt();
                let beam_rad = libm::atan2(e * cos_a, sin_a);
                DeadBand { beam_rad, dome_rad: beam_rad + libm::asin((e / r).min(1.0)) }
            }
            Head::BackToBack => DeadBand { beam_rad: 0.0, dome_rad: libm::asin(e) },
            Head::Walls => {
                let shaded = (2.0 * e / (1.0 + e)).min(1.0);
                DeadBand {
                    beam_rad: libm::atan(shaded * libm::tan(shadow_deg.to_radians())),
                    dome_rad: 2.0 * libm::atan(e.sqrt()),
                }
            }
        }
    }
}

impl DeadBand<f64> {
    /// How far off balance a head comes to rest whose opposite cells differ by the share `mismatch` (one reads 1 + m/2 times the light,
    /// the other 1 - m/2): where the light's contrast makes up for it. Signed as the mismatch.
    pub fn of_mismatch(head: Head, mismatch: f64, cell_tilt_deg: f64, shadow_deg: f64) -> DeadBand<f64> {
        let contrast = (0.5 * mismatch.abs()).min(0.95);
        let DeadBand { beam_rad, dome_rad } = DeadBand::new(head, contrast, cell_tilt_deg, shadow_deg);
        let sign = if mismatch < 0.0 { -1.0 } else { 1.0 };
        DeadBand { beam_rad: sign * beam_rad, dome_rad: sign * dome_rad }
    }
}

impl<V: Lane> DeadBand<V> {
    /// Under light that tells opposite cells apart and light that they share ([`HeadBalance`]), rad: interpolated between the two by
    /// their shares. That is exact for the sine of the angle, and the angles are small.
    #[inline(always)]
    pub fn under(&self, head: Head, telling_w_m2: V, shared_w_m2: V) -> V {
        let c = V::splat;
        let cells_lit = if head == Head::BackToBack { 1.0 } else { 2.0 };
        let beam = c(cells_lit) * telling_w_m2;
        let light = (beam + shared_w_m2).max(c(1e-9));
        match head {
            // x = 2 e/(1 + e) · (2 B + D)/(2 B), as far as the dome does not stop it first.
            Head::Walls => {
                let most = self.dome_rad.abs();
                (self.beam_rad * light / beam.max(c(1e-12))).max(-most).min(most)
            }
            Head::Tilted => self.beam_rad + shared_w_m2 / light * (self.dome_rad - self.beam_rad),
            Head::BackToBack => (shared_w_m2 / light * self.dome_rad).clamp(c(-MOST_RAD), c(MOST_RAD)),
        }
    }
}

/// Angle between two unit vectors, rad, from their distance: exact for small angles.
#[inline(always)]
pub fn angle_between<V: Lane>(a: [V; 3], b: [V; 3]) -> V {
    let gap = length([a[0] - b[0], a[1] - b[1], a[2] - b[2]]);
    let half = (gap * V::splat(0.5)).min(V::splat(1.0));
    V::splat(2.0) * math::atan2(half, (V::splat(1.0) - half * half).max(V::splat(0.0)).sqrt())
}
