//! When the sun is out: clouds that pass in one hour.
//!
//! Clouds of power-law length (Wood & Field 2011) drift by at the day's cloud speed until they fill the
//! hidden share of the hour, the last one trimmed; exponential gaps, scaled together, fill the rest.
//! The sunlit share of the hour is therefore exact. An hour begins as the one before it
//! ended; how it ends is drawn with the share of the two hours that meet there.

use super::cloud_laws::CLOUD_LAWS;
use rand::{RngExt, rngs::ChaCha8Rng};

/// Sunlit share below which an hour counts as hidden throughout, and above 1 minus which as sunlit.
pub const CLOSED: f64 = 0.02;
/// Most clouds in an hour (at 100 m and 20 m/s, 60 would make five minutes); the last is stretched.
const MOST: usize = 64;

/// The clouds over one trial on one day, carried from hour to hour.
#[derive(Clone, Copy, Debug)]
pub struct CloudState {
    /// Speed of clouds, m/s.
    pub speed_m_s: f64,
    /// Whether the sun is out; `None` before the first hour with clouds.
    pub sunny: Option<bool>,
}

/// Minutes in which a change of the sunlit share may fall: those of an hour, and two beyond for an edge at its end (an hour cut
/// short by sunrise or sunset has its end earlier; what is told beyond it is not read).
pub const CHANGES: usize = 62;

/// Lets clouds pass over an hour of `minutes` minutes whose mean sunlit share is `share` (strictly between [`CLOSED`] and
/// 1 - [`CLOSED`]). `next_share` is that of the hour that follows.
///
/// Each edge of a cloud is told as changes of the sunlit share from one minute to the next, `change(minute, by)` with
/// `minute` below [`CHANGES`]: summed up from the first minute on they are the share of each. So an edge is two additions
/// wherever it falls, and lanes sum side by side.
#[inline]
pub fn pass(
    state: &mut CloudState,
    rng: &mut ChaCha8Rng,
    minutes: usize,
    share: f64,
    next_share: f64,
    mut change: impl FnMut(usize, f64),
) {
    let laws = &*CLOUD_LAWS;
    let length = minutes as f64;
    let draw = rng.random::<u64>();
    let unit = |bits: u64| (bits & 0xffff_ffff) as f64 / 4_294_967_296.0;
    let begins_sunny = state.sunny.unwrap_or(unit(draw) < share);
    let mut ends_sunny = unit(draw >> 32) < 0.5 * (share + next_share.clamp(0.0, 1.0));

    // Clouds until the hidden time is full, and as many raw gaps as could be needed.
    let hidden = (1.0 - share) * length;
    let minutes_per_m = 1.0 / (60.0 * state.speed_m_s);
    let mut cloud = [0.0; MOST + 1];
    let mut gap = [0.0; MOST + 1];
    let mut clouds = 0;
    let mut left = hidden;
    while left > 0.0 && clouds < MOST {
        let draw = rng.random::<u64>();
        let minutes = laws.chord_m.at(draw as u32) * minutes_per_m;
        cloud[clouds] = minutes.min(left);
        gap[clouds] = laws.gap.at((draw >> 32) as u32);
        left -= minutes;
        clouds += 1;
    }
    if left > 0.0 {
        cloud[clouds - 1] += left;
    }
    // The chord that was trimmed stands last: put it anywhere, or hours would end under stumps.
    cloud[..clouds].swap(clouds - 1, (draw >> 16) as usize % clouds);
    let mut gaps = clouds + usize::from(begins_sunny) + usize::from(ends_sunny) - 1;
    if gaps == 0 {
        // One cloud from end to end leaves no room for the sun: let it end sunny.
        ends_sunny = true;
        gaps = 1;
    }
    gap[clouds] = laws.gap.at(rng.random::<u32>());
    let scale = share * length / gap[..gaps].iter().sum::<f64>();

    // A gap begins where the cloud before it ends, if one does; after the last cloud stands one of no length.
    let first_cloud = usize::from(!begins_sunny);
    let mut at = if begins_sunny { 0.0 } else { cloud[0] };
    for (gap, cloud) in gap[..gaps].iter().zip(&cloud[first_cloud..]) {
        edge(&mut change, at, 1.0);
        at += gap * scale;
        edge(&mut change, at, -1.0);
        at += cloud;
    }
    state.sunny = Some(ends_sunny);
}

/// The sun comes out (`by` 1) or goes in (-1) so many minutes into the hour: its share of that minute changes by what is left
/// of it, that of the next by the rest.
#[inline(always)]
fn edge(change: &mut impl FnMut(usize, f64), at: f64, by: f64) {
    let minute = (at as usize).min(CHANGES - 2);
    let gone = at - minute as f64;
    change(minute, by * (1.0 - gone));
    change(minute + 1, by * gone);
}
