//! The mount: where it looks, where it would rather look, and how it gets there.
//!
//! Directions are unit vectors (east, north, up). A mount moves at the end of a minute, with the light it saw
//! and the supply it had in that minute, so a turn shows in the next.

use super::rows::rows;
use crate::design::{Design, Head, MountKind};
use crate::lanes::{Lane, Mask, math};
use crate::sky::DeadBand;

/// A direction over lanes.
pub(crate) type Direction<V> = [V; 3];

rows! {
    /// A mount.
    MountRows / MountUnit {
        /// Where a fixed one looks.
        fixed_e, fixed_n, fixed_u,
        /// Where a moving one waits.
        rest_e, rest_n, rest_u,
        /// Steepest tilt it reaches: cosine and sine.
        lowest_u, lowest_flat,
        /// Radians a minute.
        speed_rad_min,
        /// Dead band of a step mount, rad.
        step_rad,
        /// Contrast threshold of the head.
        contrast,
        /// Dead band with beam, and with the dome alone, rad.
        band_beam_rad, band_dome_rad,
        /// Light below which it does not seek, W/m².
        dim_w_m2,
        /// Pull of patchy cloud, rad.
        pull_rad,
    }
}

/// Mounts of a block.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Mounts {
    pub kind: MountKind,
    pub head: Head,
    pub stuck_from_day: Option<u16>,
    /// Middle of the azimuths it reaches (east, north) and cosine and sine of the half range; `None` all round.
    pub reach: Option<([f64; 2], f64, f64)>,
    pub rows: MountRows,
}

/// Unit vector of a tilt and azimuth in degrees.
pub(crate) fn direction(tilt_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (sin_t, cos_t) = libm::sincos(tilt_deg.to_radians());
    let (sin_a, cos_a) = libm::sincos(azimuth_deg.to_radians());
    [sin_t * sin_a, sin_t * cos_a, cos_t]
}

impl Mounts {
    pub fn new(designs: &[&Design<f64>]) -> Self {
        let first = &designs[0].mount;
        let half = first.azimuth_half_range_deg;
        let reach = (half < 180.0).then(|| {
            let [e, n, _] = direction(90.0, first.azimuth_centre_deg);
            let (sin_h, cos_h) = libm::sincos(half.to_radians());
            ([e, n], cos_h, sin_h)
        });
        let mut rows = MountRows::default();
        for (lane, d) in designs.iter().enumerate() {
            let m = &d.mount;
            let fixed = direction(m.tilt_deg, m.azimuth_deg);
            let rest = direction(m.rest_tilt_deg.min(m.tilt_max_deg), m.rest_azimuth_deg);
            let (lowest_flat, lowest_u) = libm::sincos(m.tilt_max_deg.clamp(0.0, 90.0).to_radians());
            let band = DeadBand::new(m.head, m.contrast, m.cell_tilt_deg, m.shadow_deg);
            rows.set(
                lane,
                MountUnit {
                    fixed_e: fixed[0],
                    fixed_n: fixed[1],
                    fixed_u: fixed[2],
                    rest_e: rest[0],
                    rest_n: rest[1],
                    rest_u: rest[2],
                    lowest_u,
                    lowest_flat,
                    speed_rad_min: m.speed_deg_s.to_radians() * 60.0,
                    step_rad: m.step_deg.to_radians(),
                    contrast: m.contrast,
                    band_beam_rad: band.beam_rad,
                    band_dome_rad: band.dome_rad,
                    dim_w_m2: m.dim_w_m2,
                    pull_rad: m.pull_deg.to_radians(),
                },
            );
        }
        Mounts { kind: first.kind, head: first.head, stuck_from_day: first.stuck_from_day, reach, rows }
    }

    /// The nearest direction the mount reaches: tilt first, then azimuth.
    #[inline(always)]
    pub fn within_reach<V: Lane>(&self, m: &MountUnit<V>, d: Direction<V>) -> Direction<V> {
        let c = V::splat;
        let low = d[2].lt(m.lowest_u);
        if self.reach.is_none() && !low.any() {
            return d;
        }
        let level = (d[0] * d[0] + d[1] * d[1]).sqrt();
        // Straight up and down have no azimuth: any will do, north is taken.
        let upright = level.lt(c(1e-9));
        let inverse = c(1.0) / level.max(c(1e-9));
        let mut e = V::select(upright, c(0.0), d[0] * inverse);
        let mut n = V::select(upright, c(1.0), d[1] * inverse);
        let mut beyond = low;
        if let Some((centre, cos_h, sin_h)) = self.reach {
            let along = e * c(centre[0]) + n * c(centre[1]);
            let across = e * c(centre[1]) - n * c(centre[0]);
            let out = along.lt(c(cos_h));
            let side = V::select(across.lt(c(0.0)), c(-sin_h), c(sin_h));
            e = V::select(out, c(centre[0] * cos_h) + side * c(centre[1]), e);
            n = V::select(out, c(centre[1] * cos_h) - side * c(centre[0]), n);
            beyond = beyond | out;
        }
        let up = V::select(low, m.lowest_u, d[2]);
        let level = V::select(low, m.lowest_flat, level);
        // A lane within reach must not feel that its neighbour is not, not even by rounding.
        pick(beyond, [e * level, n * level, up], d)
    }
}

impl<V: Lane> MountUnit<V> {
    /// Where a moving mount waits.
    #[inline(always)]
    pub fn rest(&self) -> Direction<V> {
        [self.rest_e, self.rest_n, self.rest_u]
    }
    /// The head's dead band.
    #[inline(always)]
    pub fn band(&self) -> DeadBand<V> {
        DeadBand { beam_rad: self.band_beam_rad, dome_rad: self.band_dome_rad }
    }
}

