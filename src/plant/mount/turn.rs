//! A mount's turn from where it looks to its target.

use super::direction::{Direction, dot, pick};
use crate::lanes::{Lane, Mask, math};

/// Square of the chord up to which [`arc`] uses its series: 26°.
const SHORT_CHORD2: f64 = 0.2;

/// A turn the mount would make.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn<V: Lane> {
    /// It wants to turn.
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
    // Chord of the band, slightly too small (to fourth order): no arc is needed to see that no turn is wanted.
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
    // The share of the minute was the angle over the speed: multiplied by the speed it gives the angle only up to rounding.
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
