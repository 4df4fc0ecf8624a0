//! What the minutes of a day need of its hours, for the sixteen trials of a block: indices of beam and diffuse light, and from
//! them how much of each hour is sunlit and how much the light varies.

use super::amplitude::{drawn_sd, expected_sd, switching_sd};
use super::clouds::CLOSED;
use crate::lanes::{BLOCK, Kernel, Lane, Mask, RowF64};
use crate::weather::days::clear_day::ClearDay;

/// Least and largest index of a day's full sun; between them it is the day's brightest hour. Below the
/// least no hour was sunny, above the largest the clear sky is too low.
const FULL_SUN: [f64; 2] = [0.8, 1.25];
/// Largest amplitude of the diffuse light's own unrest, share of its mean.
const MOST_UNREST: f64 = 0.4;

/// What the minutes of a day need of its hours.
#[derive(Clone, Debug, Default)]
pub struct BlockHours {
    /// Beam index by slot.
    pub beam: [RowF64; 24],
    /// Diffuse index.
    pub diffuse: [RowF64; 24],
    /// Uniform numbers in (0, 1) for the amplitude.
    pub luck: [RowF64; 24],
    /// Sunlit share; 0 hidden throughout, 1 sunlit or no edges drawn.
    pub share: [RowF64; 24],
    /// How fully the clouds switch: 1 on and off, 0 not at all.
    pub depth: [RowF64; 24],
    /// Amplitude of the diffuse light's own unrest, share.
    pub unrest: [RowF64; 24],
    /// Index of full sun on this day.
    pub full_sun: RowF64,
}

/// Fills `share`, `depth` and `unrest` of [`BlockHours`].
pub struct PrepareHours<'a> {
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
            let mut full = c(FULL_SUN[0]);
            for h in 0..24 {
                if clear.high[h] {
                    full = full.max(V::of(&hours.beam[h], at));
                }
            }
            let full = full.min(c(FULL_SUN[1]));
            full.put(&mut hours.full_sun, at);
            for h in 0..24 {
                let (b, d) = (clear.beam_horizontal_w_m2[h], clear.dhi_w_m2[h]);
                if d <= 0.0 {
                    continue;
                }
                let k = global_index::<V>(hours, clear, h, at);
                // Beyond sunrise and sunset the index goes on as it was.
                let (sun_before, sun_after) = (h > 0 && clear.sun(h - 1), h < 23 && clear.sun(h + 1));
                let before = if sun_before { global_index::<V>(hours, clear, h - 1, at) } else { k };
                let after = if sun_after { global_index::<V>(hours, clear, h + 1, at) } else { k };
                let sd = drawn_sd(expected_sd(before, k, after), V::of(&hours.luck[h], at));

                let beam = V::of(&hours.beam[h], at);
                let f = beam / full;
                let hidden = f.lt(c(CLOSED));
                let open = f.gt(c(1.0 - CLOSED)) | V::Mask::splat(!clear.edges[h]);
                let whole = hidden | open;
                let f = V::select(open, c(1.0), V::select(hidden, c(0.0), f));
                // Index of GHI between sun and cloud, times the switching of the sunlit share.
                let step = full * c(b / (b + d));
                let switched = V::select(whole, c(0.0), step * switching_sd(f));
                let depth = (sd / switched.max(c(1e-9))).min(c(1.0));
                let done = depth * switched;
                let rest = ((sd - done) * (sd + done)).max(c(0.0)).sqrt();
                let diffuse = V::of(&hours.diffuse[h], at) * c(d / (b + d));
                let unrest = (rest / diffuse.max(c(1e-9))).min(c(MOST_UNREST));
                f.put(&mut hours.share[h], at);
                depth.put(&mut hours.depth[h], at);
                unrest.put(&mut hours.unrest[h], at);
            }
        }
    }
}

/// Clear-sky index of GHI of an hour with the sun up.
#[inline(always)]
fn global_index<V: Lane>(hours: &BlockHours, clear: &ClearDay, h: usize, at: usize) -> V {
    let (b, d) = (clear.beam_horizontal_w_m2[h], clear.dhi_w_m2[h]);
    let (beam, diffuse) = (V::of(&hours.beam[h], at), V::of(&hours.diffuse[h], at));
    (beam * V::splat(b) + diffuse * V::splat(d)) * V::splat(1.0 / (b + d))
}
