//! Directions over lanes: unit vectors (east, north, up).

use crate::lanes::Lane;

/// A direction over lanes.
pub(crate) type Direction<V> = [V; 3];

/// Unit vector of a tilt and azimuth in degrees.
pub(crate) fn direction(tilt_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (sin_t, cos_t) = libm::sincos(tilt_deg.to_radians());
    let (sin_a, cos_a) = libm::sincos(azimuth_deg.to_radians());
    [sin_t * sin_a, sin_t * cos_a, cos_t]
}

#[inline(always)]
pub(crate) fn pick<V: Lane>(m: V::Mask, a: Direction<V>, b: Direction<V>) -> Direction<V> {
    [V::select(m, a[0], b[0]), V::select(m, a[1], b[1]), V::select(m, a[2], b[2])]
}

#[inline(always)]
pub(crate) fn dot<V: Lane>(a: Direction<V>, b: Direction<V>) -> V {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// A direction pulled aside by two small angles at right angles to it and to each other, rad. The pull is
/// the same in all directions, so any pair of axes will do. This pair turns with the direction and is continuous above the horizon
/// (Duff et al. 2017, Journal of Computer Graphics Techniques 6:1, listing 3; from memory).
#[inline(always)]
pub(crate) fn pulled<V: Lane>(d: Direction<V>, one_way: V, other_way: V) -> Direction<V> {
    let c = V::splat;
    let [x, y, z] = d;
    // Only straight down the axes jump and lose their right angles: no mount reaches there, and `within_reach` gives a unit vector
    // again.
    let a = c(-1.0) / (c(1.0) + z).max(c(1e-3));
    let b = x * y * a;
    let first = [c(1.0) + x * x * a, b, -x];
    let second = [b, c(1.0) + y * y * a, -y];
    let aside = [
        x + one_way * first[0] + other_way * second[0],
        y + one_way * first[1] + other_way * second[1],
        z + one_way * first[2] + other_way * second[2],
    ];
    // The three axes are unit vectors at right angles: the length is known before the direction, so the root need not wait for it.
    let r = c(1.0) / (c(1.0) + one_way * one_way + other_way * other_way).sqrt();
    [aside[0] * r, aside[1] * r, aside[2] * r]
}

/// A direction off by a small angle toward the side of an azimuth (unit vector east, north), where it leans down, and by another clockwise,
/// rad: as a head that tilts and turns sees its own two axes. On the sun's side of the zenith the first lowers the aim.
#[inline(always)]
pub(crate) fn leaned<V: Lane>(d: Direction<V>, azimuth: [f64; 2], down: V, clockwise: V) -> Direction<V> {
    let c = V::splat;
    let (east, north) = (c(azimuth[0]), c(azimuth[1]));
    let toward = d[0] * east + d[1] * north;
    let aside = [
        d[0] + down * (d[2] * east) + clockwise * north,
        d[1] + down * (d[2] * north) - clockwise * east,
        d[2] - down * toward,
    ];
    let r = c(1.0) / dot(aside, aside).sqrt();
    [aside[0] * r, aside[1] * r, aside[2] * r]
}
