//! The light of a day on a mount, before anything a unit carries enters.
//!
//! How the sky of a minute is made up, and where a head balances under it, depends on neither charge nor voltage nor
//! where a mount stands. So it is a pass of its own, laid down once for all builds that see alike
//! ([`UnitBlock::shares_light_with`]); the minute step reads it.

use super::mount::{MountUnit, pick, pulled};
use super::record::rows::rows;
use super::scene::Scene;
use super::units::UnitBlock;
use crate::design::MountKind;
use crate::lanes::{BLOCK, Isa, Kernel, Lane, Mask, RowF32, RowF64, run};
use crate::sky::{Sky, SunTerms, balance, on_plane};
use crate::weather::BlockDay;

rows! {
    /// A minute with the sun up, as a moving mount meets it.
    MountLightRows / MountLight of RowF32 {
        /// Parts of the sky behind the skyline, W/m²: see [`Sky`].
        beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2,
        /// Where the mount would look.
        to_e, to_n, to_u,
        /// How far off that it stays put, rad.
        band_rad,
    } flags {
        /// It goes to where it waits rather than after the light.
        resting,
    }
}

impl<V: Lane> MountLight<V> {
    /// The sky, without what only draws a head: that has looked already.
    #[inline(always)]
    pub fn sky(&self) -> Sky<V> {
        let (zero, MountLight { beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2, .. }) =
            (V::splat(0.0), *self);
        Sky { beam_w_m2, circumsolar_w_m2: zero, dome_w_m2, horizon_w_m2, sunward_w_m2: zero, global_w_m2 }
    }
}

/// The light of one day for the sixteen units of a block.
#[derive(Clone, Debug, Default)]
pub struct Light {
    /// A fixed panel: irradiance through its cover, W/m², by minute with the sun up.
    pub(super) plane_w_m2: Vec<RowF32>,
    /// A moving mount: the same minutes.
    pub(super) on_mount: Vec<MountLightRows>,
    /// Sum of the global horizontal irradiance, W/m² minutes.
    pub(super) ghi_w_m2_min: RowF64,
}

impl Light {
    /// Lays down a day of the scene: what its weather is for these units' mounts.
    pub fn compute(&mut self, isa: Isa, scene: &Scene, index: usize, units: &UnitBlock, weather: &BlockDay) {
        let minutes = weather.dni_w_m2.len();
        let (fixed, moving) = match units.mounts.kind {
            MountKind::Fixed => (minutes, 0),
            MountKind::SunFollowing | MountKind::LightSeeking => (0, minutes),
        };
        self.plane_w_m2.resize(fixed, RowF32::default());
        self.on_mount.resize(moving, MountLightRows::default());
        run(isa, LightKernel { scene, index, units, weather, light: self });
    }
}

impl UnitBlock {
    /// Whether the same weather is the same [`Light`] for both, given one [`Scene`].
    pub fn shares_light_with(&self, other: &UnitBlock) -> bool {
        let covers = match self.mounts.kind {
            MountKind::Fixed => self.panel.b0 == other.panel.b0,
            MountKind::SunFollowing | MountKind::LightSeeking => true,
        };
        self.mounts == other.mounts && self.albedo == other.albedo && covers
    }
}

struct LightKernel<'a> {
    scene: &'a Scene,
    index: usize,
    units: &'a UnitBlock,
    weather: &'a BlockDay,
    light: &'a mut Light,
}

impl Kernel for LightKernel<'_> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(self) {
        let LightKernel { scene, index, units, weather, light } = self;
        let day = usize::from(scene.days[index].day_of_year);
        let (calendar, shares, open) = (&scene.calendar.days[day], &scene.sun_shares[day], &scene.open);
        let (mounts, kind) = (&units.mounts, units.mounts.kind);
        light.ghi_w_m2_min = RowF64::default();
        for at in (0..BLOCK).step_by(V::N) {
            let c = V::splat;
            let albedo = V::of(&units.albedo, at);
            let mount = MountUnit::<V>::of(&mounts.rows, at);
            let b0 = V::of(&units.panel.b0, at);
            let mut ghi = c(0.0);
            for (k, sun) in calendar.minutes.iter().enumerate() {
                let terms = SunTerms::from(sun);
                let share = shares.get(k).copied().unwrap_or(1.0);
                let minute = calendar.first + k;
                let (dni, dhi) = (V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at));
                let sky = terms.behind_skyline(dni, dhi, open, share);
                ghi = ghi + (dni * c(sun.up) + dhi);
                if minute % 60 == 59 || k + 1 == calendar.minutes.len() {
                    light.ghi_w_m2_min.add(at, ghi);
                    ghi = c(0.0);
                }
                let (to, band_rad, resting) = match kind {
                    MountKind::Fixed => {
                        let normal = [mount.fixed_e, mount.fixed_n, mount.fixed_u];
                        let plane = on_plane(&sky, terms.sun, normal, b0, albedo, open).total_w_m2();
                        plane.put(&mut light.plane_w_m2[k], at);
                        continue;
                    }
                    MountKind::SunFollowing => {
                        let to = [c(terms.sun[0]), c(terms.sun[1]), c(terms.sun[2])];
                        (mounts.within_reach(&mount, to), mount.step_rad, V::Mask::splat(false))
                    }
                    MountKind::LightSeeking => {
                        let head = mounts.head;
                        let seen = balance(head, &sky, &terms, albedo, mount.contrast, open);
                        let mut to = seen.direction;
                        let spread = mount.pull_rad * V::of(&weather.patchy[minute / 60], at);
                        let drawn = spread.gt(c(0.0));
                        if drawn.any() {
                            let pull = &weather.pull[minute / 10];
                            let [one, other] = [V::of(&pull[0], at), V::of(&pull[1], at)];
                            // Even a pull of nothing rounds: a lane must not feel that its neighbour is pulled.
                            to = pick(drawn, pulled(to, spread * one, spread * other), to);
                        }
                        let to = mounts.within_reach(&mount, to);
                        let dim = !(seen.light_w_m2.ge(mount.dim_w_m2) & seen.found);
                        let band = V::select(dim, mount.step_rad, mount.band().under(head, &sky));
                        (pick(dim, mount.rest(), to), band, dim)
                    }
                };
                let Sky { beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2, .. } = sky;
                let lit = MountLight {
                    beam_w_m2,
                    dome_w_m2,
                    horizon_w_m2,
                    global_w_m2,
                    to_e: to[0],
                    to_n: to[1],
                    to_u: to[2],
                    band_rad,
                    resting,
                };
                lit.put(&mut light.on_mount[k], at);
            }
        }
    }
}
