//! What the minutes of a day need of its hours, for the sixteen trials of a block: indices of beam and diffuse light, and from
//! them how much of each hour is sunlit and how much the light varies.

use super::amplitude::{difference_to_neighbours, drawn_sd, expected_sd, switching_sd};
use super::broken_sky::{OF_UNBROKEN, diffuse_under_clouds, of_broken, sunlit_share, unbroken_below};
use super::clouds::HIDDEN_BELOW;
use crate::lanes::{BLOCK, Kernel, Lane, Mask, RowF64};
use crate::weather::days::clear_day::ClearDay;

/// Range of the beam index of full sun, which is that of the day's brightest hour: below it no hour was sunny, above it the
/// clear sky is too dark.
const FULL_SUN_RANGE: [f64; 2] = [0.8, 1.25];
/// Largest standard deviation of the diffuse light within an hour, share of its mean.
const DIFFUSE_VARIATION_MAX: f64 = 0.4;
/// Least share of a broken hour that clouds hide.
const HIDDEN_LEAST: f64 = 0.03;

/// What the minutes of a day need of its hours.
#[derive(Clone, Debug, Default)]
pub(crate) struct BlockHours {
    /// Beam index by slot.
    pub beam: [RowF64; 24],
    /// Diffuse index.
    pub diffuse: [RowF64; 24],
    /// Uniform numbers in (0, 1) for the amplitude.
    pub amplitude_draw: [RowF64; 24],
    /// Standard normal numbers that decide which hours are unbroken.
    pub unbroken_draw: [RowF64; 24],
    /// Sunlit share; 0 hidden throughout, 1 sunlit or no edges drawn.
    pub share: [RowF64; 24],
    /// How fully the clouds switch: 1 on and off, 0 not at all.
    pub switching: [RowF64; 24],
    /// How much more diffuse light there is with the sun out than with the sun hidden, share of its mean.
    pub diffuse_step: [RowF64; 24],
    /// Standard deviation of the diffuse light apart from clouds, share of its mean.
    pub diffuse_variation: [RowF64; 24],
    /// Index of full sun on this day.
    pub full_sun: RowF64,
}

/// Fills `share`, `switching` and `diffuse_variation` of [`BlockHours`].
pub(crate) struct PrepareHours<'a> {
    /// The hours.
    pub hours: &'a mut BlockHours,
    /// Their clear sky.
    pub clear: &'a ClearDay,
}

impl Kernel for PrepareHours<'_> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(self) {
        let c = V::splat;
        let PrepareHours { hours, clear } = self;
        for at in (0..BLOCK).step_by(V::N) {
            let mut full = c(FULL_SUN_RANGE[0]);
            for h in 0..24 {
                if clear.high[h] {
                    full = full.max(V::of(&hours.beam[h], at));
                }
            }
            let full = full.min(c(FULL_SUN_RANGE[1]));
            full.put(&mut hours.full_sun, at);
            for h in (0..24).filter(|&h| clear.sun(h)) {
                hour::<V>(hours, clear, h, full, at);
            }
        }
    }
}

/// Share, switching and diffuse light of an hour with the sun up.
#[inline(always)]
fn hour<V: Lane>(hours: &mut BlockHours, clear: &ClearDay, h: usize, full: V, at: usize) {
    let c = V::splat;
    let (b, d) = (clear.beam_horizontal_w_m2[h], clear.dhi_w_m2[h]);
    let k = global_index::<V>(hours, clear, h, at);
    // Before sunrise and after sunset the index counts as unchanged.
    let (sun_before, sun_after) = (h > 0 && clear.sun(h - 1), h < 23 && clear.sun(h + 1));
    let before = if sun_before { global_index::<V>(hours, clear, h - 1, at) } else { k };
    let after = if sun_after { global_index::<V>(hours, clear, h + 1, at) } else { k };
    let sigma_3 = difference_to_neighbours(before, k, after);
    let sd = drawn_sd(expected_sd(k, sigma_3), V::of(&hours.amplitude_draw[h], at));

    let f = V::of(&hours.beam[h], at) / full;
    let hidden = f.lt(c(HIDDEN_BELOW));
    let high = V::Mask::splat(clear.edges[h]);
    let even = V::of(&hours.unbroken_draw[h], at).lt(unbroken_below(sigma_3, f.min(c(1.0))));
    let sd = sd * V::select(hidden, c(1.0), V::select(even, c(OF_UNBROKEN), of_broken(f)));
    let open = !hidden & (even | !high);
    let whole = hidden | open;
    let f = V::select(open, c(1.0), V::select(hidden, c(0.0), sunlit_share(f).min(c(1.0 - HIDDEN_LEAST))));
    // Index of GHI between sun and cloud, times the switching of the sunlit share.
    let diffuse = V::of(&hours.diffuse[h], at) * c(d / (b + d));
    let diffuse_step = V::select(whole, c(0.0), diffuse_under_clouds(f));
    let step = V::of(&hours.beam[h], at) / f.max(c(HIDDEN_BELOW)) * c(b / (b + d)) + diffuse_step * diffuse;
    let switched = V::select(whole, c(0.0), step * switching_sd(f));
    let switching = (sd / switched.max(c(1e-9))).min(c(1.0));
    let done = switching * switched;
    let rest = ((sd - done) * (sd + done)).max(c(0.0)).sqrt();
    let diffuse_variation = (rest / diffuse.max(c(1e-9))).min(c(DIFFUSE_VARIATION_MAX));
    (diffuse_step * switching).put(&mut hours.diffuse_step[h], at);

    f.put(&mut hours.share[h], at);
    switching.put(&mut hours.switching[h], at);
    diffuse_variation.put(&mut hours.diffuse_variation[h], at);
}

/// Clear-sky index of GHI of an hour with the sun up.
#[inline(always)]
fn global_index<V: Lane>(hours: &BlockHours, clear: &ClearDay, h: usize, at: usize) -> V {
    let (b, d) = (clear.beam_horizontal_w_m2[h], clear.dhi_w_m2[h]);
    let (beam, diffuse) = (V::of(&hours.beam[h], at), V::of(&hours.diffuse[h], at));
    (beam * V::splat(b) + diffuse * V::splat(d)) * V::splat(1.0 / (b + d))
}
