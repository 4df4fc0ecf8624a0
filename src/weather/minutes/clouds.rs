//! When the sun is out: clouds that pass in one hour.
//!
//! Clouds of power-law length (Wood & Field 2011) drift by at the day's cloud speed until they fill the
//! hidden share of the hour, the last one trimmed; exponential gaps, all scaled by one factor, fill the rest.
//! The sunlit share of the hour is therefore exact. An hour begins as the one before it
//! ended; how it ends is drawn with the share of the two hours that meet there.

use super::cloud_laws::CLOUD_LAWS;
use rand::{RngExt, rngs::ChaCha8Rng};

/// Sunlit share below which the sun counts as hidden for the whole hour, and above 1 minus which as out.
pub(crate) const HIDDEN_BELOW: f64 = 0.02;
/// Most clouds in an hour (at 100 m and 20 m/s, 60 would make five minutes); the last is stretched.
const CLOUDS_MAX: usize = 64;

/// Most gaps in a minute of sun: clouds that would leave shorter ones between them are one. Calibrated on Graz 2017 (see
/// [`super::split`]).
pub const GAPS_PER_MIN: f64 = 0.4;

/// The clouds over one trial on one day, carried from hour to hour.
#[derive(Clone, Copy, Debug)]
pub struct CloudState {
    /// Speed of clouds, m/s.
    pub speed_m_s: f64,
    /// Most gaps in a minute of sun ([`GAPS_PER_MIN`]).
    pub gaps_per_min: f64,
    /// Whether the sun is out; `None` before the first hour with clouds.
    pub sunny: Option<bool>,
}

/// Minutes in which the sunlit share may change: those of an hour, and two more for an edge at its end. (An hour cut
/// short by sunrise or sunset ends earlier; changes after its end are not read.)
pub const CHANGES: usize = 62;

/// Room for the clouds and gaps of an hour, min. Used again for every hour: to clear it each time would take a tenth of what clouds cost.
#[derive(Clone, Debug)]
pub struct CloudHour {
    cloud: [f64; CLOUDS_MAX + 1],
    gap: [f64; CLOUDS_MAX + 1],
}

impl Default for CloudHour {
    fn default() -> CloudHour {
        CloudHour { cloud: [0.0; CLOUDS_MAX + 1], gap: [0.0; CLOUDS_MAX + 1] }
    }
}

/// Lets clouds pass over an hour of `minutes` minutes whose mean sunlit share is `share` (strictly between [`HIDDEN_BELOW`] and
/// 1 - [`HIDDEN_BELOW`]). `next_share` is that of the hour that follows.
///
/// Each edge of a cloud is reported as changes of the sunlit share from one minute to the next: `change(minute, by)` with
/// `minute` below [`CHANGES`]. Summed from the first minute on, they give the share of each minute. An edge takes two
/// additions wherever it falls, and lanes sum side by side.
#[inline]
pub fn pass(
    room: &mut CloudHour,
    state: &mut CloudState,
    rng: &mut ChaCha8Rng,
    minutes: usize,
    (share, next_share): (f64, f64),
    mut change: impl FnMut(usize, f64),
) {
    let CloudHour { cloud, gap } = room;
    let laws = &*CLOUD_LAWS;
    let length = minutes as f64;
    let draw = rng.random::<u64>();
    let unit = |bits: u64| (bits & 0xffff_ffff) as f64 / 4_294_967_296.0;
    let begins_sunny = state.sunny.unwrap_or(unit(draw) < share);
    let mut ends_sunny = unit(draw >> 32) < 0.5 * (share + next_share.clamp(0.0, 1.0));

    // Clouds until the hidden time is full, and as many raw gaps as could be needed.
    let hidden = (1.0 - share) * length;
    let minutes_per_m = 1.0 / (60.0 * state.speed_m_s);
    let mut clouds = 0;
    let mut left = hidden;
    while left > 0.0 && clouds < CLOUDS_MAX {
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
    // Clouds that leave only short gaps between them are one.
    let most = ((share * length * state.gaps_per_min) as usize).saturating_add(1).min(clouds);
    for i in most..clouds {
        cloud[i % most] += cloud[i];
    }
    clouds = most;
    // The last cloud was trimmed: swap it to a random position, or every hour would end with a short cloud.
    cloud[..clouds].swap(clouds - 1, (draw >> 16) as usize % clouds);
    let mut gaps = clouds + usize::from(begins_sunny) + usize::from(ends_sunny) - 1;
    if gaps == 0 {
        // One cloud from end to end leaves no room for the sun: let it end sunny.
        ends_sunny = true;
        gaps = 1;
    }
    gap[clouds] = laws.gap.at(rng.random::<u32>());
    let scale = share * length / gap[..gaps].iter().sum::<f64>();

    // Each gap begins where the cloud before it ends, if there is one. What stands after the last cloud comes after the last edge.
    let first_cloud = usize::from(!begins_sunny);
    let mut at = if begins_sunny { 0.0 } else { cloud[0] };
    for k in 0..gaps {
        edge(&mut change, at, 1.0);
        at += gap[k] * scale;
        edge(&mut change, at, -1.0);
        at += cloud[first_cloud + k];
    }
    state.sunny = Some(ends_sunny);
}

/// The sun comes out (`by` 1) or goes in (-1) at a time of the hour, min: the share of that minute changes by the part of it
/// that is left, the share of the next minute by the rest.
#[inline(always)]
fn edge(change: &mut impl FnMut(usize, f64), at: f64, by: f64) {
    let minute = (at as usize).min(CHANGES - 2);
    let elapsed = at - minute as f64;
    change(minute, by * (1.0 - elapsed));
    change(minute + 1, by * elapsed);
}