#[inline(always)]
pub(crate) fn pick<V: Lane>(m: V::Mask, a: Direction<V>, b: Direction<V>) -> Direction<V> {
    [V::select(m, a[0], b[0]), V::select(m, a[1], b[1]), V::select(m, a[2], b[2])]
}

#[inline(always)]
pub(crate) fn dot<V: Lane>(a: Direction<V>, b: Direction<V>) -> V {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// A direction pulled aside by two small angles at right angles to it and to each other, rad; the pull is alike in all
/// directions, so any pair of axes will do. These turn with the direction and have no seam above the horizon (Duff et al. 2017,
/// Journal of Computer Graphics Techniques 6:1, listing 3; from memory).
#[inline(always)]
pub(crate) fn pulled<V: Lane>(d: Direction<V>, one_way: V, other_way: V) -> Direction<V> {
    let c = V::splat;
    let [x, y, z] = d;
    // Straight down is where they part, and lose their right angles: no mount reaches there, and `within_reach` gives what it
    // reaches instead its unit length.
    let a = c(-1.0) / (c(1.0) + z).max(c(1e-3));
    let b = x * y * a;
    let first = [c(1.0) + x * x * a, b, -x];
    let second = [b, c(1.0) + y * y * a, -y];
    let aside = [
        x + one_way * first[0] + other_way * second[0],
        y + one_way * first[1] + other_way * second[1],
        z + one_way * first[2] + other_way * second[2],
    ];
    // The three axes are unit vectors at right angles: the length is known before the direction is, so the root need not wait for it.
    let r = c(1.0) / (c(1.0) + one_way * one_way + other_way * other_way).sqrt();
    [aside[0] * r, aside[1] * r, aside[2] * r]
}

/// Square of the chord up to which [`arc`] takes its series: 26°.
const SHORT_CHORD2: f64 = 0.2;

/// A turn the mount would make.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn<V: Lane> {
    /// It wants to.
    pub wish: V::Mask,
    /// Angle to go, rad.
    pub angle_rad: V,
    /// Share of the minute its motors would turn.
    pub share: V,
}

/// Whether a mount wants to turn: off by more than its dead band (rad, < pi/2).
#[inline(always)]
pub(crate) fn turn<V: Lane>(from: Direction<V>, to: Direction<V>, band_rad: V, speed_rad_min: V) -> Turn<V> {
    let c = V::splat;
    let gap = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
    let chord2 = dot(gap, gap);
    // Chord of the band, to fourth order below it: no arc needed to see that nothing is wanted.
    let half = c(0.5) * band_rad;
    let chord = c(2.0) * half * (c(1.0) - half * half * c(1.0 / 6.0));
    let wish = chord2.gt(chord * chord);
    let (mut angle_rad, mut share) = (c(0.0), c(0.0));
    if wish.any() {
        angle_rad = V::only(wish, arc(chord2));
        share = (angle_rad / speed_rad_min).min(c(1.0));
    }
    Turn { wish, angle_rad, share }
}

/// Angle of a chord on the unit circle, rad, from its square: 2 arc sin (chord/2). For short chords a series, off by less than 2e-10 rad.
#[inline(always)]
fn arc<V: Lane>(chord2: V) -> V {
    let c = V::splat;
    // (2 arc sin(x/2)/x) in powers of x²: 1, 1/24, 3/640, 5/7168, 35/294912, 63/2883584.
    let mut series = c(63.0 / 2_883_584.0);
    for k in [35.0 / 294_912.0, 5.0 / 7168.0, 3.0 / 640.0, 1.0 / 24.0, 1.0] {
        series = series * chord2 + c(k);
    }
    let chord = chord2.sqrt();
    let long = chord2.ge(c(SHORT_CHORD2));
    let mut angle = chord * series;
    if long.any() {
        let half = (c(0.5) * chord).min(c(1.0));
        let wide = c(2.0) * math::atan2(half, (c(1.0) - half * half).sqrt());
        angle = V::select(long, wide, angle);
    }
    angle
}

/// Turns on the great circle for part of a minute; gives the new direction and the angle gone, rad.
#[inline(always)]
pub(crate) fn go<V: Lane>(
    from: Direction<V>,
    to: Direction<V>,
    t: &Turn<V>,
    moved: V,
    speed_rad_min: V,
) -> (Direction<V>, V) {
    let c = V::splat;
    // The share of the minute was the angle over the speed: what comes back is not the angle to the last digit.
    let arrives = (moved * speed_rad_min).ge(t.angle_rad * c(1.0 - 4.0 * V::EPSILON));
    let gone = V::select(arrives, t.angle_rad, moved * speed_rad_min);
    let mut there = to;
    if (!arrives).any() {
        let cos_all = dot(from, to);
        let aside = [to[0] - from[0] * cos_all, to[1] - from[1] * cos_all, to[2] - from[2] * cos_all];
        let inverse = c(1.0) / dot(aside, aside).max(c(1e-18)).sqrt();
        let (s, k) = math::sin_cos(gone);
        let aside_s = inverse * s;
        let on_the_way = [
            from[0] * k + aside[0] * aside_s,
            from[1] * k + aside[1] * aside_s,
            from[2] * k + aside[2] * aside_s,
        ];
        there = pick(arrives, to, on_the_way);
    }
    let moves = gone.gt(c(0.0));
    (pick(moves, there, from), gone)
}
