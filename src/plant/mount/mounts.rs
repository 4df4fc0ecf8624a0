//! The mounts of a block, and the directions they reach.

use super::direction::{Direction, direction, pick};
use super::hunt::{noise_share, overshoot_share};
use crate::design::{Design, Head, MountKind};
use crate::lanes::{Lane, Mask};
use crate::plant::record::rows::rows;
use crate::sky::{DeadBand, HeadOptics};

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
        /// Tangent of the angle at which the shadow of the head's walls covers a whole cell.
        shadow_tan,
        /// Share of the glow that walls see under a closed cover.
        glow_seen,
        /// Dead band with beam, and with the dome alone, rad.
        band_beam_rad, band_dome_rad,
        /// How far cells that differ tilt the aim (down: positive), the same way, rad ...
        tilt_off_beam_rad, tilt_off_dome_rad,
        /// ... and turn it (clockwise: positive).
        turn_off_beam_rad, turn_off_dome_rad,
        /// Contrast of its dead band, and standard deviation of the contrast's noise, as the cells see them.
        band_contrast, noise,
        /// How far its motors run before they stop or turn, and how far they coast then, rad.
        run_on_rad, coast_rad,
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
    /// The cells of some head of the block differ.
    pub cells_differ: bool,
    /// Some head of the block has noise, delay or coasting.
    pub may_hunt: bool,
    pub rows: MountRows,
}

impl Mounts {
    pub(crate) fn new(designs: &[&Design<f64>]) -> Self {
        let first = &designs[0].mount;
        let half = first.azimuth_half_range_deg;
        let reach = (half < 180.0).then(|| {
            let [e, n, _] = direction(90.0, first.azimuth_centre_deg);
            let (sin_h, cos_h) = libm::sincos(half.to_radians());
            ([e, n], cos_h, sin_h)
        });
        let mut rows = MountRows::default();
        let mut cells_differ = false;
        let mut may_hunt = false;
        for (lane, d) in designs.iter().enumerate() {
            let m = &d.mount;
            let fixed = direction(m.tilt_deg, m.azimuth_deg);
            let rest = direction(m.rest_tilt_deg.min(m.tilt_max_deg), m.rest_azimuth_deg);
            let (lowest_flat, lowest_u) = libm::sincos(m.tilt_max_deg.clamp(0.0, 90.0).to_radians());
            // A cover that evens out part of the light leaves the cells less to tell them apart by.
            let clear = 1.0 - m.cover_scatter;
            let band = DeadBand::new(m.head, (m.contrast / clear).min(0.95), m.cell_tilt_deg, m.shadow_deg);
            let [tilt_off, turn_off] = [m.mismatch_tilt, m.mismatch_turn]
                .map(|share| DeadBand::of_mismatch(m.head, share / clear, m.cell_tilt_deg, m.shadow_deg));
            may_hunt |= m.noise > 0.0 || m.delay_min > 0.0 || m.coast_deg > 0.0;
            cells_differ |= m.mismatch_tilt != 0.0 || m.mismatch_turn != 0.0;
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
                    shadow_tan: libm::tan(m.shadow_deg.to_radians()),
                    glow_seen: m.overcast_glow,
                    band_beam_rad: band.beam_rad,
                    band_dome_rad: band.dome_rad,
                    tilt_off_beam_rad: tilt_off.beam_rad,
                    tilt_off_dome_rad: tilt_off.dome_rad,
                    turn_off_beam_rad: turn_off.beam_rad,
                    turn_off_dome_rad: turn_off.dome_rad,
                    band_contrast: m.contrast,
                    noise: m.noise,
                    run_on_rad: (m.speed_deg_s * 60.0 * m.delay_min).to_radians(),
                    coast_rad: m.coast_deg.to_radians(),
                    dim_w_m2: m.dim_w_m2,
                    pull_rad: m.pull_deg.to_radians(),
                },
            );
        }
        Mounts {
            kind: first.kind,
            head: first.head,
            stuck_from_day: first.stuck_from_day,
            reach,
            cells_differ,
            may_hunt: may_hunt && first.kind == MountKind::LightSeeking,
            rows,
        }
    }

    /// The nearest direction the mount reaches: tilt first, then azimuth.
    #[inline(always)]
    pub(crate) fn within_reach<V: Lane>(&self, m: &MountUnit<V>, d: Direction<V>) -> Direction<V> {
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
        // The bits of a lane within reach must not depend on its neighbour.
        pick(beyond, [e * level, n * level, up], d)
    }
}

impl<V: Lane> MountUnit<V> {
    /// Where a moving mount waits.
    #[inline(always)]
    pub(crate) fn rest(&self) -> Direction<V> {
        [self.rest_e, self.rest_n, self.rest_u]
    }
    /// Share of the time that noise alone makes its motors turn, under a sky that is `patchy` (0..=1).
    #[inline(always)]
    pub(crate) fn noise_share(&self, patchy: V) -> V {
        noise_share(self.band_contrast, self.noise, patchy)
    }
    /// Share of the time that overshoot makes its motors turn, with a dead band of this angle, rad.
    #[inline(always)]
    pub(crate) fn overshoot_share(&self, band_rad: V) -> V {
        overshoot_share(band_rad, self.run_on_rad, self.coast_rad)
    }
    /// What of the head decides where it balances.
    #[inline(always)]
    pub(crate) fn optics(&self) -> HeadOptics<V> {
        HeadOptics { shadow_tan: self.shadow_tan, glow_seen: self.glow_seen }
    }
    /// How far its cells tilt its aim.
    #[inline(always)]
    pub(crate) fn tilt_off(&self) -> DeadBand<V> {
        DeadBand { beam_rad: self.tilt_off_beam_rad, dome_rad: self.tilt_off_dome_rad }
    }
    /// How far its cells turn its aim.
    #[inline(always)]
    pub(crate) fn turn_off(&self) -> DeadBand<V> {
        DeadBand { beam_rad: self.turn_off_beam_rad, dome_rad: self.turn_off_dome_rad }
    }
    /// The head's dead band.
    #[inline(always)]
    pub(crate) fn band(&self) -> DeadBand<V> {
        DeadBand { beam_rad: self.band_beam_rad, dome_rad: self.band_dome_rad }
    }
}
