//! The light of a day on a mount, before the state of any unit.
//!
//! How the sky of a minute is made up, and where a head balances under it, depends on no charge, no voltage and no position of
//! the mount. So it is computed once for all builds that share it ([`UnitBlock::shares_light_with`]); the minute step in
//! [`day`](super::day) reads it. The sky itself is in [`sky`](crate::sky), the clouds in `weather`.

use super::mount::{MountUnit, Mounts, leaned, pick, pulled};
use super::record::rows::rows;
use super::scene::Scene;
use super::units::UnitBlock;
use crate::design::MountKind;
use crate::lanes::{BLOCK, Isa, Kernel, Lane, Mask, RowF32, RowF64, run};
use crate::sky::{OpenSky, Sky, SunTerms, balance, on_plane};
use crate::weather::BlockDay;

rows! {
    /// A minute with the sun up, as a moving mount meets it.
    MountLightRows / MountLight of RowF32 {
        /// Parts of the sky behind the skyline, W/m²: see [`Sky`].
        beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2,
        /// Where the mount would look.
        to_e, to_n, to_u,
        /// Angle off target below which it stays where it is, rad.
        band_rad,
    } flags {
        /// It goes to its waiting position instead of following the light.
        resting,
    }
}

impl<V: Lane> MountLight<V> {
    #[inline(always)]
    fn new(sky: &Sky<V>, to: [V; 3], band_rad: V, resting: V::Mask) -> Self {
        let Sky { beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2, .. } = *sky;
        let [to_e, to_n, to_u] = to;
        MountLight { beam_w_m2, dome_w_m2, horizon_w_m2, global_w_m2, to_e, to_n, to_u, band_rad, resting }
    }

    /// The sky for the irradiance of a panel. Terms that act on a head alone are zero: the head has been asked already.
    #[inline(always)]
    pub(crate) fn sky(&self) -> Sky<V> {
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
    /// Computes a day of the scene: the light of its weather on these units' mounts.
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
    pub(crate) fn shares_light_with(&self, other: &UnitBlock) -> bool {
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
        let (calendar, shares, open) = (&scene.calendar.days[day], &scene.sun_shares[day], scene.open(index));
        light.ghi_w_m2_min = RowF64::default();
        for at in (0..BLOCK).step_by(V::N) {
            let lanes = MountLanes::<V>::of(units, open, at);
            let mut ghi_w_m2_min = V::splat(0.0);
            for (k, sun) in calendar.minutes.iter().enumerate() {
                let terms = SunTerms::from(sun);
                let share = shares.get(k).copied().unwrap_or([1.0; 2]);
                let minute = calendar.first + k;
                let (dni, dhi) = (V::of(&weather.dni_w_m2[k], at), V::of(&weather.dhi_w_m2[k], at));
                let sky = terms.behind_skyline(dni, dhi, open, share);
                ghi_w_m2_min = ghi_w_m2_min + (dni * V::splat(sun.up) + dhi);
                if minute % 60 == 59 || k + 1 == calendar.minutes.len() {
                    light.ghi_w_m2_min.add(at, ghi_w_m2_min);
                    ghi_w_m2_min = V::splat(0.0);
                }
                let on_mount = match units.mounts.kind {
                    MountKind::Fixed => {
                        lanes.on_fixed(&sky, &terms).put(&mut light.plane_w_m2[k], at);
                        continue;
                    }
                    MountKind::SunFollowing => lanes.on_sun_following(&sky, &terms),
                    MountKind::LightSeeking => lanes.on_light_seeking(&sky, &terms, weather, minute),
                };
                on_mount.put(&mut light.on_mount[k], at);
            }
        }
    }
}

/// The mounts of some lanes, and what surrounds them.
struct MountLanes<'a, V: Lane> {
    mounts: &'a Mounts,
    open: &'a OpenSky,
    at: usize,
    mount: MountUnit<V>,
    b0: V,
    albedo: V,
}

impl<'a, V: Lane> MountLanes<'a, V> {
    #[inline(always)]
    fn of(units: &'a UnitBlock, open: &'a OpenSky, at: usize) -> Self {
        MountLanes {
            mounts: &units.mounts,
            open,
            at,
            mount: MountUnit::of(&units.mounts.rows, at),
            b0: V::of(&units.panel.b0, at),
            albedo: V::of(&units.albedo, at),
        }
    }

    /// Irradiance on a fixed panel through its cover, W/m².
    #[inline(always)]
    fn on_fixed(&self, sky: &Sky<V>, terms: &SunTerms) -> V {
        let normal = [self.mount.fixed_e, self.mount.fixed_n, self.mount.fixed_u];
        on_plane(sky, terms.sun, normal, self.b0, self.albedo, self.open).total_w_m2()
    }

    /// What a mount meets that follows the sun's computed position.
    #[inline(always)]
    fn on_sun_following(&self, sky: &Sky<V>, terms: &SunTerms) -> MountLight<V> {
        let c = V::splat;
        let to = [c(terms.sun[0]), c(terms.sun[1]), c(terms.sun[2])];
        let to = self.mounts.within_reach(&self.mount, to);
        MountLight::new(sky, to, self.mount.step_rad, V::Mask::splat(false))
    }

    /// What a mount meets whose head turns to where its photocells balance; patchy cloud pulls it aside.
    #[inline(always)]
    fn on_light_seeking(
        &self,
        sky: &Sky<V>,
        terms: &SunTerms,
        weather: &BlockDay,
        minute: usize,
    ) -> MountLight<V> {
        let (head, mount) = (self.mounts.head, &self.mount);
        let balanced = balance(head, &mount.optics(), sky, terms, self.albedo, self.open);
        let mut to = balanced.direction;
        let (telling, shared) = (balanced.telling_w_m2, balanced.shared_w_m2);
        if self.mounts.cells_differ {
            let tilt_rad = mount.tilt_off().under(head, telling, shared);
            let turn_rad = mount.turn_off().under(head, telling, shared);
            to = leaned(to, terms.azimuth, tilt_rad, turn_rad);
        }
        let spread_rad = mount.pull_rad * V::of(&weather.patchy[minute / 60], self.at);
        let drawn = spread_rad.gt(V::splat(0.0));
        if drawn.any() {
            let pull = &weather.pull[minute / 10];
            let [one, other] = [V::of(&pull[0], self.at), V::of(&pull[1], self.at)];
            // Even a pull of zero rounds: a lane's bits must not depend on whether its neighbour is pulled.
            to = pick(drawn, pulled(to, spread_rad * one, spread_rad * other), to);
        }
        let to = self.mounts.within_reach(mount, to);
        let dim = !(balanced.light_w_m2.ge(mount.dim_w_m2) & balanced.found);
        let band_rad = V::select(dim, mount.step_rad, mount.band().under(head, telling, shared));
        MountLight::new(sky, pick(dim, mount.rest(), to), band_rad, dim)
    }
}
